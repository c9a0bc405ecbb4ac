package plan

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// A move that was advised, made and not told is found by the first take after it, and
// so is one that was told and not made: what the plan then asks for is right, and hardly
// in doubt.
func TestFirstTakeFindsAMoveNotTold(t *testing.T) {
	for _, c := range []struct{ first, second float64 }{{72, 72}, {96, 96}, {120, 120}, {80, 84}} {
		for _, kind := range []Kind{NotTold, NotMoved} {
			takes := oneVoice.machine([]float64{c.first}, []int{0})
			advised := fitted(t, oneVoice, takes).Plan([]Song{{TempoBPM: c.second}}, Situation{}).Songs[0].Steps
			told, truly := Place{}, Place{}.To(advised)
			if kind == NotMoved {
				told, truly = truly, told
			}
			two := oneVoice.take(2, c.second, told, truly)
			two.Advised = advised
			m := fitted(t, oneVoice, append(takes, two))
			steps := truly.Setting - told.Setting
			if found := m.Findings(); len(found) != 1 || found[0].Kind != kind || found[0].Take != 1 || found[0].Steps != steps {
				t.Errorf("%v, advised %+d: found %+v, want %s by %+d", c, advised, found, kind, steps)
			}
			if m.Stood(1) != truly.Setting || m.Aside(1, 0) != Fine {
				t.Errorf("%v: %s at %+d, the plate stood at %+d", c, m.Aside(1, 0), m.Stood(1), truly.Setting)
			}
			s := m.Plan([]Song{{TempoBPM: c.second}}, Situation{At: truly}).Songs[0]
			if lag := oneVoice.lag(0, calib.PeriodMS(c.second), Place{Setting: s.Steps}); s.Off > 0.05 || math.Abs(lag) > s.StepMS {
				t.Errorf("%v: asks for %+d, %.1f ms off, with a chance of %.3f to be off by more than a step", c, s.Steps, lag, s.Off)
			}
		}
	}
}

// A reading that nothing explains does not count, and until another take has told
// more, no setting for which it matters is said to be sure.
func TestNothingExplainsATake(t *testing.T) {
	takes := oneVoice.machine(someTempos, someSettings)
	last := &takes[len(takes)-1]
	last.Heard[0].LagMS += 3.5 * oneVoice.step * last.Heard[0].PeriodMS
	m := fitted(t, oneVoice, takes)
	for i := range takes {
		if m.Aside(i, 0) != map[int]Kind{5: Bad}[i] || m.Stood(i) != someSettings[i] {
			t.Errorf("take %d is %q, at %+d", i+1, m.Aside(i, 0), m.Stood(i))
		}
	}
	s := m.Plan([]Song{{TempoBPM: 110}}, Situation{At: Place{Setting: someSettings[5]}}).Songs[0]
	if !s.Doubt() || s.Suspect == nil || s.Suspect.Take != 5 {
		t.Errorf("in doubt %v with a chance of %.3f, by %+v", s.Doubt(), s.Off, s.Suspect)
	}
}

// Four steps too many before the last take may as well be a bad take: the setting
// asked for is in doubt, says by which mistake, and one take as advised settles it.
func TestDoubtIsSettledByOneTake(t *testing.T) {
	for _, by := range []int{-6, -4, 3, 4, 7} {
		takes := oneVoice.machine(someTempos, someSettings)
		shifted(5, by)(takes, oneVoice)
		told := Place{Setting: someSettings[5], Came: -1}
		song := []Song{{TempoBPM: 110}}
		p := fitted(t, oneVoice, takes).Plan(song, Situation{At: told})
		s := p.Songs[0]
		if !s.Doubt() || s.Suspect == nil || s.Suspect.Take != 5 || p.Next == nil {
			t.Fatalf("%+d: in doubt %v with a chance of %.3f, by %+v, next %+v", by, s.Doubt(), s.Off, s.Suspect, p.Next)
		}
		told = told.To(told.Setting + p.Next.Move)
		truly := told
		truly.Setting += by
		takes = append(takes, oneVoice.take(7, p.Next.TempoBPM, told, truly))
		m := fitted(t, oneVoice, takes)
		told.Setting += m.UnreportedSteps()
		s = m.Plan(song, Situation{At: told}).Songs[0]
		if lag := oneVoice.lag(0, calib.PeriodMS(110), Place{Setting: s.Steps}); s.Doubt() || math.Abs(lag) > s.StepMS {
			t.Errorf("%+d: after one more take it asks for %+d, %.1f ms off, in doubt %v with a chance of %.3f", by, s.Steps, lag, s.Doubt(), s.Off)
		}
		if found := m.Findings(); len(found) != 1 || found[0].Kind != Miscounted || found[0].Steps != by {
			t.Errorf("%+d: found %+v", by, found)
		}
	}
}

// A take of another voice than it says is told from a bad one.
func TestTakeOfTheWrongVoice(t *testing.T) {
	duo := mill{delay: []float64{212, 180}, offset: []float64{0.01, -0.02}, step: 1.0 / 72}
	takes := duo.machine(someTempos, someSettings)
	other := duo.take(7, 100, Place{Setting: 20}, Place{Setting: 20})
	other.Heard = other.Heard[1:]
	other.Heard[0].Voice = 0
	m := fitted(t, duo, append(takes, other))
	if found := m.Findings(); len(found) != 1 || found[0].Kind != WrongVoice || found[0].Take != 6 {
		t.Errorf("found %+v", found)
	}
	if m.Aside(6, 0) == Fine {
		t.Error("it counts")
	}
}

// All voices of a take share its reference: one that slipped moves their lags alike, and is one
// mistake. So however many voices hear it, one take leaves three steps that nobody told of in
// doubt, and the builder's answer about them is believed; a second take, for which it would have
// to slip again, tells.
func TestReferenceSlipsOnce(t *testing.T) {
	all := mill{delay: []float64{212, 180, 195}, offset: []float64{0.01, -0.02, 0}, step: 1.0 / 72}
	for voices := 2; voices <= 3; voices++ {
		m := mill{delay: all.delay[:voices], offset: all.offset[:voices], step: all.step}
		takes := []Take{m.take(1, 84, Place{}, Place{}), m.take(2, 84, Place{Setting: 10}, Place{Setting: 10}), m.take(3, 84, Place{Setting: 10}, Place{Setting: 13})}
		if found := fitted(t, m, takes).Findings(); len(found) != 1 || found[0].Kind != NotTold || found[0].Chance > 0.85 {
			t.Errorf("%d voices: found %+v", voices, found)
		}
		if found := fitted(t, m, append(takes, m.take(4, 84, Place{Setting: 10}, Place{Setting: 13}))).Findings(); len(found) != 1 || found[0].Kind != NotTold || found[0].Chance < 0.95 {
			t.Errorf("%d voices, two takes: found %+v", voices, found)
		}
		takes[2].AsTold = true
		said := fitted(t, m, takes)
		if found := said.Findings(); len(found) != 1 || found[0].Kind != Bad || found[0].Take != 2 || found[0].Voice >= 0 || said.Doubt() != nil {
			t.Errorf("%d voices, said to stand as told: found %+v, in doubt by %+v", voices, found, said.Doubt())
		}
		for v := range voices {
			if said.Aside(2, v) != Bad {
				t.Errorf("%d voices, said to stand as told: the reading of voice %d counts", voices, v)
			}
		}
	}
}

// A voice that was just worked on may strike anywhere: that it strikes with the others of a tuned
// machine does not make it one of those. What is expected is what its take reads, as surely.
func TestWorkedOnIsNotAnother(t *testing.T) {
	duo := mill{delay: []float64{212, 212}, offset: []float64{0, 0}, step: 1.0 / 72}
	takes := duo.machine(someTempos, someSettings)
	for i := range takes { // the second was elsewhere before
		takes[i].Heard[1].LagMS += 5
	}
	at := Place{Setting: someSettings[5], Came: -1}
	worked := duo.take(7, 126, at, at)
	worked.Heard, worked.Changed = worked.Heard[1:], []Change{{Voice: 1}, {Voice: 1, Pins: true}}
	m := fitted(t, duo, append(takes, worked))
	lag, sd := m.Expect(1, at, calib.PeriodMS(126))
	if want := worked.Heard[0].LagMS; math.Abs(math.Remainder(lag-want, calib.PeriodMS(126))) > 0.2 || sd > 0.7 {
		t.Errorf("it reads %.1f ms, and %.1f ± %.1f is expected", want, lag, calib.Half95*sd)
	}
}

// What the builder is asked about is a move, whatever else the hypothesis behind it supposes.
func TestDoubtIsAMove(t *testing.T) {
	k := Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{NotchesPerTurn: 72, TurnsPerBeat: 1})}
	models := k.models(nil)
	wrong := slices.IndexFunc(models, func(m model) bool { return m.fault == PlateWrong })
	m := Posterior{known: k, takes: make([]Take, 2), posterior: []float64{0.8, 0.2}}
	m.hypotheses = []hypothesis{k.start(&models[0]), k.start(&models[wrong])}
	moved := &m.hypotheses[1]
	moved.shared.x[0], moved.offset, moved.faults = 1/80.0, 2, &fault{kind: NotTold, take: 1, voice: -1, steps: 2}
	if d := m.Doubt(); d == nil || d.Kind != NotTold || d.Steps != 2 || d.Take != 1 {
		t.Errorf("in doubt by %+v", d)
	}
}

// With the microphones on each other's channel a take shows its lag the other way
// round.
func TestMicrophonesCrossed(t *testing.T) {
	takes := oneVoice.machine(someTempos, someSettings)
	crossed := oneVoice.take(7, 84, Place{Setting: 10, Came: -1}, Place{Setting: 10, Came: -1})
	crossed.Heard[0].LagMS *= -1
	m := fitted(t, oneVoice, append(takes, crossed))
	if found := m.Findings(); len(found) != 1 || found[0].Kind != Crossed || found[0].Take != 6 {
		t.Errorf("found %+v", found)
	}
}

// Whatever takes say, all that is made of them is a number, and probabilities are
// such.
func TestEveryAnswerIsANumber(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		k := Knowledge{Voices: rapid.IntRange(1, 3).Draw(t, "voices"), Prior: calib.PlatePrior(calib.Plate{})}
		if rapid.Bool().Draw(t, "step known") {
			k.Prior.Step = calib.Belief{Mean: 1.0 / 72}
		}
		var takes []Take
		for i := range rapid.IntRange(0, 5).Draw(t, "takes") {
			take := Take{ID: i + 1, Setting: rapid.IntRange(-500, 500).Draw(t, "setting"), Came: rapid.IntRange(-1, 1).Draw(t, "came"), Advised: rapid.IntRange(-50, 50).Draw(t, "advised")}
			for v := range k.Voices {
				if period := rapid.Float64Range(20, 5000).Draw(t, "period"); rapid.Bool().Draw(t, "heard") {
					take.Heard = append(take.Heard, Observation{
						Voice: v, PeriodMS: period, WrapMS: rapid.SampledFrom([]float64{0, period, period / 3}).Draw(t, "wrap"),
						LagMS: rapid.Float64Range(-5000, 5000).Draw(t, "lag"), ScatterMS: rapid.Float64Range(0, 50).Draw(t, "scatter"),
						Hits: rapid.IntRange(0, 20).Draw(t, "hits"), OtherMS: 0.3,
						Slope: rapid.Float64Range(-3, 3).Draw(t, "slope"), SlopeSD: rapid.SampledFrom([]float64{0, 0.01, 1}).Draw(t, "slope sd"),
					})
				}
			}
			takes = append(takes, take)
		}
		m := must.Get(Fit(k, takes))(t)
		p := m.Plan([]Song{{TempoBPM: 72}, {TempoBPM: 150}}, Situation{At: Place{Setting: 7}, All: rapid.Bool().Draw(t, "all")})
		for _, s := range p.Songs {
			numbers := []float64{s.StepMS, s.LimitMS, s.Chance, s.Near, s.Off, s.Window.LowBPM}
			for _, r := range s.Parts {
				numbers = append(numbers, r.LagMS, r.SDMS)
			}
			if slices.ContainsFunc(numbers, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }) {
				t.Errorf("%+v", s)
			}
			for _, chance := range []float64{s.Chance, s.Near, s.Off} {
				if chance < 0 || chance > 1+1e-9 {
					t.Errorf("a chance of %g: %+v", chance, s)
				}
			}
		}
		for v := range k.Voices {
			law := m.Law(v)
			if math.IsNaN(law.DelayMS + law.OffsetBeats + law.StepBeats + law.Cov[0][0]) {
				t.Errorf("law %+v", law)
			}
		}
	})
}

// A move told wrong by some steps is no reason to believe that the voice strikes
// before it falls, at these lags at evenly spaced tempos a whole beat away: what is
// asked for next is right or in doubt.
func TestMoveToldWrongMovesNoBeats(t *testing.T) {
	k := oneVoice.known(calib.Belief{Mean: oneVoice.step})
	for _, by := range []int{-12, -5, -3, 3, 5, 12, 20} {
		var takes []Take
		for i, played := range []struct {
			bpm, lagMS float64
			told       int
		}{{72.14, 262.9, 0}, {71.63, -5.0, 23}, {96.13, -1.9, 30}, {119.54, -2.2, 37 + by}} {
			period := calib.PeriodMS(played.bpm)
			takes = append(takes, Take{ID: i + 1, Setting: played.told, Heard: []Observation{{PeriodMS: period, LagMS: math.Remainder(played.lagMS, period), WrapMS: period, ScatterMS: 0.5}}})
		}
		m := must.Get(Fit(k, takes))(t)
		if law := m.Law(0); law.DelayMS < 0 {
			t.Errorf("told %+d: the likeliest law has a delay of %.0f ms", by, law.DelayMS)
		}
		s := m.Plan([]Song{{TempoBPM: 72}}, Situation{At: Place{Setting: 37 + by}}).Songs[0]
		if off := s.Steps - by - 23; (off < -1 || off > 1) && !s.Doubt() {
			t.Errorf("told %+d: asks for %+d, %d steps off, and has no doubt", by, s.Steps, off)
		}
	}
}

// No setting that is a step off with more of a chance than a song may fail by when takes are
// enough goes without a doubt, unless the song passes all the same.
func TestDoubtBeginsWhereTakesAreNotEnough(t *testing.T) {
	slight := 0
	for by := -12; by <= 12; by++ {
		takes := oneVoice.machine(someTempos, someSettings)
		shifted(2, by)(takes, oneVoice)
		for n := 2; n <= len(takes); n++ {
			for _, s := range fitted(t, oneVoice, takes[:n]).Plan([]Song{{TempoBPM: 60}, {TempoBPM: 110}, {TempoBPM: 150}}, Situation{}).Songs {
				if s.Doubt() && s.Off < 0.04 {
					slight++
				}
				if s.Doubt() != (s.Off > 0.01) || s.Doubt() && s.Chance >= 0.99 {
					t.Errorf("%+d, %d takes, %g BPM: in doubt %v with a chance of %.3f to be off, %.3f to pass", by, n, s.Song.TempoBPM, s.Doubt(), s.Off, s.Chance)
				}
			}
		}
	}
	if slight == 0 {
		t.Error("no slight doubt: the test tests nothing")
	}
}

// A plate that would be by the takes as its numbers say, as far as anybody reads digits, is no
// mistake to speak of; one that differs is.
func TestPlateAsItsNumbersSay(t *testing.T) {
	k := Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{NotchesPerTurn: 72, TurnsPerBeat: 1})}
	models := k.models(nil)
	m := Posterior{known: k, posterior: []float64{0.98, 0.02}}
	m.hypotheses = []hypothesis{k.start(&models[0]), k.start(&models[slices.IndexFunc(models, func(m model) bool { return m.fault == PlateWrong })])}
	other := &m.hypotheses[1]
	if f := m.suspect(other); f != nil {
		t.Errorf("%s", f.Words)
	}
	other.shared.x[0] = 1 / 70.0
	if f := m.suspect(other); f == nil || !strings.Contains(f.Words, "72 steps a beat, the takes about 70.") {
		t.Errorf("%+v", f)
	}
}
