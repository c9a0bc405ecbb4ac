package laid

import (
	"bytes"
	"cmp"
	"context"
	bin "encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"
)

// layRate is the sample rate in Hz at which takes are laid; most recordings have it.
const layRate = 44100

// stroke is one recorded strike, with a peak of 1.
type stroke struct {
	x      []float64
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

// Sounds is what takes are laid from.
type Sounds struct {
	instruments            []instrument
	steady, bursts, musics [][]float64
}

// Instruments is how many there are.
func (s *Sounds) Instruments() int { return len(s.instruments) }

// recordings says where Debian's packages keep recorded strikes, by CC0 and the GPL after
// their copyright files, real noise, and music, which strikes without keeping the machine's
// time. Those in held are looked at once, when measuring is settled, and then replaced:
// they were chosen by their names on 2026-11-29 from what no list had named before, and
// nothing was tuned on them. Whoever looks says so here.
var recordings = struct{ work, held recorded }{
	work: recorded{
		flacs: "drum_* perc_*", patches: "Drum_000/* Tone_000/*Celesta* Tone_000/*Glock* Tone_000/*Xylo* Tone_000/*Bells* Tone_000/*Dulcimer* Tone_000/*Steel_D* Tone_000/*Wood_B*",
		steady: "vinyl_hiss ambi_lunar_land", bursts: "loop_3d_printer vinyl_scratch", musics: "loop_amen loop_breakbeat ambi_piano",
	},
	held: recorded{
		flacs: "bd_* sn_* elec_*", patches: "Tone_000/*Piano* Tone_000/*Harpsi* Tone_000/*Clavi* Tone_000/*Guitar Tone_000/*_Bass* Tone_000/*Pizz* Tone_000/*Harp Tone_000/*Timpani* Tone_000/*Sitar*",
		steady: "ambi_drone ambi_glass_hum", bursts: "vinyl_rewind ambi_glass_rub", musics: "loop_compus loop_garzul loop_industrial",
	},
}

// recorded are patterns of the names of files.
type recorded struct{ flacs, patches, steady, bursts, musics string }

const (
	flacs   = "/usr/share/sonic-pi/samples/"
	patches = "/usr/share/midi/freepats/"
)

// layer matches what tells the strikes of one instrument apart in their names.
var layer = regexp.MustCompile(`(?i)[-_ ]?(\d+|soft(est)?|med|hard(est)?)$`)

// noStrike matches names of sounds that begin many times, or not abruptly.
var noStrike = regexp.MustCompile(`(?i)clap|roll|pedal|foot|t[ao]mbo?u?rine|maraca|shake|sw[oa]+sh|till|door|whistle|guiro|cuica|cabasa|slap$|belltree|high_q|wave`)

// Read reads what takes are laid from: what there is to work on, or what is held back.
// Left out are sounds of which it is not clear where they begin.
func Read(ctx context.Context, held bool) (*Sounds, error) {
	s := &Sounds{}
	from := recordings.work
	if held {
		from = recordings.held
	}
	strikes := map[string][]stroke{}
	var names []string
	for _, file := range append(glob(flacs, from.flacs, ".flac"), glob(patches, from.patches, ".pat")...) {
		all, err := recordingsIn(ctx, file)
		if err != nil {
			return nil, err
		}
		for _, r := range all {
			begun, ok := newStroke(r.x)
			if !ok {
				continue
			}
			name := layer.ReplaceAllString(r.name, "")
			if strikes[name] == nil {
				names = append(names, name)
			}
			strikes[name] = append(strikes[name], begun)
		}
	}
	for _, name := range names {
		x := strikes[name]
		slices.SortFunc(x, func(a, b stroke) int { return cmp.Compare(a.level, b.level) })
		s.instruments = append(s.instruments, instrument{name, x, x[len(x)-1].ring()})
	}
	if len(names) < 10 {
		return nil, fmt.Errorf("only %d recorded instruments were found: are the packages of recordings installed?", len(names))
	}
	for to, names := range map[*[][]float64]string{&s.steady: from.steady, &s.bursts: from.bursts, &s.musics: from.musics} {
		for _, file := range glob(flacs, names, ".flac") {
			x, err := decoded(ctx, nil, file)
			if err != nil {
				return nil, err
			}
			if to == &s.steady {
				x = x[len(x)/5 : len(x)*4/5] // they fade at both ends, which no room does
			}
			*to = append(*to, x)
		}
	}
	return s, nil
}

// glob lists the files in a folder that fit some patterns.
func glob(dir, patterns, ext string) (files []string) {
	for _, pattern := range strings.Fields(patterns) {
		found, _ := filepath.Glob(dir + pattern + ext) // the patterns are ours
		files = append(files, found...)
	}
	return files
}

// recording is one sound of a file that may hold many.
type recording struct {
	name string
	x    []float64
}

// recordingsIn reads the strikes of a file: one of a file that sox knows, all of a patch
// file ("Gravis UltraSound Low-Level Toolkit", 1994, appendix on patch files), which no
// library for Go and no program here reads: headers of 239 bytes together, then for each
// sample 96 bytes and its data.
func recordingsIn(ctx context.Context, file string) (found []recording, err error) {
	base := strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))
	take := func(name string, in io.Reader, from ...string) {
		if err == nil && !noStrike.MatchString(name) {
			r := recording{name: name}
			r.x, err = decoded(ctx, in, from...)
			found = append(found, r)
		}
	}
	if filepath.Ext(file) != ".pat" {
		take(base, nil, file)
		return found, err
	}
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	const header, head, sixteen, unsigned = 239, 96, 1, 2
	if len(b) < header || !bytes.HasPrefix(b, []byte("GF1PATCH110")) {
		return nil, fmt.Errorf("%s is no patch file: install Debian's package freepats anew", file)
	}
	for i, at := 0, header; i < int(b[198]) && at+head <= len(b); i++ {
		size, rate, mode, from := int(bin.LittleEndian.Uint32(b[at+8:])), bin.LittleEndian.Uint16(b[at+20:]), b[at+55], at+head
		at = min(from+size, len(b))
		if mode&sixteen != 0 && rate > 0 {
			sign := map[bool]string{false: "signed", true: "unsigned"}[mode&unsigned != 0]
			take(fmt.Sprintf("%s %c", base, 'a'+i), bytes.NewReader(b[from:at]), "-t", "raw", "-b", "16", "-e", sign, "-L", "-c", "1", "-r", fmt.Sprint(rate), "-")
		}
	}
	return found, err
}

// decoded reads the first channel of what sox is told to read.
func decoded(ctx context.Context, in io.Reader, from ...string) ([]float64, error) {
	cmd := exec.CommandContext(ctx, "sox", append(from, "-t", "f64", "-L", "-r", fmt.Sprint(layRate), "-", "remix", "1")...)
	cmd.Stdin = in
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("sox cannot read %s: %w", strings.Join(from, " "), err)
	}
	x := make([]float64, len(out)/8)
	_, err = bin.Decode(out, bin.LittleEndian, x)
	return x, err
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
// where the samples first exceed a share of the peak, and where the energy of a quarter of
// a millisecond in an upper band first exceeds one of its own.
func newStroke(x []float64) (s stroke, ok bool) {
	lead := int(leadS * layRate)
	x = append(make([]float64, lead), x...)
	x = x[:min(len(x), lead+int(longestS*layRate))]
	peak := loudest(x)
	if peak == 0 || len(x) < lead+int(shortestS*layRate) {
		return s, false
	}
	first := slices.IndexFunc(x, func(v float64) bool { return math.Abs(v) > peak*gainOf(beginsDB) })
	energies := energyOf(highPass(x, aboveHz), layRate/4000)
	most := slices.Max(energies)
	high := slices.IndexFunc(energies, func(e float64) bool { return e > most*math.Pow(10, bandDB/10) })
	begins := (first + high) / 2
	clear := loudest(x[:max(begins-layRate/1000, 0)]) <= peak*gainOf(clearOfDB)
	strikes := loudest(x[begins:min(len(x), begins+strikesMS*layRate/1000)]) >= peak*gainOf(strikesDB) // else another sound comes before it
	if math.Abs(float64(first-high)) > agreeS*layRate || !clear || !strikes {
		return s, false
	}
	s.onsetS = float64(begins) / layRate
	s.level = rms(x[begins:min(len(x), begins+layRate/10)])
	fades := math.Min(fadesS*layRate, float64(len(x)-begins)*2/3)
	for i := range x {
		left := math.Min(1, float64(len(x)-i)/fades)
		x[i] *= left * left / peak
	}
	s.x = x
	return s, true
}

// energyOf returns that of the n samples up to each.
func energyOf(x []float64, n int) []float64 {
	sums, sum := make([]float64, len(x)), 0.0
	for i, v := range x {
		sum += v * v
		if i >= n {
			sum -= x[i-n] * x[i-n]
		}
		sums[i] = math.Max(sum, 0)
	}
	return sums
}

// loud returns how loud the hardest strike is beside its peak: r.m.s. of its first
// hundredth of a second above 200 Hz.
func (in instrument) loud() float64 {
	s := in.strikes[len(in.strikes)-1]
	at := int(s.onsetS * layRate)
	return rms(highPass(s.x[at:min(len(s.x), at+layRate/100)], 200))
}

// ring returns how long the strike sounds after its peak, in s.
func (s stroke) ring() float64 {
	n, last, top := layRate/100, 0, 0.0
	for i := 0; i+n <= len(s.x); i += n {
		e := floats.Dot(s.x[i:i+n], s.x[i:i+n])
		if top = math.Max(top, e); e > top*1e-3 {
			last = i
		}
	}
	return float64(last)/layRate - s.onsetS
}

// lowPass is a sound behind one pole at a frequency.
func lowPass(x []float64, hz float64) []float64 {
	keep, y, all := math.Exp(-2*math.Pi*hz/layRate), 0.0, make([]float64, len(x))
	for i, v := range x {
		y += (1 - keep) * (v - y)
		all[i] = y
	}
	return all
}

// highPass is a sound behind a zero at nothing and one pole at a frequency.
func highPass(x []float64, hz float64) []float64 {
	keep, y, last, all := math.Exp(-2*math.Pi*hz/layRate), 0.0, 0.0, make([]float64, len(x))
	for i, v := range x {
		y = keep * (y + v - last)
		all[i], last = y, v
	}
	return all
}

// loudest returns the peak of a sound, either way.
func loudest(x []float64) float64 { return floats.Norm(x, math.Inf(1)) }

func rms(x []float64) float64 { return floats.Norm(x, 2) / math.Sqrt(float64(len(x))) }

func gainOf(dB float64) float64 { return math.Pow(10, dB/20) }
