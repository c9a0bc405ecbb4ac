package ui

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/must"
	"lagwright/plotting"
	"lagwright/ui/chart"
	"lagwright/ui/kit"
	"lagwright/ui/setlist"
	"lagwright/ui/table"
)

// listed opens the set list of a practice machine with songs for the tub drum.
func listed(t *testing.T, songs ...machine.Song) *Window {
	t.Helper()
	return listedIn(t, testWindow(t), songs...)
}

func listedIn(t *testing.T, w *Window, songs ...machine.Song) *Window {
	t.Helper()
	w.Practice()
	must.Do(t, w.desk.Bench.EditSongs(machine.ReplaceSongs(songs)))
	command(t, w, "Show the set list").Action()
	return w
}

func song(name string, bpm float64) machine.Song {
	return machine.Song{Name: name, TempoBPM: bpm, Voices: []string{"tub drum"}}
}

// inList returns the names of the songs as the machine has them.
func inList(w *Window) string {
	var names []string
	for _, s := range w.desk.Machine().Songs {
		names = append(names, s.Name)
	}
	return strings.Join(names, ", ")
}

// inRows returns the names as the rows show them.
func inRows(w *Window) string {
	var names []string
	for i := range w.songs.Table.Objects {
		names = append(names, w.songs.Rows[i].Cells[setlist.NameColumn].Text)
	}
	return strings.Join(names, ", ")
}

// overtype replaces what stands in a cell, as somebody does who clicks into it.
func overtype(w *Window, row, column int, text string) *table.Cell {
	c := w.songs.Rows[row].Cells[column]
	w.desk.Win.Canvas().Focus(c)
	c.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDelete}) // all of it is selected
	c.Entry.SetText("")
	test.Type(c, text)
	return c
}

func TestSetListIsEditedInPlace(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	overtype(w, 0, setlist.NameColumn, "Mill Race")
	w.desk.Win.Canvas().Focus(w.songs.Rows[1].Cells[setlist.TempoColumn]) // leaving a cell keeps it
	if got := inList(w); got != "Mill Race, Weir Reel" || w.songs.At != 1 {
		t.Errorf("songs %s, in hand %d", got, w.songs.At)
	}
	c := overtype(w, 1, setlist.TempoColumn, "128,5")
	c.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := w.desk.Machine().Songs[1]; got.TempoBPM != 128.5 || got.Voices[0] != "tub drum" || c.Text != "128.5" {
		t.Errorf("tempo %+v, shown as %q", got, c.Text)
	}
	for _, bad := range []string{"fast", "1000", ""} {
		overtype(w, 1, setlist.TempoColumn, bad).TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
		if w.desk.Machine().Songs[1].TempoBPM != 128.5 || c.Text != "128.5" || !strings.Contains(w.desk.Notice.Text.Text, map[string]string{"1000": "1000 BPM"}[bad]) || !strings.Contains(w.desk.Notice.Text.Text, "tempo") {
			t.Errorf("%q is shown as %q and says %q", bad, c.Text, w.desk.Notice.Text.Text)
		}
	}
	overtype(w, 1, setlist.NameColumn, "Half ty")
	w.refresh() // a job that ends meanwhile
	if got := w.songs.Rows[1].Cells[setlist.NameColumn].Text; got != "Half ty" {
		t.Errorf("what was being typed became %q", got)
	}
	w.put(nil)
	if dirs := machine.Shelf(w.desk.Prefs.MachinesIn()); len(dirs) > 0 {
		if m, err := machine.Load(dirs[0]); err != nil || m.Songs[1].Name != "Half ty" {
			t.Errorf("closing lost what was typed: %+v, %v", m.Songs, err)
		}
	}
}

// A song that is in the list already at its tempo is kept, and said.
func TestSongTwiceIsSaid(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 72))
	overtype(w, 1, setlist.NameColumn, "Mill Waltz").TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := inList(w); got != "Mill Waltz, Mill Waltz" || !strings.Contains(w.desk.Notice.Text.Text, "Mill Waltz at 72 BPM is in the list twice now") {
		t.Errorf("songs %s, said is %q", got, w.desk.Notice.Text.Text)
	}
}

// A tempo that is no number is named as it was typed, and the song keeps its own.
func TestTempoThatIsNoNumber(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	c := overtype(w, 0, setlist.TempoColumn, "8o")
	w.desk.Win.Canvas().Unfocus()
	if got := w.desk.Machine().SetList()[0].TempoBPM; got != 72 || c.Text != "72" || !strings.Contains(w.desk.Notice.Text.Text, "“8o” is no number") {
		t.Errorf("the song is at %g BPM, the cell says %q; said is %q", got, c.Text, w.desk.Notice.Text.Text)
	}
}

func TestSetListByKeyboard(t *testing.T) {
	w := listed(t)
	if !w.songs.Empty.Visible() || w.songs.List.Visible() {
		t.Error("an empty list does not say how to fill it")
	}
	for _, name := range []string{"a", "b", "c"} {
		command(t, w, "Add song").Action()
		typed, ok := w.desk.Win.Canvas().Focused().(*table.Cell)
		if !ok {
			t.Fatal("a new song is not ready to be named")
		}
		typed.SetText("")
		test.Type(typed, name)
	}
	do := func(label, want string) {
		t.Helper()
		c := command(t, w, label)
		if c.Disabled {
			t.Fatalf("%s is not offered", label)
		}
		c.Action()
		if got := inList(w); got != want || inRows(w) != want {
			t.Errorf("%s: the list is %s, shown as %s, want %s", label, got, inRows(w), want)
		}
	}
	do("Move song up", "a, c, b") // what was being typed is kept first
	do("Move song up", "c, a, b")
	do("Move song down", "a, c, b")
	w.typed(&fyne.KeyEvent{Name: fyne.KeyDown})
	do("Remove song", "a, c")
	do("Undo", "a, c, b")
	do("Undo", "c, a, b")
	do("Redo", "a, c, b")
	do("Redo", "a, c")
	do("Remove song", "a")
	if w.songs.Empty.Visible() || !w.songs.List.Visible() {
		t.Error("a list with a song counts as empty")
	}
	do("Remove song", "")
	if !w.songs.Empty.Visible() {
		t.Error("a list made empty does not say how to fill it")
	}
	if !command(t, w, "Remove song").Disabled || !command(t, w, "Move song down").Disabled {
		t.Error("commands on a song are offered without one")
	}
	command(t, w, "Back to the takes").Action()
	if w.songs.InSight || !command(t, w, "Add song").Disabled {
		t.Error("commands on the set list are offered out of its sight")
	}
	if _, ok := w.desk.Win.Canvas().Focused().(*table.Cell); ok {
		t.Error("the keyboard stays on a list that is out of sight")
	}
}

func TestSetListSortedByTempo(t *testing.T) {
	w := listed(t, song("fast", 150), song("slow", 60), song("middle", 100))
	test.Tap(w.songs.ByTempo)
	if got := inRows(w); got != "slow, middle, fast" || inList(w) != "fast, slow, middle" {
		t.Errorf("sorted %s, playing order %s", got, inList(w))
	}
	if !command(t, w, "Move song down").Disabled || !w.songs.Places[0].Disabled() {
		t.Error("places are moved where they are not seen")
	}
	overtype(w, 0, setlist.TempoColumn, "200").TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := inRows(w); got != "middle, fast, slow" || w.desk.Machine().Songs[1].TempoBPM != 200 {
		t.Errorf("after a change %s", got)
	}
	w.songs.Focus(2, setlist.NameColumn)
	command(t, w, "Work on this song").Action()
	if got := w.desk.Machine().Target; got != (machine.Target{Song: "middle", TempoBPM: 100, Voice: "tub drum"}) {
		t.Errorf("aimed at %+v", got)
	}
	command(t, w, "Sorted by tempo").Action()
	if got := inRows(w); got != "fast, slow, middle" {
		t.Errorf("in playing order %s", got)
	}
}

// The list says what the plan says, and its next take leads to a list that needs
// no more.
func TestSetListLeadsToVerified(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132), song("Low Water", 96))
	if got := w.songs.Rows[0].Said; got[0].Text != "" || got[4].Text != "Play a take first." {
		t.Errorf("before any take the list says %q, %q", got[0].Text, got[4].Text)
	}
	for takes := 0; w.desk.View().Next != nil; takes++ {
		if takes > 8 {
			t.Fatalf("still: %s", w.songs.Next.Text)
		}
		next := *w.desk.View().Next
		if said := w.songs.Next.Text; !strings.Contains(said, next.Why) || strings.Contains(said, next.Do) {
			t.Errorf("next take %q; what to do is said at the top", said)
		}
		test.Tap(w.songs.Aim)
		want := "This is the take that the set list asks for."
		if now := w.desk.View(); next.ToBPM > 0 && now.Stage == loop.AwaitMove {
			want = fmt.Sprintf("Stop the crank, wait for rest, then turn the plate %d steps ahead. Then sweep from ", now.Steps)
		}
		if said := w.songs.Next.Text; w.songs.Aim.Visible() || !strings.HasPrefix(said, want) {
			t.Errorf("aimed at it %q, want %q", said, want)
		}
		if w.desk.Machine().Target != next.Target {
			t.Fatalf("aimed at %+v, asked for %+v", w.desk.Machine().Target, next.Target)
		}
		if next.Move != 0 {
			w.loop.Move(next.Move, "")
		}
		command(t, w, "Play a take").Action()
	}
	if w.songs.Next.Text != "No more takes needed." || w.songs.Aim.Visible() {
		t.Errorf("at the end %q", w.songs.Next.Text)
	}
	plan := w.desk.View()
	if plan.Err != nil {
		t.Fatal(plan.Err)
	}
	if bars := plotting.SetListCurveOf(w.desk.View(), w.songs.At).Songs; len(bars) != len(plan.Songs) {
		t.Fatalf("%d songs on the curve, want %d", len(bars), len(plan.Songs))
	}
	for i := range plan.Songs { // on along the list, no song asks for a take
		w.songs.Focus(i, setlist.NameColumn)
		if command(t, w, "Work on this song").Action(); w.desk.View().Stage == loop.AwaitMove {
			w.loop.Move(w.desk.View().Steps, "")
		}
		if v := w.desk.View(); v.Stage < loop.Foretold || v.Setting != plan.Songs[i].Setting {
			t.Errorf("at %s the loop says %q: %s", plan.Songs[i].Name, v.Do, v.Why)
		}
	}
	saved := filepath.Join(t.TempDir(), "card.csv")
	w.export.Write(saved, w.export.Card())
	if card, err := os.ReadFile(saved); err != nil || strings.Count(string(card), "\n") != len(plan.Songs)+1 || strings.Count(string(card), ",true,") < len(plan.Songs) || strings.Count(string(card), ",true,false,") == 0 {
		t.Errorf("the card saved from the window: %v\n%s", err, card)
	}
	for i, s := range plan.Songs {
		said := w.songs.Rows[i].Said
		played := slices.ContainsFunc(plan.Results, func(r []loop.Result) bool {
			return r[0].Outcome == loop.Converged && r[0].Take.Target.TempoBPM == s.TempoBPM
		})
		if want := map[bool]string{true: "Verified", false: "Sure"}[played]; said[0].Text == "" || said[4].Text != want || !strings.Contains(said[2].Text, " to ") || !strings.Contains(said[3].Text, "±") {
			t.Errorf("%s: %q %q %q %q %q", s.Name, said[0].Text, said[1].Text, said[2].Text, said[3].Text, said[4].Text)
		}
		w.songs.Focus(i, setlist.TempoColumn)
		for j, bar := range plotting.SetListCurveOf(w.desk.View(), w.songs.At).Songs {
			if one := plan.Songs[j]; bar.Picked != (j == i) || bar.Name != one.Name || bar.Setting != one.Setting || bar.WindowBPM != [2]float64{one.LowBPM, one.HighBPM} {
				t.Errorf("song %d in hand, the curve has %+v of %+v", i, bar, one)
			}
		}
		if got := w.songs.Said.Text; !strings.HasPrefix(got, s.Name) || strings.HasSuffix(got, kit.InFont(s.Why)) == (s.ID == w.desk.Song().ID) { // of that one the line at the top says why
			t.Errorf("of the song in hand the list says %q", got)
		}
		if (said[1].Text == "") != (i == 0) {
			t.Errorf("%s: move %q", s.Name, said[1].Text)
		}
	}
}

// Right after the first voice is tight at two tempos, a new song of all voices
// stands where that one is tight, says which voices were not heard yet, and is not
// given up.
func TestNewSongWaitsForVoicesNotHeard(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	for _, bpm := range []float64{84, 120} {
		must.Do(t, w.desk.Bench.Aim(machine.Target{TempoBPM: bpm, Voice: "tub drum"}))
		for takes := 0; w.stage() != loop.Tight; takes++ {
			if takes > 8 {
				t.Fatal("not tight")
			}
			if by := w.desk.View().Steps; by != 0 {
				w.loop.Move(by, "")
			}
			command(t, w, "Play a take").Action()
		}
	}
	stands := w.desk.View().Setting
	command(t, w, "Show the set list").Action()
	command(t, w, "Add song").Action()
	overtype(w, 0, setlist.TempoColumn, "120").TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := w.desk.View().Songs[0]; len(got.Voices) > 0 || got.TempoBPM != 120 || got.Setting != stands {
		t.Errorf("%+v; tight at %+d", got, stands)
	}
	if got := w.songs.Said.Text; !strings.Contains(got, "elm block not heard yet, brass bar not heard yet. Not sure yet") || strings.Contains(got, "change a drop height or move pins") {
		t.Errorf("of the song it says %q", got)
	}
	next := w.desk.View().Next
	if next == nil || next.Target.Voice == "tub drum" || !w.songs.Aim.Visible() || !strings.Contains(w.songs.Next.Text, "("+next.Target.Voice+")") {
		t.Errorf("next: %q", w.songs.Next.Text)
	}
}

// Songs can be imported from where the takes are, and are then seen.
func TestImportShowsTheSetList(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	bring := command(t, w, "Import…")
	if bring.Disabled {
		t.Error("it is grey")
	}
	if bring.Action(); !w.songs.InSight || w.desk.Win.Canvas().Overlays().Top() == nil {
		t.Errorf("the set list is in sight: %v; a file is asked for: %v", w.songs.InSight, w.desk.Win.Canvas().Overlays().Top() != nil)
	}
}

func TestSetListGoesOutAndComesBack(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	path := filepath.Join(t.TempDir(), "songs.csv")
	w.songs.ExportSongs(path)
	if _, err := os.Stat(path); err != nil || !strings.Contains(w.desk.Notice.Text.Text, "songs.csv") {
		t.Errorf("%v, says %q", err, w.desk.Notice.Text.Text)
	}
	command(t, w, "Remove song").Action()
	w.songs.ImportSongs(path)
	_, buttons := dialogIn(t, w)
	test.Tap(buttons["Replace the set list"])
	if got := inRows(w); got != "Mill Waltz, Weir Reel" || !strings.Contains(w.desk.Notice.Text.Text, "Undo") {
		t.Errorf("came back as %s, says %q", got, w.desk.Notice.Text.Text)
	}
	write := func(text string) {
		must.Do(t, os.WriteFile(path, []byte(text), 0o600))
	}
	if w.songs.ImportSongs(path + "x"); w.desk.Win.Canvas().Overlays().Top() != nil || !strings.Contains(w.desk.Notice.Text.Text, path+"x") {
		t.Errorf("a missing file says %q", w.desk.Notice.Text.Text)
	}
	write("no songs")
	if w.songs.ImportSongs(path); w.desk.Win.Canvas().Overlays().Top() != nil || !strings.Contains(w.desk.Notice.Text.Text, "line 1") {
		t.Errorf("what is no set list says %q", w.desk.Notice.Text.Text)
	}
	write("Titel;BPM;Farbe\nx;1;rot\nHeron;96,5;blau\n")
	w.songs.ImportSongs(path)
	said, buttons := dialogIn(t, w)
	for _, want := range []string{"Heron · 96.5 BPM · all voices", "line 2", "left out: 1", "Farbe"} {
		if !strings.Contains(said, want) {
			t.Errorf("the preview lacks %q: %q", want, said)
		}
	}
	if inRows(w) != "Mill Waltz, Weir Reel" {
		t.Errorf("nothing was chosen yet, the list is %s", inRows(w))
	}
	test.Tap(buttons["Add to the set list"])
	if got := inRows(w); got != "Mill Waltz, Weir Reel, Heron" {
		t.Errorf("added to, it is %s", got)
	}
	command(t, w, "Undo").Action()
	if got := inRows(w); got != "Mill Waltz, Weir Reel" {
		t.Errorf("one undo leaves %s", got)
	}
}

func TestVoicesOfASong(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	for _, label := range []string{"Voices and importance…", "Import…", "Export…"} {
		command(t, w, label).Action()
		top := w.desk.Win.Canvas().Overlays().Top()
		if top == nil {
			t.Fatalf("%s opens nothing", label)
		}
		top.Hide()
		w.desk.Win.Canvas().Overlays().Remove(top)
	}
	m := w.desk.Machine()
	m.Target.Voice = "brass bar"
	if got := setlist.TargetOf(machine.Song{Name: "x", TempoBPM: 90}, m); got.Voice != "brass bar" {
		t.Errorf("a song of all voices is aimed at with %s", got.Voice)
	}
	if got := setlist.TargetOf(m.Songs[0], m); got.Voice != "tub drum" {
		t.Errorf("a song of the tub drum is aimed at with %s", got.Voice)
	}
}

// A low window shows the curve beside the set list, or keeps the list alone; a
// high one shows it below.
func TestCurveBelowTheSetList(t *testing.T) {
	w, wide := listed(t, song("Mill Waltz", 72)), float32(1280)
	for _, c := range []struct{ width, height, curveWidth, curveHeight float32 }{
		{800, 600, 800, 270}, {800, 200, 0, 0}, {1280, 300, wide * setlist.BesideShare, 300}, {1280, 400, wide * setlist.BesideShare, 400}, {800, 400, 800, 180}, {1280, 100, 0, 0}, {1280, 600, 1280, 270},
	} {
		list, curve := chart.New(w.desk.Jobs.Spawn), w.songs.Curve
		setlist.CurveBelow{}.Layout([]fyne.CanvasObject{list, curve}, fyne.NewSize(c.width, c.height))
		got := fyne.Size{}
		if curve.Visible() {
			got = curve.Size()
		}
		if got != fyne.NewSize(c.curveWidth, c.curveHeight) {
			t.Errorf("%g by %g: the curve is %v", c.width, c.height, got)
		}
		left := list.Size().Width + got.Width
		if got.Width == c.width || got.Width == 0 {
			left = c.width
			if list.Size().Height+got.Height != c.height {
				t.Errorf("%g by %g: list %v, curve %v", c.width, c.height, list.Size(), got)
			}
		}
		if left != c.width {
			t.Errorf("%g by %g: list %v beside curve %v", c.width, c.height, list.Size(), got)
		}
	}
}

// A card has as many pages as the paper of the preferences takes.
func TestCardIsOnThePaperPreferred(t *testing.T) {
	if testing.Short() {
		t.Skip("draws pages")
	}
	var songs []machine.Song
	for range 13 {
		songs = append(songs, song("Mill Waltz", 72))
	}
	w := listed(t, songs...)
	command(t, w, "Play a take").Action()
	for paper, want := range map[string]int{"A5": 2, "A4": 1, "Letter": 2} {
		w.askPreferences()
		inDialog[*kit.Choice](t, w)[3].SetSelected(paper)
		pressIn(t, w, "Keep")
		card := must.Get(w.export.Card()())(t)
		if pages := card.Pages(); pages != want {
			t.Errorf("13 songs on %s take %d pages", paper, pages)
		}
	}
}

// The buttons of an empty list do what they say.
func TestEmptySetListIsFilled(t *testing.T) {
	w := listed(t)
	buttons := map[string]*kit.Button{}
	for _, o := range test.LaidOutObjects(w.songs.Empty) {
		if b, ok := o.(*kit.Button); ok {
			buttons[b.Text] = b
		}
	}
	test.Tap(buttons["Import a list (CSV)…"])
	top := w.desk.Win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("importing opens nothing")
	}
	w.desk.Win.Canvas().Overlays().Remove(top)
	test.Tap(buttons["Add song"])
	if inList(w) != "Song 1" || w.songs.Empty.Visible() {
		t.Errorf("adding gives %q", inList(w))
	}
}

// Who asks for the next tempo is offered the song after the one aimed at.
func TestNextTempoIsTheNextSongs(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132.5))
	for _, want := range []machine.Target{{Song: "Mill Waltz", TempoBPM: 72, Voice: "tub drum"}, {Song: "Weir Reel", TempoBPM: 132.5, Voice: "tub drum"}} {
		w.loop.AskTarget()
		pressIn(t, w, "Set the tempo")
		if got := w.desk.Machine().Target; got != want {
			t.Errorf("aimed at %+v, want %+v", got, want)
		}
	}
	w.desk.Aim(machine.Target{TempoBPM: 84, Voice: "tub drum"})
	w.loop.AskTarget()
	tempo, name := inDialog[*kit.Field](t, w)[0], inDialog[*kit.Field](t, w)[1]
	for _, c := range []struct{ tempo, name, want string }{{"100", "", ""}, {"72", "", "Mill Waltz"}, {"110", "Reel", "Reel"}, {"72", "", "Reel"}} {
		tempo.SetText("")
		test.Type(tempo, c.tempo)
		test.Type(name, c.name)
		if name.Text != c.want {
			t.Errorf("%s BPM typed, and the song %q: it is of %q, want %q", c.tempo, c.name, name.Text, c.want)
		}
	}
	pressIn(t, w, "Cancel")
	w.desk.Aim(machine.Target{Song: "Weir Reel", TempoBPM: 132.5, Voice: "tub drum"})
	w.loop.AskTarget()
	if fields := inDialog[*kit.Field](t, w); fields[0].Text != "" || fields[1].Text != "" {
		t.Errorf("after the last song it offers %q at %q", fields[1].Text, fields[0].Text)
	}
}

// The tools never lie over each other, however narrow the window.
func TestToolsOfTheSetListHaveRoom(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	for _, c := range []struct {
		width float32
		lines int
	}{{1280, 1}, {900, 1}, {700, 2}, {1280, 1}} {
		w.songs.Root.Resize(fyne.NewSize(c.width, 500))
		w.songs.Root.Refresh() // as the window does once it knows how many rows there are
		tools := w.songs.Line
		lines := map[float32]bool{}
		for i, o := range tools.Objects {
			if isSpacer(o) {
				continue
			}
			lines[o.Position().Y] = true
			if end := o.Position().Add(o.Size()); end.X > c.width+0.5 || end.Y > tools.Size().Height+0.5 {
				t.Errorf("%g wide: tool %d ends at %v in %v", c.width, i, end, tools.Size())
			}
			for _, other := range tools.Objects[:i] {
				if !isSpacer(other) && overlap(o, other) {
					t.Errorf("%g wide: tool %d lies over another", c.width, i)
				}
			}
		}
		if len(lines) != c.lines {
			t.Errorf("%g wide: the tools stand in %d rows, want %d", c.width, len(lines), c.lines)
		}
	}
	if least := w.songs.Root.MinSize().Width; least > 1000 {
		t.Errorf("the set list is at least %g wide", least)
	}
}

// Curve and list are one choice: a click on a song's bar takes it in hand, and the
// song in hand is the one marked.
func TestCurvePicksTheSong(t *testing.T) {
	if testing.Short() {
		t.Skip("draws curves")
	}
	w := listedIn(t, drawnWindow(t), song("Mill Waltz", 72), song("Weir Reel", 132), song("Low Water", 96))
	command(t, w, "Play a take").Action()
	curve := w.songs.Curve
	for _, want := range []int{2, 0, 1} {
		at, ok := whereSong(curve, want)
		if !ok {
			t.Fatalf("song %d cannot be clicked", want)
		}
		w.songs.Focus(1, setlist.NameColumn)
		test.TapAt(curve, at)
		if _, typing := w.desk.Win.Canvas().Focused().(*table.Cell); typing || w.songs.At != want {
			t.Errorf("a click on song %d takes %d in hand; one types into its name: %v", want, w.songs.At, typing)
		}
		for i, s := range plotting.SetListCurveOf(w.desk.View(), w.songs.At).Songs {
			if s.Picked != (i == want) {
				t.Errorf("song %d in hand, song %d picked: %v", want, i, s.Picked)
			}
		}
	}
	var heard fyne.KeyName
	w.desk.Win.Canvas().SetOnTypedKey(func(e *fyne.KeyEvent) { heard = e.Name })
	if curve.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace}); heard != fyne.KeySpace {
		t.Error("the foot switch does nothing after a click on the curve")
	}
	test.TapAt(curve, fyne.NewPos(1, 1))
	if w.songs.At != 1 {
		t.Error("a click beside all songs takes one in hand")
	}
}

// whereSong finds a place on the curve that means a song.
func whereSong(curve *chart.View, song int) (at fyne.Position, ok bool) {
	size := curve.Picture.Image.Bounds().Size()
	for y := size.Y - 2; y > 0; y -= 6 { // they stand at the foot
		for x := 2; x < size.X; x += 12 {
			if curve.Shown.Near(size.X, size.Y, float64(curve.Scale), float64(x), float64(y)).Song == song {
				return fyne.NewPos(float32(x)/curve.Scale, float32(y)/curve.Scale), true
			}
		}
	}
	return at, false
}

// The song in hand is in sight, wherever it stands in a long list.
func TestSongInHandIsInSight(t *testing.T) {
	var songs []machine.Song
	for range 30 {
		songs = append(songs, song("Mill Waltz", 72))
	}
	w := listed(t, songs...)
	for _, at := range []int{29, 3, 17, 0} {
		w.songs.Focus(at, setlist.NameColumn)
		row, scroll := w.songs.Rows[at].Root, w.songs.Scroll
		top := row.Position().Y - scroll.Offset.Y
		if top < 0 || top+row.Size().Height > scroll.Size().Height+0.5 {
			t.Errorf("song %d lies at %g of %g", at, top, scroll.Size().Height)
		}
	}
}

// A click on what is said of a song takes it in hand, and all that is said can be read.
func TestClickOnWhatIsSaidOfASong(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	w.desk.Win.Resize(small)
	recordTub(t, w, 84, 0, 0)
	w.refresh()
	settle(w.desk.Win.Content())
	if f := w.desk.Win.Canvas().Focused(); f != nil {
		t.Errorf("in a list that comes into sight %T has the keyboard: the foot switch would type", f)
	}
	w.songs.Focus(0, setlist.NameColumn)
	test.Tap(w.songs.Rows[1].Said[3])
	if f := w.desk.Win.Canvas().Focused(); w.songs.At != 1 || f != nil {
		t.Errorf("song %d is in hand; %T has the keyboard", w.songs.At, f)
	}
	w.typed(&fyne.KeyEvent{Name: fyne.KeyUp})
	if w.songs.At != 0 {
		t.Error("the arrows do not go from song to song")
	}
	w.typed(&fyne.KeyEvent{Name: fyne.KeyDown})
	for _, said := range w.songs.Rows[1].Said {
		if at, least := said.Size(), said.MinSize(); at.Width < least.Width || at.Height < least.Height || said.Truncation != fyne.TextTruncateOff {
			t.Errorf("%q has %v and needs %v", said.Text, at, least)
		}
	}
}

// Set lists from the menu: one begins as a copy, its songs are the machine's, and which is
// in hand is shown and can be taken back.
func TestSetListsOfAMachine(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Low Water", 96), song("Weir Reel", 132))
	if w.songs.Lists.Visible() || !command(t, w, "Next set list").Disabled {
		t.Error("there is a choice of set lists before there are any")
	}
	command(t, w, "New set list…").Action()
	tap(t, w, "Low Water at 96 BPM")
	typeInto(t, w, "Quay", "Begin")
	if got := inRows(w); got != "Mill Waltz, Weir Reel" || w.songs.Lists.Selected != "Quay" || len(w.desk.View().Songs) != 2 {
		t.Fatalf("%q has %q", w.songs.Lists.Selected, got)
	}
	overtype(w, 0, setlist.TempoColumn, "75")
	w.songs.Leave()
	command(t, w, "Move song down").Action()
	command(t, w, "Next set list").Action()
	if got := inRows(w); got != "Mill Waltz, Low Water, Weir Reel" || w.songs.Rows[0].Cells[setlist.TempoColumn].Text != "75" || w.songs.Lists.SelectedIndex() != 0 {
		t.Errorf("%q has %q, the first at %s", w.songs.Lists.Selected, got, w.songs.Rows[0].Cells[setlist.TempoColumn].Text)
	}
	w.songs.Lists.SetSelected("Quay")
	if got := inRows(w); got != "Weir Reel, Mill Waltz" {
		t.Errorf("chosen, the list has %q", got)
	}
	command(t, w, "Name and songs of this set list…").Action()
	tap(t, w, "Low Water at 96 BPM")
	typeInto(t, w, "Quay, in May", "Keep")
	if got := inRows(w); got != "Weir Reel, Mill Waltz, Low Water" || w.songs.Lists.Selected != "Quay, in May" {
		t.Errorf("%q has %q", w.songs.Lists.Selected, got)
	}
	command(t, w, "Remove song").Action()
	if said := w.desk.Notice.Text.Text; !strings.HasPrefix(said, "Weir Reel stays among all songs.") || inRows(w) != "Mill Waltz, Low Water" {
		t.Errorf("says %q; it has %q", said, inRows(w))
	}
	command(t, w, "Remove this set list").Action()
	if got := inRows(w); got != "Mill Waltz, Low Water, Weir Reel" || w.songs.Lists.Visible() {
		t.Errorf("without the list there are %q", got)
	}
	w.undo()
	if got := inRows(w); got != "Mill Waltz, Low Water" || w.songs.Lists.Selected != "Quay, in May" {
		t.Errorf("undone, %q has %q", w.songs.Lists.Selected, got)
	}
}

// Who looks for a recording and then cancels has changed nothing, not even what is aimed at.
func TestCancelledChooserChangesNothing(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	for _, bpm := range []float64{84, 120} {
		w.desk.Aim(machine.Target{TempoBPM: bpm, Voice: "tub drum"})
		for takes := 0; w.stage() != loop.Tight; takes++ {
			if takes > 8 {
				t.Fatal("it does not become tight")
			}
			if by := w.desk.View().Steps; by != 0 {
				w.loop.Move(by, "")
			}
			command(t, w, "Play a take").Action()
		}
	}
	must.Do(t, w.desk.Bench.EditSongs(machine.AddSong(0, machine.Song{Name: "Weir Reel", TempoBPM: 120})))
	w.desk.Aim(machine.Target{Song: "Weir Reel", TempoBPM: 120, Voice: "tub drum"})
	command(t, w, "Play a take").Action()
	if v := w.desk.View(); v.Aim == v.Machine.Target {
		t.Fatal("no take of another voice is asked for")
	}
	before := w.desk.Machine().Target
	command(t, w, "Open a recording…").Action()
	top := w.desk.Win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("no recording is asked for")
	}
	w.desk.Win.Canvas().Overlays().Remove(top)
	if now := w.desk.Machine().Target; now != before {
		t.Errorf("the loop aims at %+v, not %+v", now, before)
	}
}

// A song removed from all songs is gone from its set lists too, and they are named.
func TestRemovalNamesItsSetLists(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	keepList(t, w, "Quay", 0, 1)
	keepList(t, w, "Barn", 0)
	w.songs.Lists.SetSelectedIndex(0)
	command(t, w, "Remove song").Action()
	if said := w.desk.Notice.Text.Text; !strings.HasPrefix(said, "Mill Waltz is removed from all songs, and so from these set lists: Quay, Barn.") || !strings.HasSuffix(said, "Undo takes that back.") {
		t.Errorf("says %q", said)
	}
	if w.undo(); inRows(w) != "Mill Waltz, Weir Reel" {
		t.Errorf("undone, there are %q", inRows(w))
	}
}

// A list that is called as the entry of all songs can be chosen, and so can that.
func TestSetListCalledAsAllSongs(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	keepList(t, w, "All songs", 0)
	for i, want := range []string{"Mill Waltz, Weir Reel", "Mill Waltz"} {
		if w.songs.Lists.SetSelectedIndex(i); inRows(w) != want {
			t.Errorf("entry %d has %q", i, inRows(w))
		}
	}
}

// A song that cannot be taken off is not said to stay.
func TestRemovalThatFails(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	keepList(t, w, "Quay", 0, 1)
	dir := w.desk.Bench.Dir()
	must.Do(t, os.Rename(dir, dir+"-gone"))
	command(t, w, "Remove song").Action()
	if said := w.desk.Notice.Text.Text; said == "" || strings.Contains(said, "stays among all songs") || inRows(w) != "Mill Waltz, Weir Reel" {
		t.Errorf("it has %q and says %q", inRows(w), said)
	}
}

// Before all songs are replaced it is said which set lists lose some; songs of which only
// the tempo is another stay in theirs.
func TestReplacingSaysWhatListsLose(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Low Water", 96), song("Weir Reel", 132))
	keepList(t, w, "Quay", 0, 1, 2)
	keepList(t, w, "Fair", 2)
	w.songs.Lists.SetSelectedIndex(0)
	path := filepath.Join(t.TempDir(), "new.csv")
	must.Do(t, os.WriteFile(path, []byte("song,bpm\nMill Waltz,73\nHeron,90\nWeir Reel,132.5\n"), 0o600))
	w.songs.ImportSongs(path)
	said, buttons := dialogIn(t, w)
	if !strings.Contains(said, "Replacing removes 1 song from the set list Quay.") || strings.Contains(said, "Fair") {
		t.Errorf("the preview says %q", said)
	}
	test.Tap(buttons["Replace the set list"])
	var lists []string
	for i := range 3 {
		w.songs.Lists.SetSelectedIndex(i)
		lists = append(lists, inRows(w))
	}
	if want := []string{"Mill Waltz, Heron, Weir Reel", "Mill Waltz, Weir Reel", "Weir Reel"}; !slices.Equal(lists, want) {
		t.Errorf("the lists are %q, want %q", lists, want)
	}
}

// keepList makes a set list of some of the machine's songs and takes it in hand.
func keepList(t *testing.T, w *Window, name string, songs ...int) {
	t.Helper()
	must.Do(t, w.desk.Bench.EditLists(func(m *machine.Machine) error { return m.KeepList("", name, songs) }))
	w.refresh()
}

// tap ticks what has a label in the dialog in sight.
func tap(t *testing.T, w *Window, label string) {
	t.Helper()
	for _, o := range test.LaidOutObjects(w.desk.Win.Canvas().Overlays().Top()) {
		if tick, ok := o.(*kit.Tick); ok && tick.Text == label {
			tick.SetChecked(!tick.Checked)
			return
		}
	}
	t.Fatalf("there is no %q to tick", label)
}
