package main

// Strikes that others recorded, with where each begins: sounds that nobody made for
// this program, to hold measuring against.

import (
	"cmp"
	"context"
	"fmt"
	"io/fs"
	"math"
	"path"
	"regexp"
	"slices"
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

// struck is a set of files, and which of the sounds in them are wanted.
type struck struct {
	files string
	names *regexp.Regexp
}

// recordings says where Debian's packages keep recorded strikes, by CC0 and the GPL
// after their copyright files. Those in held are only looked at once measuring is
// settled: no recording session is in both.
var recordings = struct{ work, held []struck }{
	work: []struck{
		{"usr/share/sonic-pi/samples/drum_*.flac", nil}, {"usr/share/sonic-pi/samples/perc_*.flac", nil},
		{"usr/share/midi/freepats/Drum_000/*.pat", nil},
		{"usr/share/midi/freepats/Tone_000/*.pat", regexp.MustCompile(`Celesta|Glock|Xylo|Bells|Steel_D|Wood_B|Dulcimer`)},
	},
	held: []struck{
		{"usr/share/sonic-pi/samples/tabla_*.flac", nil},
		{"usr/share/sounds/sf2/TimGM6mb.sf2", regexp.MustCompile(`Snare|Cowbell|Click|Claves|Castanets|Timbale|Tumba|Quinto|Bongo|Triangle$|High Hat Closed|Rim|Ride|Bass Drum|Stick|Tom|Taiko|Wood Block|Steel|Agogo|Timp|Xylo|Marimba|Vibes|Glock|TubeBell|Dulcimer|Kalimba`)},
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
var noStrike = regexp.MustCompile(`(?i)clap|roll|pedal|foot|t[ao]mbo?u?rine|maraca|shake|sw[oa]+sh|till|door|whistle|guiro|cuica|cabasa|slap$|slap\.|belltree|high_q|wave`)

// instruments reads the instruments in some files. Left out are sounds of which it is
// not clear where they begin.
func instruments(ctx context.Context, h *host, from []struck) ([]instrument, error) {
	strikes := map[string][]stroke{}
	var names []string
	for _, in := range from {
		files, err := fs.Glob(h.files, in.files)
		if err != nil {
			return nil, err
		}
		for _, file := range files {
			all, err := recordingsIn(ctx, h, file, func(name string) bool {
				return !noStrike.MatchString(name) && (in.names == nil || in.names.MatchString(name))
			})
			if err != nil {
				return nil, err
			}
			for _, r := range all {
				s, ok := newStroke(r.x)
				if !ok {
					continue
				}
				name := r.name
				if path.Ext(file) == ".flac" {
					name = layer.ReplaceAllString(name, "")
				}
				if strikes[name] == nil {
					names = append(names, name)
				}
				strikes[name] = append(strikes[name], s)
			}
		}
	}
	var found []instrument
	for _, name := range names {
		s := strikes[name]
		slices.SortFunc(s, func(a, b stroke) int { return cmp.Compare(a.level, b.level) })
		found = append(found, instrument{name, s, s[len(s)-1].ring()})
	}
	if len(found) < 10 {
		return nil, fmt.Errorf("only %d recorded instruments were found: are the packages of recordings installed?", len(found))
	}
	return found, nil
}

const (
	leadS     = 0.02   // of silence before each strike, which recordings often lack
	shortestS = 0.03   // of a recording is a strike, and not a wave to be repeated
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
	if peak == 0 || len(x) < lead+int(shortestS*layRate) {
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
	fades := math.Min(fadesS*layRate, float64(len(x)-begins)*2/3)
	for i, v := range x {
		left := math.Min(1, float64(len(x)-i)/fades)
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
