package signal_test

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/must"
)

func measure(t *testing.T, src calib.Source, opt signal.Options) calib.Reading {
	t.Helper()
	r := must.Get(signal.Measure(context.Background(), src, opt))(t)
	return r
}

// TestWarnings plays takes with a fault, and a whole one with none.
func TestWarnings(t *testing.T) {
	t.Parallel()
	m := practice.Default()
	late := int(math.Round((m.LagMS("tub drum", 600, 0) - 280) / (600 * m.Plate.StepBeats())))
	for _, row := range []struct {
		name string
		play practice.Play
		want []string
	}{
		{"whole", practice.Play{Setting: 20, Seed: 4}, nil},
		{"dead voice", practice.Play{Setting: 20, Disturb: practice.Disturb{DeadChannel: 2}}, []string{calib.WarnDeadChannel}},
		{"dead reference", practice.Play{Setting: 20, Disturb: practice.Disturb{DeadChannel: 1}}, []string{calib.WarnDeadChannel}},
		{"broken voice", practice.Play{Setting: 20, Hits: 24, Disturb: practice.Disturb{DropOut: 2}}, []string{calib.WarnDropOut}},
		{"broken reference", practice.Play{Setting: 20, Hits: 24, Disturb: practice.Disturb{DropOut: 1}}, []string{calib.WarnDropOut}},
		{"too hot", practice.Play{Setting: 20, Disturb: practice.Disturb{GainDB: 14}}, []string{calib.WarnClipped, calib.WarnClipped}},
		{"half a beat late", practice.Play{TempoBPM: 100, Setting: late}, []string{calib.WarnWholeBeat}},
		{"one hit", practice.Play{Hits: 1, Setting: 20}, []string{signal.WarnFewHits}},
	} {
		row.play.Rate = 16000
		rec, _ := m.Play(row.play)
		var codes []string
		for _, w := range measure(t, rec, signal.Options{}).Warnings {
			codes = append(codes, w.Code)
			if len(w.Text) < 30 {
				t.Errorf("%s: %q says too little", row.name, w.Text)
			}
		}
		if !slices.Equal(codes, row.want) {
			t.Errorf("%s: warnings %v, want %v", row.name, codes, row.want)
		}
	}
}

// TestLoudnessSpread has hits over 20 dB of loudness, leaking 26 dB down.
func TestLoudnessSpread(t *testing.T) {
	const rate, hits, lag = 48000, 14, 0.030
	r := rand.New(rand.NewPCG(5, 6))
	take := &memory{rate, [][]float32{hiss(r, rate*9, 0.0004), hiss(r, rate*9, 0.0004)}}
	sounds := [][]float32{knock(rate, 1300, 0.02), knock(rate, 420, 0.06)}
	truth := make([][]float64, 2)
	for i := range hits {
		for ch := range 2 {
			at := 0.5 + 0.58*float64(i) + lag*float64(ch)
			loud := 0.8 * math.Pow(10, -r.Float64())
			lay(take.samples[ch], sounds[ch], int(at*rate), loud)
			lay(take.samples[1-ch], sounds[ch], int((at+0.0006)*rate), loud/20)
			truth[ch] = append(truth[ch], math.Floor(at*rate)/rate)
		}
	}
	got := measure(t, take, signal.Options{})
	for ch, heard := range [][]float64{got.ReferenceHitsS, got.VoiceHitsS} {
		if f, _ := calib.FMeasure(truth[ch], heard, 0.005); f < 1 {
			t.Errorf("channel %d: F at 5 ms %.3f", ch+1, f)
		}
	}
	if math.Abs(got.LagMS-1000*lag) > 0.1 || got.Used() != hits {
		t.Errorf("lag %.3f ms from %d pairs, want %g from %d", got.LagMS, got.Used(), 1000*lag, hits)
	}
}

func TestImpossibleChannels(t *testing.T) {
	one := &memory{48000, [][]float32{make([]float32, 4800)}}
	two := &memory{48000, [][]float32{make([]float32, 4800), make([]float32, 4800)}}
	for _, row := range []struct {
		src  calib.Source
		opt  signal.Options
		says string
	}{
		{one, signal.Options{}, "one channel"},
		{two, signal.Options{Voice: 3}, "2 channels"},
		{two, signal.Options{Reference: -1}, "channel -1"},
		{two, signal.Options{Reference: 2}, "both channel 2"},
		{&memory{0, two.samples}, signal.Options{}, "sample rate"},
	} {
		_, err := signal.Measure(context.Background(), row.src, row.opt)
		if err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%+v: error %v, want it to say %q", row.opt, err, row.says)
		}
	}
}

// TestEmptyTakes has takes in which there is nothing to hear: no error.
func TestEmptyTakes(t *testing.T) {
	for _, n := range []int{0, 1, 2, 100, 48000} {
		take := &memory{48000, [][]float32{make([]float32, n), make([]float32, n)}}
		r := measure(t, take, signal.Options{})
		if r.Used() != 0 || !r.Has(calib.WarnDeadChannel) {
			t.Errorf("%d samples of silence: %d pairs, warnings %v", n, r.Used(), r.Warnings)
		}
	}
}

// hitch is a take that fails at a frame, or ends there.
type hitch struct {
	calib.Source
	at  int64
	err error
}

func (h hitch) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if frame >= h.at {
		return 0, h.err
	}
	return h.Source.ReadAt(dst, channel, frame)
}

func TestReadingFails(t *testing.T) {
	rec, _ := practice.Default().Play(practice.Play{Setting: 20, Rate: 8000})
	broken := errors.New("disk gone")
	if _, err := signal.Measure(context.Background(), hitch{rec, 1e4, broken}, signal.Options{}); !errors.Is(err, broken) {
		t.Errorf("error %v, want %v", err, broken)
	}
	if r := measure(t, hitch{rec, rec.Frames() / 2, io.EOF}, signal.Options{}); r.Used() < 3 {
		t.Errorf("half a take has %d pairs", r.Used())
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := signal.Measure(ctx, rec, signal.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want it cancelled", err)
	}
}

func TestProgress(t *testing.T) {
	rec, _ := practice.Default().Play(practice.Play{Setting: 20, Rate: 8000})
	last := 0.0
	measure(t, rec, signal.Options{Progress: func(f float64) {
		if f < last || f > 1 {
			t.Errorf("progress went from %g to %g", last, f)
		}
		last = f
	}})
	if last != 1 {
		t.Errorf("progress ended at %g", last)
	}
}
