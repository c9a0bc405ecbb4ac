package loop

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/calib/practice"
)

// mill is a machine of two voices whose drops are 22 and 47 cm and whose pins differ by 0.16 beat.
func mill(t *testing.T, seed uint64, panOffset float64) *shop {
	s := open(t, seed, 80)
	s.machine.Plate = calib.Plate{NotchesPerTurn: 72, TurnsPerBeat: 1}
	s.machine.JitterMS = 1.2
	s.machine.Voices = []practice.Voice{{Name: "pan", GateMS: 210, OffsetBeats: panOffset}, {Name: "gong", GateMS: 310, OffsetBeats: -0.05}, {Name: "kist", GateMS: 250, OffsetBeats: 0}}
	s.Build.Plate, s.Build.Voices = s.machine.Plate, []string{"pan", "gong", "kist"}
	return s
}

// A move was asked for and not entered, and a voice is heard for the first time: no take tells
// whether it was made. That is asked, and the voice that would tell is named; whatever the
// builder says of it settles it, so that what was verified stays so.
func TestNewVoiceAfterAMoveThatWasAskedFor(t *testing.T) {
	for seed := range uint64(20) {
		after := func() *shop {
			s := mill(t, 1+seed, 0.11)
			s.truly(take{"pan", 80, 0, 28}, take{"pan", 80, 28, 7}, take{"pan", 100, 35, -2}, take{"pan", 100, 33, 5}, take{"pan", 120, 38, 0})
			s.Songs = []machine.Song{{ID: 1, Name: "Reel", TempoBPM: 80, Voices: []string{"pan", "gong"}}}
			s.Target = machine.Target{Song: "Reel", TempoBPM: 80, Voice: "gong"}
			return s
		}
		verified := func(s *shop) int {
			return len(slices.DeleteFunc(s.look().Settings, func(one TightSetting) bool { return one.Stands < Sure || one.Target.Voice != "pan" }))
		}
		played := func(s *shop) *shop {
			s.play()
			s.Takes[5].Asked = -10
			return s
		}
		before, s := verified(after()), played(after())
		v := s.look()
		if len(v.Findings) != 1 || v.Findings[0].Kind != plan.NotTold || v.Findings[0].Yes != "It was turned 10 back" || v.Findings[0].No == "" {
			t.Fatalf("machine %d: found %+v; %s: %s", seed, v.Findings, v.Do, v.Why)
		}
		if v.Stage != AwaitTake || !strings.Contains(v.Why, "take of the pan here will tell") {
			t.Errorf("machine %d: %s: %s", seed, v.Do, v.Why)
		}
		for name, say := range map[string]func() *shop{
			"no":             func() *shop { _ = v.Findings[0].Deny(&s.Machine); return s },
			"yes":            func() *shop { s := played(after()); _ = v.Findings[0].Agree(&s.Machine); return s },
			"turned 0 steps": func() *shop { s := after(); s.tell(0); return played(s) },
			"asked no more":  func() *shop { s := played(after()); s.Takes[5].Asked = 0; return s },
		} {
			s := say()
			if v := s.look(); verified(s) != before || len(v.Findings) > 0 {
				t.Errorf("machine %d, %s: %d of %d settings are verified still, %+v found", seed, name, verified(s), before, v.Findings)
			}
		}
		s = played(after())
		s.aim(80, "pan")
		if v := s.play(); verified(s) < before || len(v.Findings) > 0 {
			t.Errorf("machine %d: after a take of the pan %d of %d settings are verified, %+v found", seed, verified(s), before, v.Findings)
		}
	}
}

// A setting that a take found tight stays what it is once the plate is turned, whatever may have
// gone wrong with that turn: for another voice, or another tempo.
func TestFoundStaysFound(t *testing.T) {
	for name, next := range map[string]take{"second voice": {"gong", 80, 18, 0}, "second tempo": {"pan", 100, 35, 0}} {
		for seed := range uint64(20) {
			s := mill(t, 100+seed, 0.11).truly(take{"pan", 80, 0, 28}, take{"pan", 80, 28, next.stands - 28})
			before := s.look().Settings
			s.truly(next)
			after := slices.DeleteFunc(s.look().Settings, func(one TightSetting) bool { return one.Target != before[0].Target })
			if before[0].Stands < Sure || len(after) != 1 || after[0].Stands < Sure || math.Abs(after[0].LagMS-before[0].LagMS) > before[0].HalfMS || after[0].HalfMS > 1.5*before[0].HalfMS {
				t.Errorf("machine %d, %s: %+v, and then %+v", seed, name, before, after)
			}
		}
	}
}

// Of a voice that one take has heard, no more is said to be known at other tempos than drops and
// pins unlike those of the other voices allow.
func TestOneTakeOfAnUnlikeVoice(t *testing.T) {
	for seed := range uint64(20) {
		s := mill(t, 200+seed, 0.11).truly(take{"pan", 80, 0, 28}, take{"pan", 80, 28, 5}, take{"pan", 100, 33, 5}, take{"pan", 120, 38, -10}, take{"gong", 80, 28, 0})
		v := s.look()
		for bpm, setting := range map[float64]int{80: 29, 100: 34, 150: 48} {
			lag, sd, _ := v.Lag("gong", setting, calib.PeriodMS(bpm))
			if off := math.Abs(lag - s.trueLag("gong", bpm, setting)); off > calib.Half95*sd {
				t.Errorf("machine %d: at %g BPM the gong is expected %.1f ± %.1f, %.1f from the truth", seed, bpm, lag, calib.Half95*sd, off)
			}
		}
	}
}

// A move of which three steps of some were made: what is expected after the move that is asked for
// then is what those steps leave of the lag just read, and what may be otherwise is said beside it.
func TestExpectedByOneStory(t *testing.T) {
	asked := 0
	for seed := range uint64(40) {
		at := []float64{0.11, 0.03}[seed%2]
		s := mill(t, 300+seed, at)
		first := 20 + int(at*72)
		s.truly(take{"pan", 80, 0, first}, take{"pan", 80, first, 0})
		s.aim(100, "pan")
		s.tell(s.look().Steps)
		s.stands += 3
		v := s.play()
		if v.Stage != AwaitMove || v.Last == nil || v.Last.Outcome != Move {
			continue
		}
		asked++
		want := v.Last.LagMS - float64(v.Steps)*v.Last.StepMS
		said := regexp.MustCompile(`Expect ([0-9.]+)\sms ?(early|late|) \(±\s([0-9.]+)\)`).FindStringSubmatch(v.Why)
		if said == nil {
			t.Fatalf("machine %d: %s", seed, v.Why)
		}
		by, _ := strconv.ParseFloat(said[1], 64)
		half, _ := strconv.ParseFloat(said[3], 64)
		if said[2] == "early" {
			by = -by
		}
		if math.Abs(by-want) > math.Max(half, v.Last.HalfMS) || half > v.Last.LimitMS || strings.Contains(v.Why, "By all takes") {
			t.Errorf("machine %d: the move should leave %.1f ms: %s", seed, want, v.Why)
		}
	}
	if asked < 10 {
		t.Errorf("%d moves asked for", asked)
	}
}

// Where one take cannot tell a bad take from a miscounted move, another at the same place is asked
// for before the take is left out; that one tells.
func TestAnotherTakeBeforeItIsLeftOut(t *testing.T) {
	for seed := range uint64(20) {
		s := mill(t, 400+seed, 0.11)
		s.Build.Plate = calib.Plate{}
		s.aim(80, "pan")
		s.play()
		for range 2 {
			s.turn(s.look().Steps)
			s.play()
		}
		s.tell(15)
		s.stands += 12
		if v := s.play(); v.Do != "Play again before you turn" || slices.ContainsFunc(v.Findings, func(f Finding) bool { return f.Kind == plan.Bad && f.Yes != "" && f.Chance < 2./3 }) {
			t.Errorf("machine %d: %s: %s; %+v", seed, v.Do, v.Why, v.Findings)
		}
		if v := s.play(); len(v.Findings) != 1 || v.Findings[0].Yes != "It was turned 12 ahead" {
			t.Errorf("machine %d: %s: %s; %+v", seed, v.Do, v.Why, v.Findings)
		}
	}
}

// A first move that went the other way: it is not told which way to turn before somebody has
// looked.
func TestWhichWayIsLookedAtFirst(t *testing.T) {
	for seed := range uint64(20) {
		s := mill(t, 500+seed, 0.11)
		s.aim(80, "pan")
		s.play()
		s.tell(28)
		s.stands -= 28
		if v := s.play(); v.Stage != AwaitTake || !strings.Contains(v.Do, "which way") || !v.Reach || len(v.Findings) != 1 || v.Findings[0].Yes != "It was turned 28 back" {
			t.Errorf("machine %d: %s: %s; %+v", seed, v.Do, v.Why, v.Findings)
		}
	}
}
