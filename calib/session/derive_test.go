package session

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
)

func genTake(id int) *rapid.Generator[Take] {
	return rapid.Custom(func(t *rapid.T) Take {
		lag := float64(rapid.IntRange(-8, 8).Draw(t, "lag")) / 2
		take := Take{
			ID: id,
			Target: Target{
				Song:     rapid.SampledFrom([]string{"", "reel", "waltz"}).Draw(t, "song"),
				TempoBPM: rapid.SampledFrom([]float64{60, 80, 120}).Draw(t, "tempo"),
				Voice:    rapid.SampledFrom([]string{"bar", "drum"}).Draw(t, "voice"),
			},
			Reading: calib.Reading{LagMS: lag, LagCI95MS: [2]float64{lag - 1, lag + 1}},
			Advice: calib.Advice{
				Outcome: rapid.SampledFrom([]calib.Outcome{calib.Converged, calib.Move, calib.TooNoisy, calib.CableSuspect}).Draw(t, "outcome"),
				At:      rapid.IntRange(-50, 50).Draw(t, "at"),
				LagMS:   lag + 0.25,
				Half:    1,
			},
		}
		if rapid.Bool().Draw(t, "said") {
			take.Moved = &Move{Steps: rapid.IntRange(-20, 20).Draw(t, "steps")}
		}
		return take
	})
}

func genTakes() *rapid.Generator[[]Take] {
	return rapid.Custom(func(t *rapid.T) []Take {
		var takes []Take
		for id := range rapid.IntRange(0, 30).Draw(t, "takes") {
			takes = append(takes, genTake(id+1).Draw(t, "take"))
		}
		return takes
	})
}

func TestSettingsAreTheLatestThatConverged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Session{Takes: genTakes().Draw(t, "takes")}
		got := s.Settings()
		if !slices.IsSortedFunc(got, func(a, b Settled) int { return compareTargets(a.Target, b.Target) }) {
			t.Fatalf("not sorted: %+v", got)
		}
		byTarget := map[Target]Settled{}
		for _, one := range got {
			if _, twice := byTarget[one.Target]; twice {
				t.Fatalf("%+v twice", one.Target)
			}
			byTarget[one.Target] = one
		}
		// Read backwards: the first take of a target that says anything about the
		// plate decides.
		seen, settled := map[Target]bool{}, 0
		for _, take := range slices.Backward(s.Takes) {
			if take.Advice.Outcome.Again() || seen[take.Target] {
				continue
			}
			seen[take.Target] = true
			if take.Advice.Outcome != calib.Converged {
				continue
			}
			settled++
			lag := take.Reading.LagMS + 0.25
			want := Settled{take.Target, take.Advice.At, lag, [2]float64{lag - 1, lag + 1}, take.ID}
			if byTarget[take.Target] != want {
				t.Fatalf("got %+v, want %+v", byTarget[take.Target], want)
			}
		}
		if settled != len(got) {
			t.Fatalf("%d settings for %d converged targets", len(got), settled)
		}
	})
}

// TestSettingFollowsThePlate walks a plate that is found where it was left.
func TestSettingFollowsThePlate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Session{}
		plate := 0
		if s.Setting() != plate {
			t.Fatal("a new session does not stand at 0")
		}
		for _, take := range genTakes().Draw(t, "takes") {
			moved := take.Moved
			take.Moved, take.Setting = nil, s.Setting()
			if rapid.Bool().Draw(t, "as told") {
				take.Advice.At = take.Setting
			}
			plate = take.Advice.At // the hits know better than the count
			s.Takes = append(s.Takes, take)
			if s.Setting() != plate {
				t.Fatalf("after the take: %d, plate %d", s.Setting(), plate)
			}
			if moved != nil {
				s.Takes[len(s.Takes)-1].Moved = moved
				plate += moved.Steps
			}
			if s.Setting() != plate {
				t.Fatalf("after the move: %d, plate %d", s.Setting(), plate)
			}
		}
	})
}

func TestSettingsOrder(t *testing.T) {
	var s Session
	for i, target := range []Target{{"b", 120, "drum"}, {"", 90, "drum"}, {"a", 120, "drum"}, {"", 120, "bar"}} {
		s.Takes = append(s.Takes, Take{ID: i + 1, Target: target, Advice: calib.Advice{Outcome: calib.Converged}})
	}
	var ids []int
	for _, one := range s.Settings() {
		ids = append(ids, one.TakeID)
	}
	if !reflect.DeepEqual(ids, []int{4, 2, 3, 1}) {
		t.Errorf("voice, then tempo, then song: takes %v", ids)
	}
}

// steady makes a reading of five equal pairs, its lag known up to whole beats.
func steady(lagMS, beatMS float64) calib.Reading {
	var pairs []calib.Pair
	var hits []float64
	for i := range 5 {
		at := float64(i) * beatMS / 1000
		hits = append(hits, at)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lagMS/1000, LagMS: lagMS, Used: true})
	}
	return calib.Read(pairs, hits, hits, 1)
}

func TestPoints(t *testing.T) {
	drum := Target{TempoBPM: 80, Voice: "drum"}
	take := func(target Target, r calib.Reading, o calib.Outcome, at int, shift float64) Take {
		return Take{Target: target, Reading: r, Advice: calib.Advice{Outcome: o, At: at, ShiftMS: shift, LagMS: r.LagMS + shift + 0.5}}
	}
	few := steady(40, 750)
	few.Pairs = few.Pairs[:calib.MinPairs-1]
	s := Session{Takes: []Take{
		take(drum, steady(40, 750), calib.Move, 3, 0),
		take(drum, steady(-300, 750), calib.Move, 4, 750),            // in truth 0.6 beat late
		take(drum, steady(40, 750), calib.CableSuspect, 5, 0),        // pairs, but not to be trusted
		take(drum, few, calib.TooFewHits, 6, 0),                      // too few
		take(drum, steady(40, 750), "", 7, 0),                        // no advice yet
		take(Target{Voice: "bar"}, steady(9, 500), calib.Move, 8, 0), // another voice
	}}
	got := s.Points("drum")
	want := []calib.Point{{PeriodMS: 750, Setting: 3, LagMS: 40, WrapMS: 750}, {PeriodMS: 750, Setting: 4, LagMS: -300, WrapMS: 750}}
	if len(got) != len(want) {
		t.Fatalf("points %+v", got)
	}
	const tol = 1e-6 // ms; the sums above are exact but for rounding
	for i, p := range got {
		if p.Setting != want[i].Setting || abs(p.PeriodMS-want[i].PeriodMS) > tol || abs(p.LagMS-want[i].LagMS) > tol || abs(p.WrapMS-want[i].WrapMS) > tol || !(p.SDMS > 0) {
			t.Errorf("point %d: %+v, want %+v", i, p, want[i])
		}
	}
	if got := s.Points("bell"); len(got) != 0 {
		t.Errorf("points of a voice without takes: %+v", got)
	}
}

// The step that one voice has taught holds for the others: they share the plate.
func TestPriorSharesTheStep(t *testing.T) {
	take := func(voice string, lagMS float64, at int) Take {
		return Take{Target: Target{TempoBPM: 80, Voice: voice}, Reading: steady(lagMS, 750), Advice: calib.Advice{Outcome: calib.Move, At: at}}
	}
	s := Session{Machine: Machine{Voices: []string{"drum", "bar"}}}
	open := s.Prior("bar").Step
	s.Takes = []Take{take("drum", 200, 0), take("drum", 100, 10)} // 10 ms a step of 750 ms
	if got := s.Prior("bar").Step; abs(got.Mean-10.0/750) > 2e-4 || got.SD > open.SD/10 {
		t.Errorf("the other voice believes in a step of %v, taught was %g", got, 10.0/750)
	}
	if got := s.Prior("drum").Step; got != open {
		t.Errorf("a voice's own takes are in its prior: %v", got)
	}
	s.Machine.Plate = calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 1}
	if got := s.Prior("bar").Step; got != (calib.Belief{Mean: 1.0 / 96}) {
		t.Errorf("with a known plate the step is %v", got)
	}
	if ways, err := s.Explain("drum"); err != nil || len(ways[0].Points) != 2 {
		t.Errorf("Explain: %v, %v", ways, err)
	}
}

func abs(x float64) float64 { return max(x, -x) }
