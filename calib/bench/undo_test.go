package bench_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/machine"
)

// strikes is a reading of twelve strikes about a lag, as if they had been heard.
func strikes(bpm, lagMS float64) calib.Reading {
	var pairs []calib.Pair
	var reference, voice []float64
	for i := range 12 {
		at := 1 + float64(i)*60/bpm
		lag := lagMS + 0.5*float64(i%3-1)
		reference, voice = append(reference, at), append(voice, at+lag/1000)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	return calib.Read(pairs, reference, voice, 1)
}

// told is a bench whose takes were never sound: all three heard two voices at 84 BPM,
// late by as much as the moves leave of 200 ms, and the last move is still to be told.
func told(t testing.TB) *bench.Bench {
	t.Helper()
	m := bench.Practice(1, 84)
	step := m.Build.Plate.StepBeats() * calib.PeriodMS(84)
	for i, setting := range []int{0, 10, 15} {
		take := machine.Take{ID: i + 1, File: fmt.Sprintf("take-%03d.wav", i+1), Origin: machine.Simulated, Target: m.Target, Reference: 1, Channels: 3}
		for v, voice := range m.Build.Voices[:2] {
			take.Heard = append(take.Heard, machine.Heard{Voice: voice, Channel: 2 + v, Reading: strikes(84, 200-30*float64(v)-step*float64(setting))})
		}
		if i < 2 {
			take.Moved = &machine.Move{Steps: []int{10, 5}[i], For: m.Target}
		}
		m.Takes = append(m.Takes, take)
	}
	b, err := bench.Create(t.TempDir()+"/machine", m)
	ok(t, err)
	t.Cleanup(func() { b.Close() })
	return b
}

// change is one that can be taken back, with what it is called.
type change struct {
	what string
	do   func() error
}

// changes are of every kind, to be made in this order on a bench as told.
func changes(b *bench.Bench) []change {
	const id, voice = 1, "tub drum"
	at := b.Machine().Takes[0].Heard[0].Reading.Pairs[3].VoiceS
	m := b.Machine().Build
	m.Voices = []string{"tub", "elm block", "brass bar", "gong"}
	m.Plate = calib.Plate{NotchesPerTurn: 100, TurnsPerBeat: 0.6}
	m.Name = "Yard, spring"
	v := machine.VoiceChannel
	faster := evening[0]
	faster.TempoBPM = 80
	edit := func(edits ...machine.Edit) func() error { return func() error { return b.Edit(id, voice, edits...) } }
	songs := func(edits ...machine.SongEdit) func() error { return func() error { return b.EditSongs(edits...) } }
	return []change{
		{"the move of 3 steps", func() error { return b.Moved(3, "left it") }},
		{"the move of 2 steps", func() error { return b.Moved(-2, "two too many") }},
		{"take 2 left out", func() error { return b.LeaveOut(2, true) }},
		{"take 2 counted again", func() error { return b.LeaveOut(2, false) }},
		{"hit moved in take 1", edit(machine.MoveHit(v, at, at+0.002))},
		{"hit struck out in take 1", edit(machine.StrikeOut(v, at+0.002))},
		{"hit added in take 1", edit(machine.Add(v, at))},
		{"hits of take 1", edit(machine.StrikeOut(v, at), machine.Add(machine.ReferenceChannel, at-0.3))},
		{"the set list", songs(machine.AddSong(0, evening[0]), machine.AddSong(1, evening[1]))},
		{"the set list", songs(machine.ChangeSong(0, faster))},
		{"the set list", songs(machine.MoveSong(0, 1))},
		{"the set list", songs(machine.RemoveSong(0))},
		{"the correction of take 2", func() error { return b.Correct(2, bench.Correction{12, "Weir Reel", 96, nil, 0}) }},
		{"the name", func() error { return b.Rename("  Yard, spring ") }},
		{"the notes", func() error { return b.Note("windy\nall day\n") }},
		{"the notes on take 2", func() error { return b.NoteTake(2, "crank stiff", &machine.Conditions{TemperatureC: new(14.0)}) }},
		{"the machine", func() error { return b.EditMachine(m, 6, []string{"tub drum", "elm block", "brass bar", ""}) }},
		{"take 3 left out", func() error { return b.LeaveOut(3, true) }},
	}
}

// All changes are one stack: each is taken back in its turn, by its name, and made
// again, and everybody is shown the machine as it then is.
func TestUndoIsOneStack(t *testing.T) {
	b := told(t)
	states, all := []machine.Machine{b.Machine()}, changes(b)
	for _, c := range all {
		ok(t, c.do())
		states = append(states, b.Machine())
	}
	now := b.Machine()
	if now.Build.Name != "Yard, spring" || now.Notes != "windy\nall day" || now.Takes[1].Notes != "crank stiff" || now.Takes[2].Moved.Note != "left it; two too many" || now.Takes[2].Moved.Steps != 1 || now.Target.Voice != "tub" {
		t.Errorf("it is kept as %+v", now)
	}
	is := func(n int) {
		t.Helper()
		if !reflect.DeepEqual(b.Machine(), states[n]) || !reflect.DeepEqual(b.View().Machine, states[n]) {
			t.Errorf("after %d changes it is another machine than it was", n)
		}
		names := []string{""}
		for _, c := range all {
			names = append(names, c.what)
		}
		if undo, redo := b.Undoable(); undo != names[n] || redo != append(names, "")[n+1] {
			t.Errorf("after %d changes there are %q to be undone and %q to be made again", n, undo, redo)
		}
	}
	there := func(step func() (string, error), what string) {
		t.Helper()
		if got, err := step(); err != nil || got != what {
			t.Errorf("it changed %q, want %q: %v", got, what, err)
		}
	}
	for n := len(all); n > 0; n-- {
		is(n)
		there(b.Undo, all[n-1].what)
	}
	is(0)
	there(b.Undo, "")
	for n, c := range all {
		is(n)
		there(b.Redo, c.what)
	}
	there(b.Redo, "")
	is(len(all))

	// What changes nothing, or is refused, leaves the stack alone; any other change ends
	// what can be made again.
	there(b.Undo, "take 3 left out")
	ok(t, b.LeaveOut(3, false))
	for says, err := range map[string]error{
		"needs a name":            b.Rename(" "),
		"no take 99":              b.NoteTake(99, "x", nil),
		"had no microphone":       b.Edit(1, "gong", machine.Add(machine.VoiceChannel, 1)),
		"bell":                    b.EditSongs(machine.AddSong(0, evening[0]), machine.AddSong(0, machine.Song{Name: "x", TempoBPM: 90, Voices: []string{"bell"}})),
		"the tub stays: 3 of the": b.EditMachine(machine.Build{Voices: []string{"elm block"}}, 5, []string{"elm block"}),
	} {
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("error %v, want one that says %q", err, says)
		}
	}
	is(len(all) - 1)
	ok(t, b.Note(""))
	if undo, redo := b.Undoable(); undo != "the notes" || redo != "" {
		t.Errorf("after another change there are %q to be undone and %q to be made again", undo, redo)
	}
	if undo, _ := told(t).Undoable(); undo != "" {
		t.Errorf("nothing was changed, and %q can be undone", undo)
	}
}

// Where the loop aims and the microphones stay, whatever is taken back or made again. A take
// is a change like any other.
func TestUndoLeavesWhatIsNoChange(t *testing.T) {
	b := told(t)
	ok(t, b.Moved(3, ""))
	ok(t, b.Note("windy"))
	_, err := b.Undo()
	ok(t, err)
	aim := machine.Target{TempoBPM: 110, Voice: "elm block"}
	ok(t, b.Aim(aim))
	m := machine.Microphones{Device: "Desk", RateHz: 48000, Channels: 2, Reference: 1}
	ok(t, b.SetMicrophones(m))
	kept := playOne(t, b)
	stays := func(what string, takes int, moved bool) {
		t.Helper()
		s := b.Machine()
		if len(s.Takes) != takes || takes == 4 && !reflect.DeepEqual(s.Takes[3], kept) || s.Target != aim || s.Microphones == nil || (s.Takes[2].Moved != nil) != moved {
			t.Errorf("%s: %d takes, aimed at %+v", what, len(s.Takes), s.Target)
		}
	}
	for _, step := range []struct {
		what  string
		do    func() (string, error)
		takes int
		moved bool
	}{{"take 4", b.Undo, 3, true}, {"the move of 3 steps", b.Undo, 3, false}, {"the move of 3 steps", b.Redo, 3, true}, {"take 4", b.Redo, 4, true}} {
		what, err := step.do()
		ok(t, err)
		if what != step.what {
			t.Errorf("changed %q, want %q", what, step.what)
		}
		stays(what, step.takes, step.moved)
	}
}

func TestUndoGoesAHundredBack(t *testing.T) {
	b := told(t)
	for i := range 105 {
		ok(t, b.Note(fmt.Sprint(i)))
	}
	n := 0
	for what, err := b.Undo(); what != ""; what, err = b.Undo() {
		ok(t, err)
		n++
	}
	if n != 100 || b.Machine().Notes != "4" {
		t.Errorf("%d changes were undone, back to %q", n, b.Machine().Notes)
	}
}

// Plate and tempo are put right by hand: the takes after one stand as much further, and
// how the move was told first is kept with it. It is one change.
func TestCorrect(t *testing.T) {
	b := told(t)
	before := b.Machine()
	settings := func(want ...int) {
		t.Helper()
		for i, setting := range want {
			if got := b.Machine().SettingAt(i); got != setting {
				t.Errorf("take %d stands at %+d, want %+d", i+1, got, setting)
			}
		}
	}
	ok(t, b.Correct(2, bench.Correction{12, "Weir Reel", 96, nil, 0}))
	m := b.Machine()
	if move := m.Takes[0].Moved; m.Takes[1].Target != (machine.Target{Song: "Weir Reel", TempoBPM: 96, Voice: "tub drum"}) || move.NoteWords() != "first entered as 10 ahead" {
		t.Errorf("take 2 is of %+v, the move before it %+v", m.Takes[1].Target, move)
	}
	settings(0, 12, 17)
	if r, _ := b.View().Result(2, "tub drum"); r.Target().TempoBPM != 96 {
		t.Errorf("it is judged as of %+v", r.Target())
	}
	_, err := b.Undo()
	ok(t, err)
	if !reflect.DeepEqual(b.Machine(), before) {
		t.Error("undone in one, it is not as it was")
	}
	ok(t, b.Correct(1, bench.Correction{0, "Mill Waltz", 72, nil, 0})) // the first stands at 0
	settings(0, 10, 15)
	before = b.Machine()
	for says, err := range map[string]error{
		"setting 0 is where":     b.Correct(1, bench.Correction{3, "Mill Waltz", 72, nil, 0}),
		"the tempo is 4000 BPM":  b.Correct(2, bench.Correction{12, "", 4000, nil, 0}),
		"the machine has no tak": b.Correct(9, bench.Correction{1, "", 84, nil, 0}),
		"no voice \"gong\"":      b.Correct(2, bench.Correction{10, "", 84, []string{"gong"}, 0}),
	} {
		if err == nil || !strings.Contains(err.Error(), says) || !reflect.DeepEqual(b.Machine(), before) {
			t.Errorf("error %v, want one that says %q and changes nothing", err, says)
		}
	}
	ok(t, b.Correct(2, bench.Correction{10, "Mill Waltz", 84, []string{"elm block", "tub drum"}, 0}))
	if one := b.Machine().Takes[1]; one.Heard[0].Voice != "elm block" || one.Target.Voice != "elm block" || !reflect.DeepEqual(one.Heard[0].Reading, before.Takes[1].Heard[0].Reading) {
		t.Errorf("corrected, take 2 is of %+v", one.Target)
	}
	_, err = b.Undo()
	ok(t, err)
	if !reflect.DeepEqual(b.Machine(), before) {
		t.Error("undone, the voice is another")
	}
	ok(t, b.Correct(2, bench.Correction{10, "Mill Waltz", 84, nil, 3}))
	one, were := b.Machine().Takes[1], before.Takes[1]
	drum, block := one.Heard[0].Reading, one.Heard[1].Reading
	apart := were.Heard[0].Reading.LagMS - were.Heard[1].Reading.LagMS
	if one.Reference != 3 || one.Heard[1].Channel != 1 || math.Abs(drum.LagMS-apart) > 0.5 || math.Abs(block.LagMS+were.Heard[1].Reading.LagMS) > 0.5 {
		t.Errorf("by the block's channel the drum is %.1f ms late, want %.1f; the block on channel %d %.1f ms", drum.LagMS, apart, one.Heard[1].Channel, block.LagMS)
	}
	if err := b.Correct(2, bench.Correction{10, "Mill Waltz", 84, nil, 4}); err == nil || !strings.Contains(err.Error(), "channel 4") {
		t.Errorf("a channel that nothing is known of: %v", err)
	}
	_, err = b.Undo()
	ok(t, err)
	ok(t, b.Moved(4, ""))
	kept := playOne(t, b)
	playOne(t, b) // no move was told before it
	ok(t, b.Update(func(m *machine.Machine) error {
		m.Takes[2].Moved.AsTold = true
		return nil
	}))
	if ok(t, b.Correct(kept.ID, bench.Correction{19, "", 84, nil, 0})); !b.Machine().Takes[2].Moved.AsTold {
		t.Error("its song was corrected alone, and the answer about the move before it is dropped")
	}
	if ok(t, b.Correct(kept.ID, bench.Correction{18, "", 84, nil, 0})); b.Machine().Takes[2].Moved.AsTold {
		t.Error("corrected to where it did not stand, the move is still as told whatever the takes show")
	}
	ok(t, b.Correct(kept.ID, bench.Correction{19, "", 84, nil, 0}))
	ok(t, b.Correct(kept.ID+1, bench.Correction{20, "", 84, nil, 0}))
	if move := b.Machine().Takes[3].Moved; move.Steps != 1 || move.NoteWords() != "first entered as no move" {
		t.Errorf("the move that was not told is %+v", move)
	}
	settings(0, 10, 15, 19, 20)
}

// A move that was made as asked and not told is found by the first take after it, and
// one that was told and not made too; both are offered, and agreed with are one change.
func TestMovesThatWereNotTold(t *testing.T) {
	for _, made := range []bool{true, false} {
		b := open(t, 3, 90)
		playOne(t, b)
		asked, stands := b.View().Steps, 0
		yes := fmt.Sprintf("It was turned %d ahead", asked)
		if made {
			stands = asked
		} else {
			yes = "The plate was not turned"
			ok(t, b.Moved(asked, ""))
		}
		hear(t, b, truly{"tub drum", 90, stands, 0}, 5)
		before, v := b.Machine(), b.View()
		if asked < 10 || last(b).Asked != stands || len(v.Findings) != 1 || v.Findings[0].Yes != yes {
			t.Fatalf("asked for %d, kept with the take %d, found %+v; want %q", asked, last(b).Asked, v.Findings, yes)
		}
		ok(t, b.Agree(v.Findings[0]))
		if after := b.View(); after.Setting != stands || len(after.Findings) != 0 || after.Steps != v.Steps {
			t.Errorf("agreed with, the plate stands at %+d and %d steps are asked for, %d before; found %+v", after.Setting, after.Steps, v.Steps, after.Findings)
		}
		if what, err := b.Undo(); err != nil || what != "“"+yes+"”" || !reflect.DeepEqual(b.Machine(), before) {
			t.Errorf("undone %q, %v", what, err)
		}
	}
}
