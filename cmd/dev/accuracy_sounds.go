package main

// Strikes that others recorded, with where each begins: sounds that nobody made for
// this program, to hold measuring against.

import (
	"bytes"
	"context"
	bin "encoding/binary"
	"fmt"
	"io/fs"
	"math"
	"path"
	"regexp"
	"slices"
	"strings"
)

// layRate is the sample rate in Hz at which takes are laid; most recordings have it.
const layRate = 44100

// stroke is one recorded strike, with a peak of 1.
type stroke struct {
	x      []float32
	onsetS float64 // where in x it begins
	level  float64 // r.m.s. of its first tenth of a second, before it was scaled
}

// instrument is one recorded drum, block or bar struck with one force or several,
// softest first.
type instrument struct {
	name    string
	strikes []stroke
	ringS   float64 // from its peak until it has fallen by 30 dB
}

// recordings says where Debian's packages keep recorded strikes, by CC0, CC-BY,
// CC-BY-SA or the GPL after their copyright files. Those in held are only looked at once
// measuring is settled: no recording session is in both.
var recordings = struct{ work, held []string }{
	work: []string{
		"usr/share/sonic-pi/samples/drum_*.flac", "usr/share/sonic-pi/samples/perc_*.flac",
		"usr/share/drums/data/drumkits/BJA_Pacific/*.aiff",
		"usr/share/drums/data/drumkits/Millo_MultiLayered2/*.flac",
		"usr/share/drums/data/drumkits/Gimme A Hand 1.0/*.wav",
	},
	held: []string{
		"usr/share/sonic-pi/samples/tabla_*.flac",
		"usr/share/drums/data/drumkits/ForzeeStereo/*.wav",
		"usr/share/drums/data/drumkits/Millo_MultiLayered3/*.flac",
		"usr/share/drums/data/drumkits/ColomboAcousticDrumkit/*.flac",
		"usr/share/drums/data/drumkits/circAfrique v4/*.wav",
		"usr/share/drums/data/drumkits/The Black Pearl 1.0/*.wav",
	},
}

// Real noise, and sounds that strike without keeping the machine's time: music.
var (
	steadyNoises   = []string{"vinyl_hiss", "ambi_sauna", "ambi_lunar_land", "ambi_haunted_hum"}
	unsteadyNoises = []string{"loop_3d_printer", "perc_swash", "vinyl_scratch"}
	musics         = []string{"loop_amen", "loop_tabla", "loop_breakbeat", "loop_safari", "ambi_piano", "loop_electric"}
)

// layer matches what tells the strikes of one instrument apart in their names.
var layer = regexp.MustCompile(`(?i)[-_ ]?(\d+|soft(est)?|med|hard(est)?)$`)

// noStrike matches names of sounds that begin many times, or not abruptly.
var noStrike = regexp.MustCompile(`(?i)clap|roll|pedal|foot|ped|hh_p|tambourine|maraca|shake|sw[oa]+sh|till|door|semi`)

// instruments reads the instruments that patterns name. Left out are sounds of which
// it is not clear where they begin.
func instruments(ctx context.Context, h *host, patterns []string) ([]instrument, error) {
	strikes := map[string][]stroke{}
	var names []string
	for _, pattern := range patterns {
		files, err := fs.Glob(h.files, pattern)
		if err != nil {
			return nil, err
		}
		for _, file := range files {
			if noStrike.MatchString(path.Base(file)) {
				continue
			}
			x, err := decoded(ctx, h, file)
			if err != nil {
				return nil, err
			}
			s, ok := newStroke(x)
			if !ok {
				continue
			}
			name := layer.ReplaceAllString(strings.TrimSuffix(file, path.Ext(file)), "")
			if strikes[name] == nil {
				names = append(names, name)
			}
			strikes[name] = append(strikes[name], s)
		}
	}
	var found []instrument
	for _, name := range names {
		s := strikes[name]
		slices.SortFunc(s, func(a, b stroke) int { return int(math.Copysign(1, a.level-b.level)) })
		found = append(found, instrument{path.Base(path.Dir(name)) + "/" + path.Base(name), s, s[len(s)-1].ring()})
	}
	if len(found) < 10 {
		return nil, fmt.Errorf("only %d instruments are in %s: are the packages of recordings installed?", len(found), strings.Join(patterns, ", "))
	}
	return found, nil
}

// decoded reads the first channel of a recording.
func decoded(ctx context.Context, h *host, file string) ([]float64, error) {
	var out bytes.Buffer
	c := command{args: []string{"sox", "/" + file, "-t", "f32", "-L", "-r", fmt.Sprint(layRate), "-", "remix", "1"}, stdout: &out, stderr: nil}
	if err := h.runner.run(ctx, c); err != nil {
		return nil, fmt.Errorf("sox cannot read %s: %w", file, err)
	}
	raw := make([]float32, out.Len()/4)
	if err := bin.Read(&out, bin.LittleEndian, raw); err != nil {
		return nil, err
	}
	x := make([]float64, len(raw))
	for i, v := range raw {
		x[i] = float64(v)
	}
	return x, nil
}

const (
	leadS     = 0.02   // of silence before each strike, which recordings often lack
	longestS  = 1.6    // of a strike is laid
	fadesS    = 0.4    // at its end: nothing rings and then stops
	agreeS    = 0.0003 // two ways of telling where a strike begins agree within this
	beginsDB  = -24.0  // of its peak, a sound has begun
	bandDB    = -30.0  // the same of the peak of its upper band
	aboveHz   = 1200   // in which the second way listens
	clearOfDB = -42.0  // of the peak, all that comes before
	strikesMS = 8      // within this time a strike
	strikesDB = -16.0  // is as loud, beside its peak
)

// newStroke makes a strike of a recording; ok is false where it is not clear where
// that begins. Two ways must agree, and neither is the one by which hits are picked:
// where the samples first exceed a share of the peak, and where the energy of an
// upper band first exceeds one of its own.
func newStroke(x []float64) (s stroke, ok bool) {
	lead := int(leadS * layRate)
	x = append(make([]float64, lead), x...)
	x = x[:min(len(x), lead+int(longestS*layRate))]
	peak := math.Abs(x[loudestOf(x)])
	if peak == 0 {
		return s, false
	}
	first := slices.IndexFunc(x, func(v float64) bool { return math.Abs(v) > peak*gainOf(beginsDB) })
	high := firstOfBand(x)
	if math.Abs(float64(first-high)) > agreeS*layRate {
		return s, false
	}
	begins := (first + high) / 2
	if before := begins - layRate/1000; before > 0 && math.Abs(x[loudestOf(x[:before])]) > peak*gainOf(clearOfDB) {
		return s, false
	}
	if after := x[begins:min(len(x), begins+strikesMS*layRate/1000)]; math.Abs(after[loudestOf(after)]) < peak*gainOf(strikesDB) {
		return s, false // another sound comes before the strike
	}
	s.onsetS = float64(begins) / layRate
	s.x = make([]float32, len(x))
	for i, v := range x {
		left := math.Min(1, float64(len(x)-i)/(fadesS*layRate))
		s.x[i] = float32(v / peak * left * left)
	}
	s.level = rms(x[begins:min(len(x), begins+layRate/10)])
	return s, true
}

// firstOfBand returns the first sample at which the energy of a quarter of a
// millisecond above aboveHz exceeds bandDB of its most.
func firstOfBand(x []float64) int {
	keep := math.Exp(-2 * math.Pi * aboveHz / layRate)
	n := layRate / 4000
	sums, sum := make([]float64, len(x)), 0.0
	y := make([]float64, len(x))
	for i := 1; i < len(x); i++ {
		y[i] = keep * (y[i-1] + x[i] - x[i-1])
		sum += y[i] * y[i]
		if i > n {
			sum -= y[i-n] * y[i-n]
		}
		sums[i] = math.Max(sum, 0)
	}
	most := slices.Max(sums)
	return slices.IndexFunc(sums, func(e float64) bool { return e > most*math.Pow(10, bandDB/10) })
}

// loud returns how loud the hardest strike is beside its peak: r.m.s. of its first
// hundredth of a second above 200 Hz.
func (in instrument) loud() float64 {
	s := in.strikes[len(in.strikes)-1]
	at := int(s.onsetS * layRate)
	var last, sum float64
	keep := math.Exp(-2 * math.Pi * 200 / layRate)
	n := min(len(s.x)-1, layRate/100)
	y := 0.0
	for _, v := range s.x[at:min(len(s.x), at+n)] {
		y = keep * (y + float64(v) - last)
		last = float64(v)
		sum += y * y
	}
	return math.Sqrt(sum / float64(n))
}

// ring returns how long the strike sounds after its peak, in s.
func (s stroke) ring() float64 {
	n, last := layRate/100, 0
	top := 0.0
	for i := 0; i+n <= len(s.x); i += n {
		var e float64
		for _, v := range s.x[i : i+n] {
			e += float64(v) * float64(v)
		}
		if top = math.Max(top, e); e > top*1e-3 {
			last = i
		}
	}
	return float64(last)/layRate - s.onsetS
}

func loudestOf(x []float64) int {
	at := 0
	for i, v := range x {
		if math.Abs(v) > math.Abs(x[at]) {
			at = i
		}
	}
	return at
}

func rms(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(max(len(x), 1)))
}

func gainOf(dB float64) float64 { return math.Pow(10, dB/20) }
