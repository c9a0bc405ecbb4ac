package loop

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/internal/must"
)

// onlyFinding returns the one mistake that the takes show.
func (s *shop) onlyFinding(kind plan.Kind) Finding {
	s.t.Helper()
	v := s.look()
	if len(v.Findings) != 1 || v.Findings[0].Kind != kind {
		s.t.Fatalf("found %+v, want one %s", v.Findings, kind)
	}
	return v.Findings[0]
}

// What is agreed with is in the machine as it truly was: takes stand where the machine
// stood when they were played, nothing is found any more, the same move is asked for,
// and what was heard stays.
func TestAgree(t *testing.T) {
	tub := func(bpm float64, stands, told int) take { return take{"tub drum", bpm, stands, told} }
	for _, c := range []struct {
		kind  plan.Kind
		yes   string
		words string
		take  int // it begins with
		out   int // take that is left out
		takes []take
	}{
		{plan.Miscounted, "It was turned 5 ahead", "looks like 5 steps, not 6 steps", 3, 0, []take{tub(84, 0, 10), tub(120, 10, 6), tub(96, 15, 2), tub(72, 17, -4), tub(108, 13, 0)}},
		{plan.NotMoved, "The plate was not turned", "did the plate engage?", 3, 0, []take{tub(84, 0, 10), tub(120, 10, 6), tub(96, 10, 8), tub(72, 18, -4), tub(108, 14, 0)}},
		{plan.NotMoved, "The plate was not turned", "did the plate engage?", 2, 0, []take{tub(84, 0, 23), tub(84, 0, 0)}},
		{plan.NotTold, "It was turned 26 ahead", "not press Turned", 2, 0, []take{tub(84, 0, 0), tub(84, 26, 0)}},
		{plan.WrongWay, "It was turned 6 back", "went the other way", 3, 0, []take{tub(84, 0, 10), tub(120, 10, 6), tub(96, 4, 12), tub(72, 16, -4), tub(108, 12, 0)}},
		{plan.WrongWay, "It was turned 12 back", "went the other way", 3, 0, []take{tub(84, 0, 10), tub(84, 10, 12), tub(84, -2, 0)}},
		{plan.Flipped, "Every move so far went the other way", "Every move goes the other way", 0, 0, []take{tub(84, 0, 10), tub(120, -10, 6), tub(96, -16, -30), tub(72, 14, -4), tub(108, 18, 0)}},
		{plan.Flipped, "It was turned 10 back", "Every move goes the other way", 0, 0, []take{tub(84, 0, 10), tub(120, -10, 0), tub(84, -10, 0), tub(96, -10, 0)}},
		{plan.Bad, "Leave take 3 out", "disagrees with the others", 3, 3, []take{tub(84, 0, 10), tub(120, 10, 6), tub(96, 19, 2), tub(72, 18, -4), tub(108, 14, 0)}},
	} {
		t.Run(c.yes, func(t *testing.T) {
			s := open(t, 3, 84).truly(c.takes...)
			f, before, heard := s.onlyFinding(c.kind), s.look(), len(s.Takes)
			if f.Yes != c.yes || !strings.Contains(f.Words, c.words) || f.Take != c.take || f.Voice != "" && c.out == 0 || f.Do == "" || f.Odds == "" || !(f.Chance > 0.5) {
				t.Errorf("found %+v", f)
			}
			readings := func() (all []any) {
				for _, take := range s.Takes {
					all = append(all, take.Heard)
				}
				return all
			}
			was := readings()
			must.Do(t, f.Agree(&s.Machine))
			v := s.look()
			for i, take := range s.Takes {
				r, _ := v.Result(take.ID, "tub drum")
				if want := c.takes[i].stands; take.LeftOut != (take.ID == c.out) || take.ID != c.out && (s.SettingAt(i) != want || r.Setting != want) {
					t.Errorf("take %d (left out: %v) is told to stand at %+d, found at %+d; it stood at %+d", take.ID, take.LeftOut, s.SettingAt(i), r.Setting, want)
				}
			}
			if len(v.Findings) > 0 || len(s.Takes) != heard || !reflect.DeepEqual(readings(), was) {
				t.Errorf("agreed with, it still finds %+v", v.Findings)
			}
			if v.Steps != before.Steps && c.out == 0 && c.kind != plan.Flipped {
				t.Errorf("%+d steps once it was agreed to, %+d before", v.Steps, before.Steps)
			}
		})
	}
	if right := open(t, 3, 84).truly(tub(84, 0, 10), tub(120, 10, 6), tub(96, 16, 2), tub(72, 18, 0)).look(); len(right.Findings) > 0 {
		t.Errorf("found %+v where all was told", right.Findings)
	}
}

// loose is a machine at a plate with a play of two steps: turned ahead it stands a step
// behind, turned back a step ahead.
func loose(t *testing.T) *shop {
	s := open(t, 3, 72)
	at := 0
	for i, bpm := range []float64{72, 152, 100, 72, 130, 90, 110, 80} {
		to := []int{36, 26, 16, 30, 20, 34, 18, 18}[i]
		stands := at
		if i > 0 {
			stands -= 1
			if at < []int{0, 36, 26, 16, 30, 20, 34, 18}[i-1] {
				stands += 2
			}
		}
		s.truly(take{"tub drum", bpm, stands, to - at})
		at = to
	}
	return s
}

// What the builder says did not happen is not supposed any more by the same takes; what was told stays as it was, until it is told otherwise.
func TestDeny(t *testing.T) {
	tub := func(bpm float64, stands, told int) take { return take{"tub drum", bpm, stands, told} }
	for kind, takes := range map[plan.Kind][]take{
		plan.Miscounted: {tub(84, 0, 10), tub(120, 10, 6), tub(96, 15, 2), tub(72, 17, -4), tub(108, 13, 0)},
		plan.NotMoved:   {tub(84, 0, 23), tub(84, 0, 0)},
		plan.NotTold:    {tub(84, 0, 0), tub(84, 26, 0)},
		plan.WrongWay:   {tub(84, 0, 10), tub(84, 10, 12), tub(84, -2, 0)},
		plan.Flipped:    {tub(84, 0, 10), tub(120, -10, 0)},
	} {
		s := open(t, 3, 84).truly(takes...)
		f, before := s.onlyFinding(kind), s.Setting()
		if err := f.Deny(&s.Machine); f.No == "" || err != nil {
			t.Fatalf("%s: says no by %q: %v", kind, f.No, err)
		}
		for _, now := range s.look().Findings {
			if now.Kind == kind && now.Take == f.Take {
				t.Errorf("%s: denied, it is found again: %s", kind, now.Words)
			}
		}
		if s.Setting() != before {
			t.Errorf("%s: denied, the plate is told to stand at %+d, was %+d", kind, s.Setting(), before)
		}
		if kind == plan.Miscounted {
			if err := f.Agree(&s.Machine); err != nil || s.Takes[1].Moved.Steps != 5 || !s.Takes[1].Moved.AsTold {
				t.Errorf("agreed with after all: %+v, %v", s.Takes[1].Moved, err)
			}
		}
	}
}

// A no is no certainty: more takes of what did happen show it all the same, and until then no
// nonsense. To agree then is believed.
func TestTakesOverruleANo(t *testing.T) {
	tub := func(bpm float64, stands, told int) take { return take{"tub drum", bpm, stands, told} }
	for kind, takes := range map[plan.Kind][]take{
		plan.Flipped:  {tub(84, 0, 10), tub(120, -10, 6), tub(96, -16, -30), tub(72, 14, -4), tub(108, 18, 0)},
		plan.NotMoved: {tub(84, 0, 23), tub(84, 0, 0), tub(120, 0, 0), tub(72, 0, 0)},
	} {
		s, denied := open(t, 3, 84), false
		var last []Finding
		for _, one := range takes {
			s.truly(one)
			last = s.look().Findings
			for _, f := range last {
				if f.Kind == plan.PlateWrong {
					t.Errorf("%s after %d takes: %s", kind, len(s.Takes), f.Words)
				}
				if f.Kind == kind && !denied {
					if denied = true; f.Deny(&s.Machine) != nil {
						t.Error("nothing to deny")
					}
				}
			}
		}
		if !denied || len(last) != 1 || last[0].Kind != kind {
			t.Fatalf("%s, denied (%v): at last it finds %+v", kind, denied, last)
		}
		err := last[0].Agree(&s.Machine)
		if left := s.look().Findings; err != nil || len(left) > 0 {
			t.Errorf("%s, agreed with after all: %v, left %+v", kind, err, left)
		}
	}
}

// A move that the builder agreed to have gone otherwise is believed as it is entered then: a take
// beside it makes it no miscount.
func TestAgreedIsBelieved(t *testing.T) {
	s := open(t, 3, 84).truly(take{"tub drum", 84, 0, 10}, take{"tub drum", 84, -10, 0})
	f := s.onlyFinding(plan.Flipped)
	if err := f.Agree(&s.Machine); err != nil || f.Yes != "It was turned 10 back" || s.Setting() != -10 {
		t.Fatalf("%s: at %+d, %v", f.Yes, s.Setting(), err)
	}
	s.Takes = s.Takes[:1]
	s.truly(take{"tub drum", 84, -9, 0})
	found := func() bool {
		return slices.ContainsFunc(s.look().Findings, func(f Finding) bool { return f.Kind == plan.Miscounted })
	}
	if found() {
		t.Errorf("agreed to, it is a miscount: %+v", s.look().Findings)
	}
	answered := s.look().Answered
	if len(answered) != 1 || answered[0].Words != "The move after take 1, −10, went as entered: so you said." {
		t.Fatalf("of what was agreed to it says %+v", answered)
	}
	if err := answered[0].Agree(&s.Machine); err != nil || !found() || len(s.look().Answered) > 0 {
		t.Errorf("asked about again it is none: %v, %+v", err, s.look().Findings)
	}
}

// A song that is aimed at is reached from where the plate stands, whatever song comes
// before it in the set list: the list says what is asked for, and there it is tight.
func TestSongAimedAtIsReachedFromHere(t *testing.T) {
	s := loose(t)
	s.Songs = []machine.Song{{Name: "Quick", TempoBPM: 152, Voices: []string{"tub drum"}}, {Name: "Calm", TempoBPM: 96, Voices: []string{"tub drum"}}}
	s.Target = machine.Target{Song: "Calm", TempoBPM: 96, Voice: "tub drum"}
	v := s.look()
	if v.Steps <= 0 || v.Setting+v.Steps != v.Songs[1].Setting || v.Songs[1].Setting >= v.Songs[0].Setting {
		t.Errorf("at %+d, %+d steps; songs at %+d and %+d", v.Setting, v.Steps, v.Songs[0].Setting, v.Songs[1].Setting)
	}
	s.wantTight("tub drum", 96, v.Setting+v.Steps-1)
	s.Target.Song = "" // in playing order it comes from the other side
	if other := s.look().Songs[1].Setting; other != v.Songs[1].Setting-2 {
		t.Errorf("%+d from ahead, %+d from behind, with a play of two steps", other, v.Songs[1].Setting)
	}
}

// What is expected after a move is expected of the move that is asked for: with play in the plate
// that is not the one that the lag alone would ask for.
func TestExpectedIsOfTheMoveAskedFor(t *testing.T) {
	asked := 0
	for stands := 20; stands < 36; stands++ {
		s := loose(t)
		s.tell(stands - s.Setting())
		s.truly(take{"tub drum", 96, stands - 1, 0})
		v := s.look()
		if v.Stage != AwaitMove || v.Last == nil {
			continue
		}
		asked++
		want := calib.LateEarly(v.Song.Worst().LagMS)
		if v.Last.Steps != v.Steps || !strings.Contains(v.Why, "Expect "+want) {
			t.Errorf("at %+d, %+d steps: %s; the set list expects %s", stands, v.Steps, v.Why, want)
		}
	}
	if asked < 8 {
		t.Errorf("%d moves asked for", asked)
	}
}

// A take that was told to be of one voice and fits another far better is offered as that
// one's, and counts for it once that is agreed to.
func TestAgreeThatItWasAnotherVoice(t *testing.T) {
	s := open(t, 3, 84)
	s.machine.Voices[1].OffsetBeats += 40 / calib.PeriodMS(84)
	for _, bpm := range []float64{72, 96, 120} {
		s.truly(take{"tub drum", bpm, 0, 0}, take{"elm block", bpm, 0, 0})
	}
	s.truly(take{"elm block", 84, 0, 0})
	last := &s.Takes[len(s.Takes)-1]
	last.Assign([]string{"tub drum"})
	s.Target.Voice = "tub drum"
	f := s.onlyFinding(plan.WrongVoice)
	if f.Yes != "It was the elm block" || f.As != "elm block" || f.Voice != "tub drum" {
		t.Errorf("found %+v", f)
	}
	if err := f.Agree(&s.Machine); err != nil || last.Heard[0].Voice != "elm block" || last.Target.Voice != "elm block" || last.LeftOut {
		t.Errorf("agreed with, the take is %+v: %v", last.Target, err)
	}
	if v := s.look(); len(v.Findings) > 0 {
		t.Errorf("it still finds %+v", v.Findings)
	}
}

// Once it is agreed to end each move ahead, moves are kept as such, takes after a move
// back fit as well, and nothing is asked again.
func TestAgreeToEndAhead(t *testing.T) {
	s := loose(t)
	f := s.onlyFinding(plan.Backlash)
	if err := f.Agree(&s.Machine); err != nil || !s.Build.Unidirectional {
		t.Errorf("it is not kept: %v", err)
	}
	s.tell(-8)
	s.truly(take{"tub drum", 96, 9, -5}, take{"tub drum", 140, 4, -5}, take{"tub drum", 84, -1, 0})
	if s.Takes[6].Moved.Unidirectional || !s.Takes[7].Moved.Unidirectional {
		t.Errorf("moves %+v and %+v", s.Takes[6].Moved, s.Takes[7].Moved)
	}
	again := s.onlyFinding(plan.Backlash)
	if play := number(t, again.Words, `differs by ([0-9.]+) steps`, "minus"); again.Yes != "" || again.Chance < 0.99 || play < 1.7 || play > 2.3 {
		t.Errorf("first found %+v, then %+v", f, again)
	}
	if err := (Finding{Kind: plan.FallChanged, Do: "check the gate"}).Agree(&machine.Machine{}); err == nil || !strings.Contains(err.Error(), "check the gate") {
		t.Errorf("where there is nothing to change: %v", err)
	}
}

// Of a take that fits nothing and was played far from its tempo, the tempo is named first.
func TestTempoIsNamedFirst(t *testing.T) {
	m := settledMachine()
	stray := pairOf(6, m.Takes[4].At.Add(time.Minute), 75, 40, 40)
	stray.Heard = stray.Heard[:1]
	stray.Heard[0].Reading = played(125, 84, 0.4, 12)
	m.Takes = append(m.Takes, stray)
	m.Target = stray.Target
	v := Look(m)
	r, _ := v.Result(6, "drum")
	const says = "Take 6 was played at 125.0 BPM instead of 75: play nearer to that first. "
	if r.Outcome != Disagrees || r.Do() != "Play nearer to 75 BPM" || !strings.HasPrefix(r.Why(), says) || v.Do != r.Do() {
		t.Errorf("%s: %s %s", r.Outcome, r.Do(), r.Why())
	}
	if len(v.Findings) != 1 || !strings.HasPrefix(v.Findings[0].Do, says) {
		t.Errorf("%+v", v.Findings)
	}
}
