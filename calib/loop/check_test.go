package loop

import (
	"math"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/machine"
)

// settledMachine is a machine of two voices with three songs that a day's takes settled.
// A step is worth 10 ms at 100 BPM.
func settledMachine() machine.Machine {
	at := time.Date(2026, 5, 3, 9, 0, 0, 0, time.UTC)
	m := on(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1})
	m.Build.Voices = []string{"drum", "bar"}
	for _, bpm := range []float64{75, 100, 120} {
		m.Songs = append(m.Songs, machine.Song{Name: strings.Repeat("la ", int(bpm)/25), TempoBPM: bpm})
	}
	for i, bpm := range []float64{75, 120, 75, 120, 100} {
		turned := 0.0 // ms
		if i > 1 {
			turned = 12.0 / 60 * calib.PeriodMS(bpm)
		}
		m.Takes = append(m.Takes, pairOf(i+1, at.Add(time.Duration(i)*time.Minute), bpm, 120-turned, 120-turned))
	}
	m.Takes[1].Moved = &machine.Move{Steps: 12, For: m.Target}
	return m
}

// pairOf is a take of both voices with a delay each, the plate at 0.
func pairOf(id int, at time.Time, bpm, drum, bar float64) machine.Take {
	t := heard(played(bpm, drum, 0.4, 12))
	t.ID, t.At, t.Target.TempoBPM = id, at, bpm
	t.Heard = append(t.Heard, machine.Heard{Voice: "bar", Channel: 3, Reading: played(bpm, bar, 0.4, 12)})
	return t
}

func TestCheckOfAnotherDay(t *testing.T) {
	later := settledMachine().Takes[4].At.Add(200 * 24 * time.Hour)
	for _, c := range []struct {
		name             string
		takes            int
		drum, bar        float64
		hold, fail       bool
		changes, plateAt int
		says             string
	}{
		{"all is as it was", 1, 0.2, -0.2, true, false, 0, 0, "All 3 settings of 3 May 2026 still hold."},
		{"a voice is a little later", 1, 0.1, 1.8, true, false, 1, 0, "still hold. Less sure than before: la la la la . Another take"},
		{"a take may be bad, or a gate bent", 1, 0.1, 15, false, false, 1, 0, "the bar strikes 15.0 ms later (± 0.7) at 100 BPM. Take 6 by itself may be a bad one: play another to be sure."},
		{"a gate was bent", 2, 0.1, 15, false, true, 1, 0, "la la la  needs another setting: +10 instead of +9."},
		{"a voice is far off: its own doing, or the plate's", 1, 0.1, 285, false, false, 1, 0, "the bar strikes 285.0 ms later (± 0.7) at 100 BPM. Take 6 by itself may be a bad one: play another to be sure. Not sure yet: la"},
		{"the plate stands far off", 1, 210, 210, true, false, 0, -21, "the plate stands 21 steps further back than entered"},
		{"the plate stands elsewhere", 1, -10, -10, true, false, 0, 1, "the plate stands 1 step further ahead than entered"},
	} {
		m := settledMachine()
		for i := range c.takes {
			m.Takes = append(m.Takes, pairOf(6+i, later.Add(time.Duration(i)*time.Minute), 100, c.drum, c.bar))
		}
		got := Look(m).Check
		if got == nil {
			t.Errorf("%s: no check", c.name)
			continue
		}
		if got.Hold() != c.hold || got.Fail() != c.fail || len(got.Changes) != c.changes || got.Plate != c.plateAt || !strings.Contains(got.Words, c.says) {
			t.Errorf("%s: holds %v, fails %v, %+v, plate %d: %s\n%+v", c.name, got.Hold(), got.Fail(), got.Changes, got.Plate, got.Words, got.Kept)
		}
	}
	m := settledMachine()
	m.Takes = append(m.Takes, pairOf(6, later, 100, 370, 0))
	m.Takes[5].Heard = m.Takes[5].Heard[:1]
	if c := Look(m).Check; c == nil || c.Hold() || c.Plate != -37 && c.Plate != 23 {
		t.Errorf("one voice heard with the plate 37 steps back: %+v", c)
	}
	m = settledMachine() // a finer plate stands further off than anybody turns it by mistake
	m.Build.Plate.NotchesPerTurn, m.Takes[1].Moved.Steps = 120, 24
	m.Takes = append(m.Takes, pairOf(6, later, 100, 225, 0))
	m.Takes[5].Heard = m.Takes[5].Heard[:1]
	if c := Look(m).Check; c == nil || c.Hold() || c.AsMoved != -45 || !strings.Contains(c.Words, "see where it stands") {
		t.Errorf("one voice heard with the plate 45 steps back: %+v", c)
	}
	if v := Look(settledMachine()); v.Check != nil || v.Songs[0].Stands < Sure {
		t.Errorf("a check on the day itself: %+v; the songs are %+v", v.Check, v.Songs)
	}
	for hours, says := range map[time.Duration]string{13: "stood for 1 day since", 30: "stood for 1 day since", 28 * 24: "stood for 28 days since", 28*24 + 1: "stood for 28 days since", 4: ""} {
		if v := LookAt(settledMachine(), settledMachine().Takes[4].At.Add(hours*time.Hour)); strings.Contains(v.Why, "has stood") != (says != "") || !strings.Contains(v.Why, says) {
			t.Errorf("after %d hours: %s", hours, v.Why)
		}
	}
	v := LookAt(settledMachine(), later)
	if v.Do != "Play a take to check" || !strings.Contains(v.Why, "stood for 200 days") || v.Songs[0].Stands >= Sure {
		t.Errorf("after 200 days: %s: %s", v.Do, v.Why)
	}
	m = settledMachine()
	m.Build.Log = []machine.LogEntry{{At: later.Add(-time.Hour), Part: machine.Gate, Voices: []string{"bar"}}}
	m.Takes = append(m.Takes, pairOf(6, later, 100, 0, 30))
	if c := Look(m).Check; c == nil || len(c.Changes) != 1 || len(Look(m).Findings) != 0 {
		t.Errorf("a gate that was changed and written down: %+v, findings %+v", c, Look(m).Findings)
	}
}

// Work that changes no lag, or that is yet to come, asks for no take.
func TestWorkThatAsksForNothing(t *testing.T) {
	last := settledMachine().Takes[4].At
	for _, w := range []machine.LogEntry{{At: last.Add(time.Minute), Part: machine.Other}, {At: last.AddDate(80, 0, 0), Part: machine.Gate}} {
		m := settledMachine()
		m.Build.Log = []machine.LogEntry{w}
		if v := LookAt(m, last.Add(time.Hour)); strings.Contains(v.Why, "worked on") || v.Songs[0].Stands < Sure {
			t.Errorf("%s: %s: %s", w.Part, v.Do, v.Why)
		}
	}
}

// What was changed after the only take is the reason to play another, and its lag stands there
// no longer.
func TestTakeBeforeAChangeIsStale(t *testing.T) {
	m := settledMachine()
	m.Takes = m.Takes[:1]
	m.Takes[0].Heard = []machine.Heard{{Voice: "drum", Channel: 2, Reading: played(75, 120, 0.4, 12)}}
	m.Target.TempoBPM = 75
	before := Look(m)
	m.Build.Log = []machine.LogEntry{{At: m.Takes[0].At.Add(time.Minute), Part: machine.Gate}, {At: m.Takes[0].At.Add(2 * time.Minute), Part: machine.Pins, Voices: []string{"drum"}}}
	v := Look(m)
	if before.Number == nil || v.Number != nil || v.Stage != AwaitTake || v.Do != "Play a take to check" || v.Why != "You changed this after the last take: gate, pins. Play the drum at 75 BPM." {
		t.Errorf("%+v, then %+v: %s: %s", before.Number, v.Number, v.Do, v.Why)
	}
}

// Each day knows what was known then: neither later takes nor later work.
func TestDaysAreAsTheyWere(t *testing.T) {
	m := settledMachine()
	later := m.Takes[4].At.Add(200 * 24 * time.Hour)
	m.Takes = append(m.Takes, pairOf(6, later, 100, 0.2, 30))
	plain := Look(m)
	m.Build.Log = []machine.LogEntry{{At: later.Add(-time.Hour), Part: machine.Gate, Voices: []string{"bar"}}, {At: later.Add(time.Hour), Part: machine.Pins}}
	v := Look(m)
	before, days := plain.Days(), v.Days()
	if len(days) != 2 || len(days[1].Work) != 1 || days[1].Work[0].Part != machine.Gate {
		t.Fatalf("%+v", days)
	}
	for i, c := range days[0].Voices {
		if c.ByMS != 0 || c.HalfMS != before[0].Voices[i].HalfMS || c.HalfMS > 1 {
			t.Errorf("on the first day the %s: %+v, without the log %+v", c.Voice, c, before[0].Voices[i])
		}
	}
	if drum, bar := days[1].Voices[0], days[1].Voices[1]; math.Abs(drum.ByMS) > 1 || math.Abs(bar.ByMS-30) > 1 || drum.HalfMS < days[0].Voices[0].HalfMS {
		t.Errorf("on the second day: %+v, %+v", drum, bar)
	}
}

// silent makes the last voice of a take one whose microphone heard nothing.
func silent(t machine.Take, words string) machine.Take {
	r := calib.Read(nil, t.Heard[0].Reading.ReferenceHitsS, nil, 1)
	r.Warnings = []calib.Warning{{Code: calib.WarnDeadChannel, Text: words}}
	t.Heard[len(t.Heard)-1].Reading = r
	return t
}

// A voice that a day's takes do not hear is no evidence, and its songs stay open; the view says
// so, be it in sight or not. A take that hears it after all settles it.
func TestVoiceThatIsNotHeardAnew(t *testing.T) {
	later := settledMachine().Takes[4].At.Add(200 * 24 * time.Hour)
	m := settledMachine()
	m.Songs[0].Voices = []string{"drum"}
	dead := silent(pairOf(6, later, 100, 0.2, 0), "channel 3 carries no hits")
	m.Takes = append(m.Takes, dead)
	for _, voice := range m.Build.Voices {
		m.Target.Voice = voice
		v := Look(m)
		if c := v.Check; c == nil || c.Hold() || c.Fail() || !c.Kept[0].Holds() || c.Kept[1].Holds() || !c.Kept[1].Unheard || len(c.Changes) > 0 ||
			!strings.Contains(v.Why, "Not heard again, so left open: ") || strings.Count(v.Why, "Could not be read: bar. Channel 3 carries no hits.") != 1 {
			t.Errorf("the %s in sight: %s %s: %+v", voice, v.Do, v.Why, c)
		}
	}
	m.Takes = append(m.Takes, pairOf(7, later.Add(time.Minute), 100, 0.2, 0))
	if c := Look(m).Check; !c.Hold() || strings.Contains(c.Words, "heard") || strings.Contains(c.Words, "known") {
		t.Errorf("heard after all: %s", c.Words)
	}
	m = settledMachine()
	dead.Heard[0] = dead.Heard[1]
	dead.Heard[0].Voice, dead.Heard[0].Channel = "drum", 2
	m.Takes = append(m.Takes, dead)
	if c := Look(m).Check; c == nil || c.Hold() || c.Fail() || !strings.Contains(c.Words, "Could not be read: drum, bar. Channel 3") {
		t.Errorf("nothing heard at all: %+v", c)
	}
	first := on(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}, silent(pairOf(1, later, 100, 200, 0), "channel 3 carries no hits"))
	first.Build.Voices = []string{"drum", "bar"}
	if v := Look(first); v.Stage != AwaitMove || !strings.Contains(v.Why, "Could not be read: bar. Channel 3 carries no hits.") {
		t.Errorf("a first take: %s %s", v.Do, v.Why)
	}
}

// A take of which it is in doubt which microphone is which tells of no move and no setting.
func TestRolesInDoubt(t *testing.T) {
	for _, lag := range []float64{200, 0} {
		r := played(100, lag, 0.5, 12)
		r.Warnings = []calib.Warning{{Code: calib.WarnSwapped, Text: "channel 2 strikes more often than channel 1"}}
		v := Look(on(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}, heard(r)))
		if v.Stage != AwaitTake || v.Steps != 0 || v.Number != nil || len(v.Settings) > 0 || !v.Reach || v.Do != "Stop the crank, then check which microphone is which" || !strings.Contains(v.Why, "Channel 2 strikes more often than channel 1. ") {
			t.Errorf("%g ms: stage %d, %+d steps, %+v, %+v: %s %s", lag, v.Stage, v.Steps, v.Number, v.Settings, v.Do, v.Why)
		}
	}
}

// A take to check by promises no more than its hits can show: with steps too fine, half a one
// may stay hidden. The limits are those of the check, however many voices the song has.
func TestPromiseOfACheck(t *testing.T) {
	for notches, says := range map[int]string{60: "then a change of half a step shows", 600: "may still not show"} {
		m := settledMachine()
		m.Build.Plate.NotchesPerTurn = notches
		m.Takes[1].Moved.Steps = 12 * notches / 60
		if v := LookAt(m, m.Takes[4].At.Add(200*24*time.Hour)); !strings.Contains(v.Why, says) {
			t.Errorf("%d notches: %s", notches, v.Why)
		}
	}
	hits := func(voices ...string) int {
		m := settledMachine()
		m.Build.Plate.NotchesPerTurn, m.Takes[1].Moved.Steps = 200, 40
		m.Songs[1].Voices, m.Target = voices, machine.Target{Song: m.Songs[1].Name, TempoBPM: 100, Voice: "drum"}
		return LookAt(m, m.Takes[4].At.Add(20*24*time.Hour)).Hits
	}
	if both, one := hits(), hits("drum"); both != one || one <= usualHits {
		t.Errorf("%d hits for both voices, %d for a song of one", both, one)
	}
}

// Files that heard every voice are followed by a take that hears them all, whatever
// microphones are set up.
func TestFilesHearMoreThanTheMicrophones(t *testing.T) {
	m := settledMachine()
	m.Takes = m.Takes[:1]
	if v := Look(m); v.Next == nil || !v.Next.All {
		t.Fatalf("%+v", v.Next)
	}
	m.Microphones = &machine.Microphones{Channels: 2, Reference: 1, Voices: []machine.Microphone{{Voice: "drum", Channel: 2}}}
	if v := Look(m); v.Next == nil || !v.Next.All {
		t.Errorf("with a microphone on the drum: %+v", v.Next)
	}
}

// A song of two voices that was left on the edge of passing is still there another day, and no
// more takes are asked for.
func TestEdgeHoldsAnotherDay(t *testing.T) {
	m := settledMachine()
	m.Songs = m.Songs[1:2] // at 100 BPM half a step is 5 ms, and 0.75 more pass
	at := m.Takes[0].At
	m.Takes = nil
	for i := range 12 {
		m.Takes = append(m.Takes, pairOf(i+1, at.Add(time.Duration(i)*time.Minute), 100, 5.55, -5.55))
	}
	m.Target = machine.Target{Song: m.Songs[0].Name, TempoBPM: 100, Voice: "drum"}
	for i := range m.Takes {
		m.Takes[i].Target = m.Target
	}
	if v := Look(m); v.Songs[0].Stands != OnEdge || v.Songs[0].Chance > 0.5 || v.Next != nil || v.Stage != Tight || v.Do != "As near as the plate goes: leave it" {
		t.Fatalf("on the first day: %+v, %+v", v.Songs[0], v.Next)
	}
	m.Takes = append(m.Takes, pairOf(13, at.Add(24*time.Hour), 100, 5.55, -5.55))
	if c := Look(m).Check; c == nil || !c.Hold() || !c.Kept[0].OnEdge() {
		t.Errorf("on the next: %+v", c)
	}
}

// Where the plate belongs a step on, the old setting is on no edge: it holds no more, and what is
// said of its chance is what the takes tell.
func TestEdgeIsOfTheBestSetting(t *testing.T) {
	m := settledMachine()
	m.Songs, m.Target = m.Songs[1:2], machine.Target{Song: m.Songs[1].Name, TempoBPM: 100, Voice: "drum"}
	at := m.Takes[0].At
	m.Takes = nil
	for i, lag := range [][2]float64{{4, 4}, {4, 4}, {4, 4}, {5.7, 5.5}, {5.7, 5.5}, {5.7, 5.5}} {
		m.Takes = append(m.Takes, pairOf(i+1, at.Add(time.Duration(i/3*24*60+i)*time.Minute), 100, lag[0], lag[1]))
		m.Takes[i].Target = m.Target
	}
	v := Look(m)
	c := v.Check
	if c == nil || v.Stage != AwaitMove || v.Steps != 1 {
		t.Fatalf("%s %s: %+v", v.Do, v.Why, c)
	}
	if k := c.Kept[0]; k.Holds() || k.Now != 1 || k.Chance > 0.8 || strings.Contains(v.Why, "still holds") || strings.Contains(v.Why, "as near as the plate goes") {
		t.Errorf("%s %s: %+v", v.Do, v.Why, k)
	}
}
