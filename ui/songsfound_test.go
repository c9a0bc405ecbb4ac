package ui

import (
	"context"
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/calib/practice"
	wav "lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/ui/kit"
	"lagwright/ui/setlist"
	"lagwright/ui/sign"
)

// recordTub opens a recording of the tub drum with the plate where it really
// stands, and tells of a move after it.
func recordTub(t *testing.T, w *Window, bpm float64, stands, told int) {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(w.desk.Bench.Aim(machine.Target{TempoBPM: bpm, Voice: "tub drum"}))
	path := filepath.Join(t.TempDir(), "crank.wav")
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: bpm, Setting: stands, Seed: uint64(bpm), Rate: quickRate})
	must(wav.Write(context.Background(), path, recording, nil))
	_, err := w.desk.Bench.Add(context.Background(), path, w.desk.Bench.Channels(2), nil)
	must(err)
	if told != 0 {
		must(w.desk.Bench.Moved(told, ""))
	}
}

// A step that was miscounted is said above the set list, and nothing is changed.
func TestSetListSaysAMiscount(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	if w.loop.Found.Root.Visible() {
		t.Error("something is found before any take")
	}
	recordTub(t, w, 84, 0, 10)
	recordTub(t, w, 120, 10, 6)
	recordTub(t, w, 96, 15, 2)
	recordTub(t, w, 72, 17, 0)
	before := w.desk.Machine().Setting()
	w.refresh()
	got := w.loop.Found.Likely.Text
	if !w.loop.Found.Root.Visible() || !strings.Contains(got, "looks like 5 steps, not 6") || !strings.Contains(got, " to 1") || !strings.Contains(got, "count the notches") {
		t.Errorf("says %q", got)
	}
	if line := w.loop.Found.Likely.Size(); line.Height < w.loop.Found.Likely.MinSize().Height || line.Width < 300 {
		t.Errorf("what came in sight has only the room %v", line)
	}
	if w.desk.Machine().Setting() != before {
		t.Errorf("setting %+d before anybody agreed, %+d then", before, w.desk.Machine().Setting())
	}
}

// What the top says of one take or song is still said of another that is just like it.
func TestWhatIsLikeWhatTheTopSays(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	for seed := range uint64(2) {
		path := filepath.Join(t.TempDir(), "crank.wav")
		recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 84, Seed: 77 + seed, Rate: quickRate, Disturb: practice.Disturb{Swapped: true, MissedShare: 0.2}})
		must.Do(t, wav.Write(context.Background(), path, recording, nil))
		must.Get(w.desk.Bench.Add(context.Background(), path, w.desk.Bench.Channels(2), nil))(t)
	}
	v := w.desk.View()
	for take, there := range map[int]bool{1: true, 2: false} {
		r, _ := v.Result(take, "tub drum")
		w.take.OpenTake(r)
		w.refresh()
		at := slices.IndexFunc(r.Reading.Warnings, func(one calib.Warning) bool { return one.Code == calib.WarnSwapped })
		if at < 0 || !strings.Contains(v.Why, r.Reading.Warnings[at].Sentence()) {
			t.Fatalf("the top says %q; take %d has %v", v.Why, take, r.Reading.Warnings)
		}
		if said := strings.Contains(signsIn(w.take.Root), r.Reading.Warnings[at].Words()[1:]); said != there {
			t.Errorf("take %d in sight, what is wrong with it is said below: %v, want %v", take, said, there)
		}
	}
	for i, likely := range []string{"Looks wrong (tub drum, by its sound): " + v.Findings[0].Words + " " + v.Findings[0].Do, "Looks wrong (tub drum, by its sound)"} {
		v.Findings = v.Findings[i:]
		if w.refresh(); w.loop.Found.Likely.Text != kit.InFont(likely) {
			t.Errorf("of take %d it says %q, want %q", v.Findings[0].Take, w.loop.Found.Likely.Text, likely)
		}
	}
	for i := range v.Songs {
		one := &v.Songs[i]
		one.Heard, one.Stands, one.Why, one.Parts = true, loop.Hopeless, "Nothing fits them.", []loop.Residual{{Voice: "tub drum"}}
	}
	v.Song, v.Why, v.Number = &v.Songs[0], "Nothing fits them.", &loop.Number{Voice: "tub drum"}
	for i := range v.Songs {
		w.refresh()
		if w.songs.Hold(i); strings.Contains(w.songs.Said.Text, "Nothing fits them.") != (i == 1) {
			t.Errorf("of song %d, with the top about the first, it says %q", i+1, w.songs.Said.Text)
		}
	}
}

// signsIn returns what stands on the signs in sight.
func signsIn(o fyne.CanvasObject) (said string) {
	for _, o := range test.LaidOutObjects(o) {
		if s, ok := o.(*sign.Sign); ok && s.Visible() {
			said += s.Text + "\n"
		}
	}
	return said
}

// dialogIn returns what is to be read on a dialog, and its buttons by their words.
func dialogIn(t *testing.T, w *Window) (said string, buttons map[string]fyne.Tappable) {
	t.Helper()
	top := w.desk.Win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("there is no dialog")
	}
	buttons = map[string]fyne.Tappable{}
	for _, o := range test.LaidOutObjects(top) {
		switch o := o.(type) {
		case *widget.Label:
			said += o.Text + "\n"
		case *widget.Button:
			if o.Visible() {
				buttons[o.Text] = o
			}
		case *kit.Button:
			if o.Visible() {
				buttons[o.Text] = o
			}
		}
	}
	return said, buttons
}

// What the builder can do about each finding lies beside it.
func TestWhatTheTakesShow(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	recordTub(t, w, 84, 0, 0)
	w.refresh()
	w.desk.View().Findings = []loop.Finding{
		{Kind: plan.Bad, Take: 1, Odds: "about 9 to 1", Words: "The lag fits nothing else.", Do: "Look.", Yes: "Leave take 1 out"},
		{Kind: plan.FallChanged, Voice: "elm block", Odds: "about 3 to 1", Words: "Its fall is another.", Do: "Look."},
		{Kind: plan.PlateWrong, Odds: "about 2 to 1", Words: "The plate is another.", Do: "Count."},
	}
	w.refresh()
	if f := w.loop.Found; f.Likely.Text != "Looks wrong (about 9 to 1): The lag fits nothing else. Look." {
		t.Errorf("says %q", f.Likely.Text)
	}
	test.Tap(w.loop.Found.All)
	said, buttons := dialogIn(t, w)
	if !strings.Contains(said, "Nothing you entered is changed until you agree") || !strings.Contains(said, "(elm block, about 3 to 1): Its fall is another. Look.") || len(buttons) != 3 {
		t.Errorf("lists %q with %d buttons", said, len(buttons))
	}
	w.desk.Dismiss()
	w.desk.View().Findings = []loop.Finding{{Kind: plan.FallChanged, Odds: "about 2 to 1", Words: "Its fall is another.", Do: "Look."}}
	w.refresh()
	if w.loop.Found.Yes.Visible() {
		t.Errorf("what is done at the machine alone is answered by %q", w.loop.Found.Yes.Text)
	}
	w.desk.View().Findings = []loop.Finding{{Kind: plan.PlateWrong, Odds: "about 2 to 1", Words: "The plate is another.", Do: "Count."}}
	w.refresh()
	w.desk.View().Findings[0].Words = strings.Repeat("The plate is another. ", 9) // of three lines
	w.loop.Found.List()
	only := shownDialog(t, w).(*widget.PopUp)
	settle(only)
	if list := scrollsIn(only)[0]; list.Content.MinSize().Height > list.Size().Height {
		t.Errorf("the only entry is %g high in %g", list.Content.MinSize().Height, list.Size().Height)
	}
	w.desk.Dismiss()
	test.Tap(w.loop.Found.Yes)
	if _, buttons = dialogIn(t, w); w.loop.Found.Yes.Text != "Plate, voices and build…" || buttons["Keep"] == nil {
		t.Errorf("the machine is not asked for: %v", buttons)
	}
}

// Without a set list a mistake is said below the loop, with what to agree to; agreed
// with, the move is corrected and nothing is found any more; Undo takes it back.
func TestLoopSaysWhatTheTakesShow(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	recordTub(t, w, 84, 0, 10)
	recordTub(t, w, 120, 10, 6)
	recordTub(t, w, 96, 15, 2)
	recordTub(t, w, 72, 17, 0)
	w.refresh()
	before := w.desk.Machine()
	line := w.loop.Found
	if !line.Root.Visible() || !strings.Contains(line.Likely.Text, "The move before take 3 looks like 5 steps, not 6") {
		t.Fatalf("says %q", line.Likely.Text)
	}
	test.Tap(line.All)
	_, buttons := dialogIn(t, w)
	if buttons["It was turned 5 ahead"] == nil {
		t.Fatalf("offers %v", buttons)
	}
	test.Tap(buttons["It was turned 5 ahead"])
	if w.desk.Machine().Takes[1].Moved.Steps != 5 || !strings.Contains(w.desk.Notice.Text.Text, "is corrected") || w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Errorf("agreed in the list: told %+v, says %q", w.desk.Machine().Takes[1].Moved, w.desk.Notice.Text.Text)
	}
	if w.undo(); w.desk.Machine().Takes[1].Moved.Steps != 6 {
		t.Error("undone, it is still corrected")
	}
	if line.Yes.Text != "It was turned 5 ahead" {
		t.Errorf("beside it stands %q", line.Yes.Text)
	}
	test.Tap(line.Yes)
	m := w.desk.Machine()
	if got := m.Takes[1].Moved; got.Steps != 5 || got.NoteWords() != "first entered as 6 ahead" || m.SettingAt(2) != 15 || m.Setting() != 17 {
		t.Errorf("told %+v, take 3 at %+d, the plate at %+d", got, m.SettingAt(2), m.Setting())
	}
	if line.Root.Visible() || !strings.Contains(w.desk.Notice.Text.Text, "Undo") {
		t.Errorf("still found %q; says %q", line.Likely.Text, w.desk.Notice.Text.Text)
	}
	command(t, w, "Undo").Action()
	if !reflect.DeepEqual(w.desk.Machine(), before) || !line.Root.Visible() {
		t.Error("undone, the machine is not as it was")
	}
	if command(t, w, "Suspected mistakes…").Disabled {
		t.Error("undone, the menu does not offer what the takes show")
	}
	command(t, w, "Redo").Action()
	if w.desk.Machine().Setting() != 17 || line.Root.Visible() {
		t.Error("it was not made again")
	}
}

// A move that was made as asked for and never told is one press away.
func TestMoveThatWasNotTold(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	recordTub(t, w, 84, 0, 0)
	asked := w.desk.View().Steps
	recordTub(t, w, 84, asked, 0)
	w.refresh()
	line := w.loop.Found
	if !line.Root.Visible() || line.Yes.Text != fmt.Sprintf("It was turned %d ahead", asked) {
		t.Fatalf("says %q, offers %q", line.Likely.Text, line.Yes.Text)
	}
	test.Tap(line.No)
	if v := w.desk.View(); v.Setting != 0 || w.desk.Machine().Setting() != 0 || slices.ContainsFunc(v.Findings, func(f loop.Finding) bool { return f.Kind == plan.NotTold }) {
		t.Errorf("denied, the plate stands at %d, found %+v", v.Setting, v.Findings)
	}
	command(t, w, "Suspected mistakes…").Action()
	said, answers := dialogIn(t, w)
	if !strings.Contains(said, "The move after take 1, 0, went as entered: so you said.") {
		t.Fatalf("what was denied is said as %q", said)
	}
	test.Tap(answers["Ask about it again"])
	if !line.Root.Visible() || !strings.Contains(w.desk.Notice.Text.Text, "is asked about again") {
		t.Errorf("it is not asked again; says %q", w.desk.Notice.Text.Text)
	}
	test.Tap(line.Yes)
	if v := w.desk.View(); v.Setting != asked || v.Stage != loop.Tight || line.Root.Visible() || !strings.Contains(w.desk.Notice.Text.Text, "before take 2 is corrected") {
		t.Errorf("the plate stands at %d: %s; says %q", v.Setting, v.Do, w.desk.Notice.Text.Text)
	}
}

// A song that no setting suits says what to change, with the caution beside it;
// another does not.
func TestSetListSaysTheCure(t *testing.T) {
	w := listed(t, machine.Song{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}, song("Weir Reel", 132))
	for _, target := range []machine.Target{{TempoBPM: 84, Voice: "tub drum"}, {TempoBPM: 84, Voice: "elm block"}, {TempoBPM: 132, Voice: "tub drum"}, {TempoBPM: 132, Voice: "elm block"}} {
		w.desk.Aim(target)
		must.Get(w.desk.Bench.Play(context.Background(), nil))(t)
	}
	w.refresh()
	w.desk.Win.Resize(fyne.NewSize(1180, 800))
	w.songs.Focus(0, setlist.NameColumn)
	c, said := w.songs.Cure, w.songs.Cure.Words
	for _, want := range []string{"tub drum, ", " late against the elm block: shorten its fall by ", " beats ahead", "at every tempo", "Not known: the drop height", "Enter it under Plate, voices and build"} {
		if !strings.Contains(said, want) {
			t.Errorf("the cure does not say %q: %q", want, said)
		}
	}
	if !c.Root.Visible() {
		t.Fatal("the song does not offer to say it")
	}
	test.Tap(c.Root)
	shown := w.desk.Win.Canvas().Overlays().Top()
	for _, want := range []string{"against the elm block", "Stop the crank and wait until everything is at rest", "local codes"} {
		if shown == nil || !strings.Contains(textIn(shown), want) {
			t.Errorf("the dialog does not say %q", want)
		}
	}
	w.desk.Win.Canvas().Overlays().Remove(shown)
	w.songs.Focus(1, setlist.NameColumn)
	if c.Root.Visible() {
		t.Errorf("a song that a setting suits says %q", c.Words)
	}
	// Aimed at it, the loop says so too, with the caution and the same way there, and
	// the song is in hand and marked.
	w.desk.Aim(machine.Target{Song: "Mill Waltz", TempoBPM: 84, Voice: "elm block"})
	p := w.loop
	if at := w.desk.View(); at.Stage != loop.AwaitMove || !strings.Contains(p.Why.Text, "comes nearest at") || !p.Cure.Root.Visible() {
		t.Errorf("the loop does not turn to where the voices come nearest: %q, %q", p.Do.Text, p.Why.Text)
	}
	w.loop.Move(w.desk.View().Steps, "")
	if p.Do.Text != "Bring the voices together" || p.Caution.Hidden || !p.Cure.Root.Visible() || p.Cure.Words != said || w.songs.At != 0 {
		t.Errorf("the loop says %q, caution hidden %v, cure %q, song %d in hand", p.Do.Text, p.Caution.Hidden, p.Cure.Words, w.songs.At)
	}
	if whose, of, ok := strings.Cut(p.Whose.Text, "  ·  "); !ok || !strings.Contains(p.Why.Text, whose) || of != "by all takes, at 84 BPM" {
		t.Errorf("the lag is of the %q; it says %q", p.Whose.Text, p.Why.Text)
	}
	w.desk.Aim(machine.Target{TempoBPM: 132, Voice: "elm block"})
	if p.Cure.Root.Visible() {
		t.Error("another tempo offers a cure")
	}
}

// textIn gathers what is written in an object and all within it.
func textIn(o fyne.CanvasObject) string {
	var all []string
	for _, one := range test.LaidOutObjects(o) {
		switch one := one.(type) {
		case *widget.Label:
			all = append(all, one.Text)
		case *sign.Sign:
			all = append(all, one.Text)
		case *kit.Button:
			all = append(all, one.Text)
		}
	}
	return strings.Join(all, "\n")
}
