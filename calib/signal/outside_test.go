package signal_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// leadIns is the truth about the recorded drums: how many samples at drumRate
// inParallel has before its sound begins, by the rule of firstTell. They were read off
// the recordings once (sonic-pi-samples of Debian 12) and go with the sound to
// every other rate.
var leadIns = map[string]int{
	"drum_bass_hard": 3, "drum_bass_soft": 14, "drum_snare_hard": 11, "drum_snare_soft": 1, "drum_tom_hi_hard": 2,
	"drum_tom_mid_hard": 11, "drum_tom_lo_hard": 10, "drum_cowbell": 7, "drum_cymbal_closed": 10,
}

// TestLeadIns keeps the noted lead-ins true of the recordings that are here.
func TestLeadIns(t *testing.T) {
	for _, name := range drums {
		if _, first := decode(t, name); first != leadIns[name] {
			t.Errorf("%s begins at sample %d, noted is %d: another edition of the drums?", name, first, leadIns[name])
		}
	}
}

// TestRealDrumsAtRatesAndLevels lays recorded drum hits at known samples of a
// 16-bit take and measures each of them to 1 ms. Loud and faint take turns, so
// that every drum and every rate meets both.
func TestRealDrumsAtRatesAndLevels(t *testing.T) {
	if testing.Short() {
		t.Skip("asks flac for recorded drums")
	}
	t.Parallel()
	levels := []float64{-3, -40} // peak, dBFS
	for i, rate := range []int{8000, 44100, 48000, 96000} {
		cowbell := decodeAt(t, "drum_cowbell", rate)
		for j, name := range drums {
			if !deeptest.On() && (i+j)%3 > 0 { // every drum and every rate all the same
				continue
			}
			dBFS := levels[(i+j)%len(levels)]
			t.Run(fmt.Sprintf("%s at %d Hz and %g dBFS", name, rate, dBFS), func(t *testing.T) {
				sounds := map[string][]float32{"drum_cowbell": cowbell, name: decodeAt(t, name, rate)}
				checkDrum(t, name, sounds, float64(rate), math.Pow(10, dBFS/20))
			})
		}
	}
}

// checkDrum measures a take of a cowbell as reference and a drum as voice, whose
// hits scatter as a machine's do.
func checkDrum(t *testing.T, name string, sounds map[string][]float32, rate, peak float64) {
	const (
		hits        = 6
		beatS, lagS = 0.5, 0.04
		scatterS    = 0.0015 // either way
		noise       = 0.002  // of the peak
		withinS     = 0.001
	)
	r := rand.New(rand.NewPCG(1, 2))
	frames := int(rate * beatS * (hits + 1))
	take := &memory{rate, [][]float32{hiss(r, frames, noise*peak), hiss(r, frames, noise*peak)}}
	var truth []float64
	lag := 0.0
	for i := range hits {
		at := beatS * (0.5 + float64(i))
		voice := at + lagS + scatterS*(2*r.Float64()-1)
		at = layDrum(take.samples[0], sounds, "drum_cowbell", at, peak, rate)
		voice = layDrum(take.samples[1], sounds, name, voice, peak, rate)
		truth = append(truth, voice)
		lag += (voice - at) / hits
	}
	for _, x := range take.samples {
		toSixteenBits(x)
	}
	got := must.Get(signal.Measure(context.Background(), take, signal.Options{}))(t)
	f, _ := calib.FMeasure(truth, got.VoiceHitsS, withinS)
	if off := got.LagMS/1000 - lag; f < 1 || got.Used() != hits || !(math.Abs(off) <= withinS) {
		t.Errorf("lag off by %.6f s, F at 1 ms %.3f, %d pairs; heard %.4f, laid %.4f", off, f, got.Used(), got.VoiceHitsS, truth)
	}
}

// layDrum lays a drum so that its sound begins about then, and returns when it
// really does, all in s: its lead-in is no whole number of samples at other rates.
func layDrum(x []float32, sounds map[string][]float32, name string, atS, peak, rate float64) float64 {
	lead := float64(leadIns[name]) * rate / drumRate
	start := int(math.Round(atS*rate - lead))
	lay(x, sounds[name], start, peak)
	return (float64(start) + lead) / rate
}

// decodeAt returns a drum at a sample rate, scaled to a peak of 1. Halved first,
// since the swings that sox finds between samples may pass full scale.
func decodeAt(t *testing.T, name string, rate int) []float32 {
	t.Helper()
	raw := tool(t, nil, "sox", "-v", "0.5", "/usr/share/sonic-pi/samples/"+name+".flac",
		"-t", "f32", "-L", "-c", "1", "-r", strconv.Itoa(rate), "-")
	x := floats(raw)
	scale := 1 / max(slices.Max(x), -slices.Min(x))
	for i := range x {
		x[i] *= scale
	}
	return x
}

func floats(raw []byte) []float32 {
	x := make([]float32, len(raw)/4)
	for i := range x {
		b := raw[4*i:]
		x[i] = math.Float32frombits(uint32(b[0]) | uint32(b[1])<<8 | uint32(b[2])<<16 | uint32(b[3])<<24)
	}
	return x
}

func toSixteenBits(x []float32) {
	for i, v := range x {
		x[i] = float32(math.Round(float64(v)*(1<<15))) / (1 << 15)
	}
}

// tool runs an outside program and returns what it prints.
func tool(t *testing.T, stdin []byte, name string, args ...string) []byte {
	t.Helper()
	var errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(stdin), &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %q: %v %s; go run ./cmd/dev test installs what is missing", name, args, err, errs.String())
	}
	return out
}

const hop = 128 // of aubioonset, in samples

// TestAubioAgrees has aubioonset (aubio 0.4.9, GPL-3+, run as a program) listen
// to clean takes of the simulated machine as a second opinion: for every hit of
// ours it hears one within its hop. Its latency needs no allowance here: aubio
// takes 4.3 hops off its times itself (aubio_onset_set_delay in onset.c), and
// what is left of it stays within half a hop. It may hear more than we do, as
// the shot's rebound.
func TestAubioAgrees(t *testing.T) {
	if testing.Short() {
		t.Skip("asks aubio")
	}
	t.Parallel()
	clean := practice.Traps()[0]
	if clean.Name != "clean" {
		t.Fatalf("the first trap is %s, want clean", clean.Name)
	}
	for _, seed := range deeptest.Some(2, []uint64{1, 4, 5}) { // at 96, 48 and 44.1 kHz
		m, p := clean.Make(seed)
		rec, truth := m.Play(p)
		got := must.Get(signal.Measure(context.Background(), rec, signal.Options{PerBeat: p.PerBeat}))(t)
		if len(got.ReferenceHitsS) != len(truth.ReferenceHitsS) || len(got.VoiceHitsS) == 0 {
			t.Errorf("seed %d: %d reference hits and %d of the voice, played %d", seed, len(got.ReferenceHitsS), len(got.VoiceHitsS), len(truth.ReferenceHitsS))
		}
		for channel, ours := range [][]float64{got.ReferenceHitsS, got.VoiceHitsS} {
			its := aubioTimes(t, rec, channel+1)
			worst := farthest(ours, its)
			t.Logf("seed %d channel %d at %g Hz: farthest %.2f hops", seed, channel+1, p.Rate, worst*p.Rate/hop)
			if !(worst*p.Rate <= hop) {
				t.Errorf("seed %d channel %d: a hit lies %.3f ms from the nearest that aubio hears, a hop is %.3f ms", seed, channel+1, 1000*worst, 1000*hop/p.Rate)
			}
		}
	}
}

// aubioTimes returns the onsets that aubioonset hears in a channel, in s.
func aubioTimes(t *testing.T, src calib.Source, channel int) []float64 {
	t.Helper()
	x := make([]float32, src.Frames())
	must.Get(src.ReadAt(x, channel, 0))(t)
	file := filepath.Join(t.TempDir(), "take.wav")
	tool(t, rawFloats(x), "sox", "-t", "f32", "-L", "-c", "1", "-r", strconv.Itoa(int(src.Rate())), "-", "-b", "24", file)
	var s []float64
	for _, f := range strings.Fields(string(tool(t, nil, "aubioonset", "-H", strconv.Itoa(hop), file))) {
		v := must.Get(strconv.ParseFloat(f, 64))(t)
		s = append(s, v)
	}
	return s
}

// farthest returns the largest distance from one of xs to the nearest of ys.
func farthest(xs, ys []float64) float64 {
	worst := 0.0
	for _, x := range xs {
		near := math.Inf(1)
		for _, y := range ys {
			near = min(near, math.Abs(y-x))
		}
		worst = max(worst, near)
	}
	return worst
}
