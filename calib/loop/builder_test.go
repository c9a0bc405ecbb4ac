package loop

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/calib/practice"
	"lagwright/internal/deeptest"
)

// builder follows the loop on a machine of his own, and errs up to three times.
type builder struct {
	*shop
	errs    int      // that are still to come
	erred   []string // what went wrong so far
	aims    []machine.Target
	hearAll bool
	swept   bool // he sweeps where he is asked to
}

// newBuilder returns a builder of one voice or three, with a set list or without. He tunes four
// tempos, and at last the first anew.
func newBuilder(t testing.TB, seed uint64) *builder {
	luck := rand.New(rand.NewPCG(seed, 7))
	b := &builder{shop: open(t, seed, 100), errs: luck.IntN(4), hearAll: luck.IntN(2) == 0}
	b.luck, b.swept = luck, luck.IntN(2) == 0
	b.Build.Steady = !b.swept
	m := &b.machine
	m.Plate = calib.Plate{NotchesPerTurn: 36 + luck.IntN(60), TurnsPerBeat: 1}
	if b.Build.Plate = m.Plate; luck.IntN(4) == 0 {
		b.Build.Plate = calib.Plate{}
	}
	m.JitterMS, m.Voices = 0.5+1.5*luck.Float64(), append([]practice.Voice(nil), m.Voices[:1+2*luck.IntN(2)]...)
	b.Build.Voices = nil
	base := 80 + 180*luck.Float64()
	for i := range m.Voices {
		v := &m.Voices[i]
		v.GateMS, v.OffsetBeats = base+20*(2*luck.Float64()-1)-(v.DelayMS()-v.GateMS)+100, 0.05*(2*luck.Float64()-1)
		b.Build.Voices = append(b.Build.Voices, v.Name)
	}
	list := luck.IntN(2) == 0
	for i := range 4 {
		one := machine.Target{TempoBPM: math.Round(60 + 100*luck.Float64()), Voice: b.Build.Voices[luck.IntN(len(m.Voices))]}
		if list {
			one.Song = fmt.Sprint("song ", i)
			song := machine.Song{Name: one.Song, TempoBPM: one.TempoBPM}
			if luck.IntN(2) == 0 {
				song.Voices = []string{one.Voice}
			}
			b.Songs = append(b.Songs, song)
		}
		b.aims = append(b.aims, one)
	}
	b.aims = append(b.aims, b.aims[0])
	b.Target = b.aims[0]
	return b
}

// errsNow reports whether the builder errs in what he does now.
func (b *builder) errsNow() bool {
	if b.errs == 0 || b.luck.IntN(4) > 0 {
		return false
	}
	b.errs--
	return true
}

// move makes a move that is asked for and tells it, as well as he does.
func (b *builder) move(by int) {
	made, told := by, by
	if b.errsNow() {
		switch b.luck.IntN(4) {
		case 0:
			told = 0
		case 1:
			made = 0
		case 2:
			made = -by
		default:
			made += (1 + b.luck.IntN(8)) * (1 - 2*b.luck.IntN(2))
		}
		b.erred = append(b.erred, fmt.Sprintf("before take %d made %+d, told %+d", len(b.Takes)+1, made, told))
	}
	if b.stands += made; told != 0 {
		b.tell(told)
	}
	b.take()
}

// take plays, of the voice aimed at or of all.
func (b *builder) take() {
	voices := []string{b.Target.Voice}
	if b.hearAll {
		voices = b.Build.Voices
	}
	played := voices
	if len(b.Takes) > 0 && b.errsNow() {
		if len(voices) < len(b.Build.Voices) && b.luck.IntN(2) == 0 {
			played = slices.DeleteFunc(slices.Clone(b.Build.Voices), func(name string) bool { return name == voices[0] })[:1]
			b.erred = append(b.erred, fmt.Sprintf("take %d is of the %s", len(b.Takes)+1, played[0]))
		} else { // of a voice that is heard now: nobody can know of another
			v := &b.machine.Voices[slices.Index(b.Build.Voices, voices[b.luck.IntN(len(voices))])]
			by := (10 + 30*b.luck.Float64()) * float64(1-2*b.luck.IntN(2))
			v.GateMS += by
			b.erred = append(b.erred, fmt.Sprintf("the gate of the %s changed by %.1f before take %d", v.Name, by, len(b.Takes)+1))
		}
	}
	b.play(played...)
	for i := range voices {
		b.Takes[len(b.Takes)-1].Heard[i].Voice = voices[i]
	}
}

// off returns by how many ms the worst voice of what he aims at is truly off beyond what passes,
// on the edge between two settings too.
func (b *builder) off(v View) (beyond float64) {
	period := calib.PeriodMS(b.Target.TempoBPM)
	step := b.machine.Plate.StepBeats() * period
	beyond = math.Inf(-1)
	for _, part := range v.Song.Parts {
		lag := math.Remainder(b.machine.LagMS(part.Voice, period, b.stands), period)
		beyond = math.Max(beyond, math.Abs(lag)-math.Max(b.ToleranceMS, step/2)-plan.NearSteps*step)
	}
	return beyond
}

// tune does what the loop asks for until it stands at Tight, or needs more takes than anybody
// would play.
func (b *builder) tune(at machine.Target) (v View) {
	b.Target = at
	for range 14 {
		v = b.look()
		if v.Stage == Tight || v.Song != nil && v.Song.Stands == Hopeless && v.Stage == AwaitTake {
			break
		}
		if v.Song != nil && v.Stage == AwaitTake { // with one microphone he hears the voice that is known the least
			b.Target.Voice = slices.MaxFunc(v.Song.Parts, func(a, b Residual) int { return cmp.Compare(a.HalfMS, b.HalfMS) }).Voice
		}
		if b.sweeps = b.swept && !v.Sweep.None(); v.Stage == AwaitMove {
			b.move(v.Steps)
		} else {
			b.take()
		}
	}
	return v
}

// A builder who does what he is told and errs up to three times is hardly ever told that a
// voice is tight which is not, and never goes round in circles.
func TestTightIsTrue(t *testing.T) {
	tight, wrong, stuck, builders := 0, 0, 0, deeptest.Of(30, 1500)
	for seed := range uint64(builders) {
		b := newBuilder(t, 700+seed)
		said := false
		for _, aim := range b.aims {
			v := b.tune(aim)
			if v.Stage != Tight {
				if v.Song.Stands != Hopeless {
					stuck++
					t.Logf("seed %d: %s after %d takes, %s (%v)", 700+seed, v.Do, len(b.Takes), v.Why, b.erred)
				}
				continue
			}
			if tight++; b.off(v) > 1 && !said {
				said = true
				wrong++
				t.Logf("seed %d: %.1f ms beyond the limit after %d takes, %s (%v)", 700+seed, b.off(v), len(b.Takes), v.Why, b.erred)
			}
		}
	}
	t.Logf("%d of %d builders were told once that it is tight where it is not, of %d times in all; %d times it was not reached", wrong, builders, tight, stuck)
	if wrong*100 > builders || stuck*50 > builders {
		t.Errorf("%d of %d builders were told that it is tight where it is not, and %d times it was not reached", wrong, builders, stuck)
	}
}

// A builder whose mistakes look like play in the plate is still led to every tempo, and back to the
// first where it is tight by now.
func TestMistakesThatLookLikePlay(t *testing.T) {
	b := newBuilder(t, 1477)
	for _, aim := range b.aims {
		if v := b.tune(aim); v.Stage != Tight {
			t.Errorf("at %g BPM after %d takes: %s: %s", aim.TempoBPM, len(b.Takes), v.Do, v.Why)
		}
	}
}
