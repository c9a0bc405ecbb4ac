package loop

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/internal/deeptest"
)

// played makes a reading of n pairs around a lag with alternating scatter, at a tempo.
func played(bpm, lagMS, scatterMS float64, n int) calib.Reading {
	period := 60 / bpm
	var reference, voice []float64
	var pairs []calib.Pair
	for i := range n {
		at := 1 + period*float64(i)
		lag := lagMS + scatterMS*float64(i%2*2-1)
		reference, voice = append(reference, at), append(voice, at+lag/1000)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	return calib.Read(pairs, reference, voice, 1)
}

// on makes a machine with a plate, aimed at 100 BPM.
func on(plate calib.Plate, takes ...machine.Take) machine.Machine {
	m := machine.Machine{
		Build:       machine.Build{Name: "m", Plate: plate, Voices: []string{"drum"}},
		ToleranceMS: 5, Target: machine.Target{TempoBPM: 100, Voice: "drum"},
	}
	for i, t := range takes {
		t.ID = i + 1
		m.Takes = append(m.Takes, t)
	}
	return m
}

// heard makes a take at 100 BPM, after which the plate is turned so many steps.
func heard(r calib.Reading, thenMoved ...int) machine.Take {
	t := machine.Take{Target: machine.Target{TempoBPM: 100, Voice: "drum"}, Reference: 1, Channels: 2,
		Heard: []machine.Heard{{Voice: "drum", Channel: 2, Reading: r}}}
	for _, steps := range thenMoved {
		t.Moved = &machine.Move{Steps: steps, For: t.Target}
	}
	return t
}

func with(r calib.Reading, code string) calib.Reading {
	r.Warnings = append(r.Warnings, calib.Warning{Code: code})
	return r
}

// The table of outcomes. At 100 BPM a step of 1/60 beat is worth 10 ms.
func TestLookOutcomes(t *testing.T) {
	known, unknown := calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}, calib.Plate{}
	at := func(lagMS float64) calib.Reading { return played(100, lagMS, 0.5, 8) }
	ten := heard(at(200), 10) // 200 ms late, then turned 10 ahead
	asked := func(take machine.Take, steps int) machine.Take {
		take.Asked = steps
		return take
	}
	for _, c := range []struct {
		name    string
		plate   calib.Plate
		takes   []machine.Take
		stage   Stage
		steps   int
		outcome Outcome
		why     string // part of the words
		yes     string // what the likeliest finding offers
	}{
		{"no take", known, nil, AwaitTake, 0, "", "counts as setting 0", ""},
		{"first take", known, []machine.Take{heard(at(200))}, AwaitMove, 20, Move, "one step is 10.0 ms", ""},
		{"early", known, []machine.Take{heard(at(-61))}, AwaitMove, -6, Move, "early", ""},
		{"tight", known, []machine.Take{heard(at(1))}, Tight, 0, Converged, "inside ±5.0\u00a0ms", ""},
		{"just outside half a step", known, []machine.Take{heard(played(100, 5.6, 0.1, 8))}, AwaitMove, 1, Move, "", ""},
		{"half a step", known, []machine.Take{heard(played(100, 4.9, 0.3, 8))}, Tight, 0, Converged, "as near as the plate goes", ""},
		{"on the edge, known to half the limit", known, []machine.Take{heard(played(100, 5.2, 2, 8))}, Tight, 0, Converged, "as near as the plate goes", ""},
		{"on the edge, known to less", known, []machine.Take{heard(played(100, 5.2, 3.2, 8))}, AwaitMove, 1, Move, "one step is 10.0 ms", ""},
		{"tight, but too vague to say so", known, []machine.Take{heard(played(100, 1, 5, 8))}, AwaitTake, 0, TooNoisy, "More hits", ""},
		{"vague, but the direction is clear", known, []machine.Take{heard(played(100, 200, 8, 8))}, AwaitMove, 20, Move, "", ""},
		{"too vague to move", known, []machine.Take{heard(played(100, 12, 10, 8))}, AwaitTake, 0, TooNoisy, "More hits", ""},
		{"two pairs", known, []machine.Take{heard(played(100, 200, 0.5, 2))}, AwaitTake, 0, TooFewHits, "2 pairs", ""},
		{"silence", known, []machine.Take{heard(calib.Read(nil, nil, nil, 1))}, AwaitTake, 0, TooFewHits, "0 pairs", ""},
		{"dead channel", known, []machine.Take{heard(with(at(200), calib.WarnDeadChannel))}, AwaitTake, 0, CableSuspect, "carries no hits, or dropped out", ""},
		{"drop-out", known, []machine.Take{heard(with(at(200), calib.WarnDropOut))}, AwaitTake, 0, CableSuspect, "carries no hits, or dropped out", ""},
		{"hits in doubt", known, []machine.Take{heard(with(at(200), calib.WarnDoubtful))}, AwaitTake, 0, Doubtful, "no move follows from it", ""},
		{"another lag as loud", known, []machine.Take{heard(with(at(200), calib.WarnRival))}, AwaitTake, 0, Doubtful, "no move follows from it", ""},
		{"far off the target's tempo", known, []machine.Take{heard(played(70, 4, 0.5, 8))}, AwaitTake, 0, TooFar, "too far from", ""},
		{"turned", known, []machine.Take{heard(at(200), 20)}, AwaitTake, 0, "", "stands at +20", ""},
		{"turned as told", known, []machine.Take{ten, heard(at(100))}, AwaitMove, 10, Move, "", ""},
		{"turned and tight", known, []machine.Take{heard(at(200), 20), heard(at(0.6))}, Tight, 0, Converged, "", ""},
		{"not engaged", known, []machine.Take{ten, heard(at(200))}, AwaitMove, 20, Move, "", "The plate was not turned"},
		{"miscounted by one", known, []machine.Take{heard(at(200), 20), heard(at(-10))}, AwaitMove, -1, Move, "", "It was turned 21 ahead"},
		{"turned and not told", known, []machine.Take{heard(at(200)), asked(heard(at(0.7)), 20)}, Tight, 0, Converged, "", "It was turned 20 ahead"},
		{"told and not turned", known, []machine.Take{heard(at(200), 20), heard(at(200.7))}, AwaitMove, 20, Move, "", "The plate was not turned"},
		{"it fits nothing", known, []machine.Take{ten, heard(at(100), 10), heard(at(47))}, AwaitTake, 0, Disagrees, "disagrees", "Leave take 3 out"},
		{"step unknown: a trial", unknown, []machine.Take{heard(at(200))}, AwaitMove, calib.TrialSteps, Move, "teaches it", ""},
		{"step unknown, early: a trial back", unknown, []machine.Take{heard(at(-60))}, AwaitMove, -6, Move, "teaches it", ""},
		{"step unknown, tight by luck", unknown, []machine.Take{heard(at(1))}, Tight, 0, Converged, "", ""},
		{"step learnt", unknown, []machine.Take{ten, heard(at(100))}, AwaitMove, 10, Move, "one step is 10.0 ms", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := Look(on(c.plate, c.takes...))
			var outcome Outcome
			var yes string
			if v.Last != nil {
				outcome = v.Last.Outcome
			}
			if len(v.Findings) > 0 {
				yes = v.Findings[0].Yes
			}
			if v.Stage != c.stage || v.Steps != c.steps || outcome != c.outcome || !strings.Contains(v.Why, c.why) || yes != c.yes {
				t.Errorf("stage %d, %d steps, %s, offering %q: %s\n%s\nwant stage %d, %d steps, %s, offering %q, saying %q",
					v.Stage, v.Steps, outcome, yes, v.Do, v.Why, c.stage, c.steps, c.outcome, c.yes, c.why)
			}
			if v.Do == "" || v.Why == "" {
				t.Error("a view without words")
			}
		})
	}
}

// The table of outcomes where a set list from 62 to 132 BPM is in hand, whose first song is
// aimed at: a sweep comes first, for a crank that can, and a check after it.
func TestLookAsksForSweeps(t *testing.T) {
	known, unknown := calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}, calib.Plate{}
	simulated := practice.Machine{Voices: []practice.Voice{{Name: "drum", GateMS: 230}}, Plate: known, CrankTurnsPerBeat: 0.5, JitterMS: 1}
	swept := func(setting int, thenMoved ...int) machine.Take {
		s := shop{t: t, machine: simulated, stands: setting, luck: rand.New(rand.NewPCG(5, 6))}
		one := heard(s.sweep([]string{"drum"}, 62, 132)[0], thenMoved...)
		one.Target = machine.Target{Song: "slow", TempoBPM: 62, Voice: "drum"}
		if one.Moved != nil {
			one.Moved.For = one.Target
		}
		return one
	}
	steady := func(lagMS float64) machine.Take {
		one := heard(played(62, lagMS, 0.5, 12))
		one.Target = machine.Target{Song: "slow", TempoBPM: 62, Voice: "drum"}
		return one
	}
	all := Tempos{62, 132}
	at := 1000 * 60 / 62.0 // a beat of the slow song, ms; a step is a 60th of it
	for _, c := range []struct {
		name    string
		plate   calib.Plate
		motor   bool
		takes   []machine.Take
		stage   Stage
		steps   int
		outcome Outcome
		sweep   Tempos
		do      string
	}{
		{"no take", known, false, nil, AwaitTake, 0, "", all, "Sweep the crank slowly from 62 to 132 BPM"},
		{"no take, nothing known of the step", unknown, false, nil, AwaitTake, 0, "", all, "Sweep the crank slowly from 62 to 132 BPM"},
		{"no take, a motor", known, true, nil, AwaitTake, 0, "", Tempos{}, "Play a take"},
		{"a sweep", known, false, []machine.Take{swept(0)}, AwaitMove, 14, Move, Tempos{}, "Stop the crank, then turn the plate 14 steps ahead"},
		{"a sweep, nothing known of the step", unknown, false, []machine.Take{swept(0)}, AwaitMove, calib.TrialSteps, Move, Tempos{}, "Stop the crank, then turn the plate 10 steps ahead"},
		{"a sweep and the move", known, false, []machine.Take{swept(0, 14)}, AwaitTake, 0, "", Tempos{}, "Play the next take"},
		{"a sweep and a check", known, false, []machine.Take{swept(0, 14), steady(230 - 14*at/60)}, Tight, 0, Converged, Tempos{}, "Tight: leave the plate"},
		{"a steady take, and the move", known, false, []machine.Take{func() machine.Take {
			one := steady(230)
			one.Moved = &machine.Move{Steps: 14, For: one.Target}
			return one
		}()}, AwaitTake, 0, "", all, "Sweep the crank slowly from 62 to 132 BPM"},
	} {
		m := on(c.plate, c.takes...)
		m.Target, m.Build.Steady = machine.Target{Song: "slow", TempoBPM: 62, Voice: "drum"}, c.motor
		m.Songs = []machine.Song{{Name: "slow", TempoBPM: 62}, {Name: "fast", TempoBPM: 132}, {Name: "usual", TempoBPM: 90}}
		v := Look(m)
		var outcome Outcome
		if v.Last != nil {
			outcome = v.Last.Outcome
		}
		if v.Stage != c.stage || v.Steps != c.steps || outcome != c.outcome || v.Sweep != c.sweep || v.Do != c.do || v.Why == "" {
			t.Errorf("%s: stage %d, %d steps, %s, sweep %v: %s\n%s\nwant stage %d, %d steps, %s, sweep %v: %s", c.name, v.Stage, v.Steps, outcome, v.Sweep, v.Do, v.Why, c.stage, c.steps, c.outcome, c.sweep, c.do)
		}
		if verified := len(c.takes) > 1; verified != (v.Next == nil) {
			t.Errorf("%s: next %+v", c.name, v.Next)
		}
		if v.Sweep.None() == (v.Next != nil && v.Next.ToBPM > 0 && v.Stage == AwaitTake) {
			t.Errorf("%s: the loop asks for %v, the set list for %+v", c.name, v.Sweep, v.Next)
		}
	}
}

// What one take far from the target's tempo says of that is no surer than the law's band
// there: which beat it heard is open.
func TestFarTakeIsNoSurerThanTheLaw(t *testing.T) {
	one := heard(played(122.6, -234, 1.3, 12))
	one.Target = machine.Target{TempoBPM: 72, Voice: "drum"}
	m := on(calib.Plate{NotchesPerTurn: 120, TurnsPerBeat: 1}, one)
	m.Target = one.Target
	v := Look(m)
	r := v.Results[0][0]
	lag, sd, _ := v.Lag("drum", v.Setting, calib.PeriodMS(72))
	if r.Outcome != TooFar || math.Abs(r.LagMS-lag) > 1e-9 || math.Abs(r.HalfMS-calib.Half95*sd) > 1e-9 {
		t.Errorf("%s: %.1f ± %.1f ms, by the law %.1f ± %.1f", r.Outcome, r.LagMS, r.HalfMS, lag, calib.Half95*sd)
	}
}

// Whatever facts a machine holds, there is a view with words, and the same each time.
func TestLookIsTotal(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		plate := calib.Plate{}
		if rapid.Bool().Draw(t, "plate known") {
			plate = calib.Plate{NotchesPerTurn: rapid.IntRange(1, 200).Draw(t, "notches"), TurnsPerBeat: rapid.Float64Range(0.05, 2).Draw(t, "turns")}
		}
		m := on(plate)
		m.Build.Voices = []string{"drum", "bar"}
		voices := rapid.SampledFrom([]string{"drum", "bar"})
		tempo := rapid.SampledFrom([]float64{60, 84, 100, 120})
		m.Target = machine.Target{TempoBPM: tempo.Draw(t, "target"), Voice: voices.Draw(t, "voice")}
		for range rapid.IntRange(0, 2).Draw(t, "songs") {
			m.Songs = append(m.Songs, machine.Song{Name: "s", TempoBPM: tempo.Draw(t, "song")})
		}
		for i := range rapid.IntRange(0, 5).Draw(t, "takes") {
			bpm := tempo.Draw(t, "tempo")
			voice := voices.Draw(t, "heard")
			r := played(bpm*rapid.Float64Range(0.8, 1.2).Draw(t, "missed"), rapid.Float64Range(-400, 400).Draw(t, "lag"), rapid.Float64Range(0, 5).Draw(t, "scatter"), rapid.IntRange(0, 9).Draw(t, "pairs"))
			take := heard(r)
			take.ID, take.Target, take.Heard[0].Voice = i+1, machine.Target{TempoBPM: bpm, Voice: voice}, voice
			take.LeftOut = rapid.IntRange(0, 5).Draw(t, "left out") == 0
			if rapid.Bool().Draw(t, "moved") {
				take.Moved = &machine.Move{Steps: rapid.IntRange(-40, 40).Draw(t, "steps"), For: take.Target}
			}
			m.Takes = append(m.Takes, take)
		}
		v, again := Look(m), Look(m)
		if v.Do == "" || v.Why == "" || v.Do != again.Do || v.Why != again.Why || v.Steps != again.Steps {
			t.Fatalf("%q, %q; again %q, %q", v.Do, v.Why, again.Do, again.Why)
		}
		if (v.Stage == AwaitMove) != (v.Steps != 0) {
			t.Fatalf("stage %d with %d steps", v.Stage, v.Steps)
		}
	})
}
