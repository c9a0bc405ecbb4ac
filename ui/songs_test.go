package ui

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// listed opens the set list of a practice session with songs for the tub drum.
func listed(t *testing.T, songs ...session.Song) *Window {
	t.Helper()
	return listedIn(t, testWindow(t), songs...)
}

func listedIn(t *testing.T, w *Window, songs ...session.Song) *Window {
	t.Helper()
	w.Practice()
	if err := w.bench.EditSongs(session.ReplaceSongs(songs)); err != nil {
		t.Fatal(err)
	}
	command(t, w, "Show the set list").Action()
	return w
}

func song(name string, bpm float64) session.Song {
	return session.Song{Name: name, TempoBPM: bpm, Voices: []string{"tub drum"}}
}

// inList returns the names of the songs as the session has them.
func inList(w *Window) string {
	var names []string
	for _, s := range w.session().Songs {
		names = append(names, s.Name)
	}
	return strings.Join(names, ", ")
}

// inRows returns the names as the rows show them.
func inRows(w *Window) string {
	var names []string
	for i := range w.songs.table.Objects {
		names = append(names, w.songs.rows[i].cells[nameColumn].Text)
	}
	return strings.Join(names, ", ")
}

// overtype replaces what stands in a cell, as somebody does who clicks into it.
func overtype(w *Window, row, column int, text string) *cell {
	c := w.songs.rows[row].cells[column]
	w.win.Canvas().Focus(c)
	c.SetText("")
	test.Type(c, text)
	return c
}

func TestSetListIsEditedInPlace(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	overtype(w, 0, nameColumn, "Mill Race")
	w.win.Canvas().Focus(w.songs.rows[1].cells[tempoColumn]) // leaving a cell keeps it
	if got := inList(w); got != "Mill Race, Weir Reel" || w.songs.at != 1 {
		t.Errorf("songs %s, in hand %d", got, w.songs.at)
	}
	c := overtype(w, 1, tempoColumn, "128,5")
	c.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := w.session().Songs[1]; got.TempoBPM != 128.5 || got.Voices[0] != "tub drum" || c.Text != "128.5" {
		t.Errorf("tempo %+v, shown as %q", got, c.Text)
	}
	for _, bad := range []string{"fast", "1000", ""} {
		overtype(w, 1, tempoColumn, bad).TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
		if w.session().Songs[1].TempoBPM != 128.5 || c.Text != "128.5" || !strings.Contains(w.notice.text.Text, "BPM") {
			t.Errorf("%q is shown as %q and says %q", bad, c.Text, w.notice.text.Text)
		}
	}
	overtype(w, 1, nameColumn, "Half ty")
	w.refresh() // a job that ends meanwhile
	if got := w.songs.rows[1].cells[nameColumn].Text; got != "Half ty" {
		t.Errorf("what was being typed became %q", got)
	}
	w.put(nil)
	if r := session.Recents(); len(r) > 0 {
		if s, err := session.Load(r[0].Dir); err != nil || s.Songs[1].Name != "Half ty" {
			t.Errorf("closing lost what was typed: %+v, %v", s.Songs, err)
		}
	}
}

func TestSetListByKeyboard(t *testing.T) {
	w := listed(t)
	if !w.songs.empty.Visible() || w.songs.list.Visible() {
		t.Error("an empty list does not say how to fill it")
	}
	for _, name := range []string{"a", "b", "c"} {
		command(t, w, "Add song").Action()
		typed, ok := w.win.Canvas().Focused().(*cell)
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
	do("Play it earlier", "a, c, b") // what was being typed is kept first
	do("Play it earlier", "c, a, b")
	do("Play it later", "a, c, b")
	w.win.Canvas().Focused().(*cell).TypedKey(&fyne.KeyEvent{Name: fyne.KeyDown})
	do("Remove song", "a, c")
	do("Undo", "a, c, b")
	do("Undo", "c, a, b")
	do("Redo", "a, c, b")
	do("Redo", "a, c")
	do("Remove song", "a")
	if w.songs.empty.Visible() || !w.songs.list.Visible() {
		t.Error("a list with a song counts as empty")
	}
	do("Remove song", "")
	if !w.songs.empty.Visible() {
		t.Error("a list made empty does not say how to fill it")
	}
	if !command(t, w, "Remove song").Disabled || !command(t, w, "Play it later").Disabled {
		t.Error("commands on a song are offered without one")
	}
	command(t, w, "Back to the takes").Action()
	if w.listing || !command(t, w, "Add song").Disabled {
		t.Error("commands on the set list are offered out of its sight")
	}
	if _, ok := w.win.Canvas().Focused().(*cell); ok {
		t.Error("the keyboard stays on a list that is out of sight")
	}
}

func TestSetListSortedByTempo(t *testing.T) {
	w := listed(t, song("fast", 150), song("slow", 60), song("middle", 100))
	test.Tap(w.songs.byTempo)
	if got := inRows(w); got != "slow, middle, fast" || inList(w) != "fast, slow, middle" {
		t.Errorf("sorted %s, playing order %s", got, inList(w))
	}
	if !command(t, w, "Play it later").Disabled || !w.songs.places[0].Disabled() {
		t.Error("places are moved where they are not seen")
	}
	overtype(w, 0, tempoColumn, "200").TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := inRows(w); got != "middle, fast, slow" || w.session().Songs[1].TempoBPM != 200 {
		t.Errorf("after a change %s", got)
	}
	w.songs.focus(2, nameColumn)
	command(t, w, "Aim at this song").Action()
	if got := w.session().Target; got != (session.Target{Song: "middle", TempoBPM: 100, Voice: "tub drum"}) {
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
	if got := w.songs.rows[0].said; got[0].Text != "" || got[4].Text != "Play a take first." {
		t.Errorf("before any take the list says %q, %q", got[0].Text, got[4].Text)
	}
	for takes := 0; w.view().Next != nil; takes++ {
		if takes > 8 {
			t.Fatalf("still: %s", w.songs.next.text)
		}
		next := *w.view().Next
		if !strings.Contains(w.songs.next.text, next.Do) || !strings.Contains(w.songs.next.text, next.Why) {
			t.Errorf("next take %q", w.songs.next.text)
		}
		test.Tap(w.songs.aim)
		if w.session().Target != next.Target {
			t.Fatalf("aimed at %+v, asked for %+v", w.session().Target, next.Target)
		}
		if next.Move != 0 {
			w.turned(next.Move, "")
		}
		command(t, w, "Play a take").Action()
	}
	if w.songs.next.text != "No more takes needed." || w.songs.aim.Visible() {
		t.Errorf("at the end %q", w.songs.next.text)
	}
	plan := w.view()
	if plan.Err != nil {
		t.Fatal(plan.Err)
	}
	if bars := w.songs.curveOf(w.view()).Songs; len(bars) != len(plan.Songs) {
		t.Fatalf("%d songs on the curve, want %d", len(bars), len(plan.Songs))
	}
	saved := filepath.Join(t.TempDir(), "card.csv")
	w.writeFigure(saved, w.cardFigure)
	if card, err := os.ReadFile(saved); err != nil || strings.Count(string(card), "\n") != len(plan.Songs)+1 || strings.Count(string(card), ",true,") != len(plan.Songs) {
		t.Errorf("the card saved from the window: %v\n%s", err, card)
	}
	for i, s := range plan.Songs {
		said := w.songs.rows[i].said
		if said[0].Text == "" || !strings.HasPrefix(said[4].Text, "Verified") || !strings.Contains(said[2].Text, " to ") || !strings.Contains(said[3].Text, "%") {
			t.Errorf("%s: %q %q %q %q %q", s.Name, said[0].Text, said[1].Text, said[2].Text, said[3].Text, said[4].Text)
		}
		w.songs.focus(i, tempoColumn)
		for j, bar := range w.songs.curveOf(w.view()).Songs {
			if one := plan.Songs[j]; bar.Picked != (j == i) || bar.Name != one.Name || bar.Setting != one.Setting || bar.WindowBPM != [2]float64{one.LowBPM, one.HighBPM} {
				t.Errorf("song %d in hand, the curve has %+v of %+v", i, bar, one)
			}
		}
		if got := w.songs.said.text; !strings.HasPrefix(got, s.Name) || !strings.HasSuffix(got, inFont(s.Why)) {
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
		if err := w.bench.Aim(session.Target{TempoBPM: bpm, Voice: "tub drum"}); err != nil {
			t.Fatal(err)
		}
		for takes := 0; w.stage() != loop.Tight; takes++ {
			if takes > 8 {
				t.Fatal("not tight")
			}
			if by := w.view().Steps; by != 0 {
				w.turned(by, "")
			}
			command(t, w, "Play a take").Action()
		}
	}
	stands := w.view().Setting
	command(t, w, "Show the set list").Action()
	command(t, w, "Add song").Action()
	overtype(w, 0, tempoColumn, "120").TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if got := w.view().Songs[0]; len(got.Voices) > 0 || got.TempoBPM != 120 || got.Setting != stands {
		t.Errorf("%+v; tight at %+d", got, stands)
	}
	if got := w.songs.said.text; !strings.Contains(got, "elm block not heard yet, brass bar not heard yet. Not sure yet") || strings.Contains(got, "have to move") {
		t.Errorf("of the song it says %q", got)
	}
	if got := w.songs.rows[0].said[3].Text; !strings.HasSuffix(got, "tub drum") {
		t.Errorf("expected %q", got)
	}
	next := w.view().Next
	if next == nil || next.Target.Voice == "tub drum" || !w.songs.aim.Visible() || !strings.Contains(w.songs.next.text, next.Do) {
		t.Errorf("next: %q", w.songs.next.text)
	}
	if got := nextWords(&loop.View{Songs: w.view().Songs, CureOpen: "Play it faster too."}); got != "Play it faster too." {
		t.Errorf("untold: %q", got)
	}
}

func TestSetListGoesOutAndComesBack(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72), song("Weir Reel", 132))
	path := filepath.Join(t.TempDir(), "songs")
	w.exportSongs(path)
	if _, err := os.Stat(path + ".csv"); err != nil || !strings.Contains(w.notice.text.Text, "songs.csv") {
		t.Errorf("%v, says %q", err, w.notice.text.Text)
	}
	command(t, w, "Remove song").Action()
	w.importSongs(path + ".csv")
	if got := inRows(w); got != "Mill Waltz, Weir Reel" || !strings.Contains(w.notice.text.Text, "Undo") {
		t.Errorf("came back as %s, says %q", got, w.notice.text.Text)
	}
	if err := os.WriteFile(path, []byte("song,tempo_bpm\nx,1\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if w.importSongs(path); inRows(w) != "Mill Waltz, Weir Reel" || !strings.Contains(w.notice.text.Text, "line 2") {
		t.Errorf("a bad file gives %s, says %q", inRows(w), w.notice.text.Text)
	}
}

func TestVoicesOfASong(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	for _, label := range []string{"Voices and importance…", "Import…", "Export…"} {
		command(t, w, label).Action()
		top := w.win.Canvas().Overlays().Top()
		if top == nil {
			t.Fatalf("%s opens nothing", label)
		}
		top.Hide()
		w.win.Canvas().Overlays().Remove(top)
	}
	s := w.session()
	s.Target.Voice = "brass bar"
	if got := targetOf(session.Song{Name: "x", TempoBPM: 90}, s); got.Voice != "brass bar" {
		t.Errorf("a song of all voices is aimed at with %s", got.Voice)
	}
	if got := targetOf(s.Songs[0], s); got.Voice != "tub drum" {
		t.Errorf("a song of the tub drum is aimed at with %s", got.Voice)
	}
}

func TestSongWords(t *testing.T) {
	p := loop.Song{Setting: -3, Move: 4, LowBPM: 70.04, HighBPM: 74.36, Chance: 0.987, Why: "Turn −3.",
		Parts: []loop.Rest{{Voice: "drum", LagMS: 1, HalfMS: 0.5}, {Voice: "bar", LagMS: -2.5, HalfMS: 0.4}}}
	if got, want := songWords(p, false), [5]string{"–3", "+4", "70.0 to 74.4", "2.5 ms early ± 0.4 (99 %), bar", "Turn –3."}; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	p.Name = "Weir Reel"
	if got, want := partWords(p), "Weir Reel at –3: drum 1.0 ms late ± 0.5, bar 2.5 ms early ± 0.4. Turn –3."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	inf := math.Inf(1)
	for want, window := range map[string][2]float64{"no tempo": {0, 0}, "any tempo": {0, inf}, "from 60.0": {60, inf}, "up to 60.0": {0, 60}} {
		if got := windowWords(loop.Song{LowBPM: window[0], HighBPM: window[1]}); got != want {
			t.Errorf("%v is %q, want %q", window, got, want)
		}
	}
	if got := nextWords(&loop.View{Err: errors.New("there is no plan")}); got != "There is no plan." {
		t.Errorf("%q", got)
	}
}

// A low window shows the curve beside the set list, or keeps the list alone; a
// high one shows it below.
func TestCurveBelowTheSetList(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	for _, c := range []struct{ width, height, curveWidth, curveHeight float32 }{
		{800, 600, 800, 270}, {800, 200, 0, 0}, {1280, 300, 480, 300}, {1280, 400, 480, 400}, {800, 400, 800, 180}, {1280, 100, 0, 0}, {1280, 600, 1280, 270},
	} {
		list, curve := newFigureView(w.spawn), w.songs.curve
		curveBelow{}.Layout([]fyne.CanvasObject{list, curve}, fyne.NewSize(c.width, c.height))
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

// Every page of a card is named once it is saved, and what could be taken for one.
func TestSavedCardNamesItsPages(t *testing.T) {
	var songs []session.Song
	for range 13 {
		songs = append(songs, song("Mill Waltz", 72))
	}
	w := listed(t, songs...)
	command(t, w, "Play a take").Action()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "card-3.png"), []byte("somebody's"), 0o600); err != nil {
		t.Fatal(err)
	}
	w.writeFigure(filepath.Join(dir, "card.png"), w.cardFigure)
	if got := w.notice.text.Text; got != "Saved 2 pages in "+dir+": card.png, card-2.png. Not pages of this figure, and left there: card-3.png." {
		t.Errorf("says %q", got)
	}
	for _, item := range w.paperMenu().ChildMenu.Items {
		item.Action()
		card, err := w.cardFigure()
		if err != nil {
			t.Fatal(err)
		}
		if pages := len(card.Pages()); pages != map[string]int{"A5": 2, "A4": 1, "Letter": 2}[item.Label] {
			t.Errorf("13 songs on %s take %d pages", item.Label, pages)
		}
		for _, again := range w.paperMenu().ChildMenu.Items {
			if again.Checked != (again.Label == item.Label) {
				t.Errorf("%s chosen, %s is marked: %v", item.Label, again.Label, again.Checked)
			}
		}
	}
	if got := savedWords([]string{"/a/card.pdf"}, nil); got != "Saved /a/card.pdf." {
		t.Errorf("of one file %q", got)
	}
}

// The buttons of an empty list do what they say.
func TestEmptySetListIsFilled(t *testing.T) {
	w := listed(t)
	buttons := map[string]*button{}
	for _, o := range test.LaidOutObjects(w.songs.empty) {
		if b, ok := o.(*button); ok {
			buttons[b.Text] = b
		}
	}
	test.Tap(buttons["Import a list (CSV)…"])
	top := w.win.Canvas().Overlays().Top()
	if top == nil {
		t.Fatal("importing opens nothing")
	}
	w.win.Canvas().Overlays().Remove(top)
	test.Tap(buttons["Add a song"])
	if inList(w) != "Song 1" || w.songs.empty.Visible() {
		t.Errorf("adding gives %q", inList(w))
	}
}

// The tools never lie over each other, however narrow the window.
func TestToolsOfTheSetListHaveRoom(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	for _, c := range []struct {
		width float32
		lines int
	}{{1280, 1}, {1000, 1}, {900, 2}, {1280, 1}} {
		w.songs.root.Resize(fyne.NewSize(c.width, 500))
		w.songs.root.Refresh() // as the window does once it knows how many rows there are
		tools := w.songs.line
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
	if least := w.songs.root.MinSize().Width; least > 1000 {
		t.Errorf("the set list is at least %g wide", least)
	}
}

// Curve and list are one choice: a click on a song's bar takes it in hand, and the
// song in hand is the one marked.
func TestCurvePicksTheSong(t *testing.T) {
	w := listedIn(t, drawnWindow(t), song("Mill Waltz", 72), song("Weir Reel", 132), song("Low Water", 96))
	command(t, w, "Play a take").Action()
	curve := w.songs.curve
	for _, want := range []int{2, 0, 1} {
		at, ok := whereSong(curve, want)
		if !ok {
			t.Fatalf("song %d cannot be clicked", want)
		}
		test.TapAt(curve, at)
		if c, ok := w.win.Canvas().Focused().(*cell); !ok || c != w.songs.rows[want].cells[nameColumn] || w.songs.at != want {
			t.Errorf("a click on song %d takes %d in hand", want, w.songs.at)
		}
		for i, s := range w.songs.curveOf(w.view()).Songs {
			if s.Picked != (i == want) {
				t.Errorf("song %d in hand, song %d picked: %v", want, i, s.Picked)
			}
		}
	}
	test.TapAt(curve, fyne.NewPos(1, 1))
	if w.songs.at != 1 {
		t.Error("a click beside all songs takes one in hand")
	}
}

// whereSong finds a place on the curve that means a song.
func whereSong(curve *figureView, song int) (at fyne.Position, ok bool) {
	size := curve.picture.Image.Bounds().Size()
	for y := size.Y - 2; y > 0; y -= 6 { // they stand at the foot
		for x := 2; x < size.X; x += 12 {
			if got, near := curve.shown.SongAt(size.X, size.Y, float64(curve.scale), float64(x), float64(y)); near && got == song {
				return fyne.NewPos(float32(x)/curve.scale, float32(y)/curve.scale), true
			}
		}
	}
	return at, false
}

// The song in hand is in sight, wherever it stands in a long list.
func TestSongInHandIsInSight(t *testing.T) {
	var songs []session.Song
	for range 30 {
		songs = append(songs, song("Mill Waltz", 72))
	}
	w := listed(t, songs...)
	for _, at := range []int{29, 3, 17, 0} {
		w.songs.focus(at, nameColumn)
		row, scroll := w.songs.rows[at].root, w.songs.scroll
		top := row.Position().Y - scroll.Offset.Y
		if top < 0 || top+row.Size().Height > scroll.Size().Height+0.5 {
			t.Errorf("song %d lies at %g of %g", at, top, scroll.Size().Height)
		}
	}
}
