package ui

import (
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// keep makes a session folder that is in the list, and returns it.
func keep(t *testing.T, name, machine string, change func(*session.Session)) string {
	t.Helper()
	s := session.Session{
		Name: name, Machine: session.Machine{Name: machine, Voices: []string{"drum", "bar"}}, ToleranceMS: 5,
		Target: session.Target{TempoBPM: 84, Voice: "drum"},
	}
	if change != nil {
		change(&s)
	}
	f, err := session.Create(session.FreeDir(session.DefaultRoot(), name), s)
	if err != nil {
		t.Fatal(err)
	}
	dir := f.Dir()
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if err := session.Remember(dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

func withSongs(names ...string) func(*session.Session) {
	return func(s *session.Session) {
		for i, name := range names {
			s.Songs = append(s.Songs, session.Song{Name: name, TempoBPM: 70 + float64(10*i)})
		}
	}
}

// found are the names in the list, in order.
func (w *Window) found() string {
	var all []string
	for _, r := range w.welcome.shelf.shown {
		all = append(all, w.welcome.shelf.name(r))
	}
	return strings.Join(all, ", ")
}

// rowOf returns the row in sight of a session.
func rowOf(t *testing.T, w *Window, name string) *sessionRow {
	t.Helper()
	for _, o := range test.LaidOutObjects(w.welcome.root) {
		if r, ok := o.(*sessionRow); ok && r.name.Text == name && r.Visible() {
			return r
		}
	}
	t.Fatalf("no row of %q; there are %s", name, w.found())
	return nil
}

// choose opens the menu of a session in the list and picks a command.
func choose(t *testing.T, w *Window, name, label string) {
	t.Helper()
	test.Tap(rowOf(t, w, name).more)
	menu, ok := w.win.Canvas().Focused().(*widget.PopUpMenu)
	if !ok {
		t.Fatalf("no menu of %s", name)
	}
	for _, o := range test.LaidOutObjects(w.win.Canvas().Overlays().Top()) {
		if i, ok := o.(fyne.Tappable); ok && strings.HasSuffix(fmt.Sprintf("%T", o), "menuItem") && says(o, label) {
			i.Tapped(nil)
			return
		}
	}
	menu.Dismiss()
	t.Fatalf("no command %q on %s", label, name)
}

// says reports whether a text lies within an object.
func says(o fyne.CanvasObject, label string) bool {
	for _, in := range test.LaidOutObjects(o) {
		if v := reflect.Indirect(reflect.ValueOf(in)).FieldByName("Text"); v.IsValid() && v.Kind() == reflect.String && v.String() == label {
			return true
		}
	}
	return false
}

func TestSessionsAreFound(t *testing.T) {
	w := testWindow(t)
	keep(t, "Spring tuning", "Barn machine", withSongs("Mill Waltz", "Weir Polka"))
	keep(t, "Autumn", "Müller's organ", withSongs("Mill Waltz"))
	gone := keep(t, "Old one", "Cart", nil)
	if err := os.RemoveAll(gone); err != nil {
		t.Fatal(err)
	}
	w.welcome.refresh()
	for find, want := range map[string]string{
		"": "Old one, Autumn, Spring tuning", "autumn": "Autumn", "BARN": "Spring tuning", "waltz": "Autumn, Spring tuning",
		"mill  spring": "Spring tuning", "müller": "Autumn", "polka": "Spring tuning", "cart": "Old one", "nothing such": "",
	} {
		w.welcome.search.SetText(find)
		if got := w.found(); got != want {
			t.Errorf("%q finds %q, want %q", find, got, want)
		}
		if nothing := w.welcome.heading.Text == "Nothing found"; nothing != (want == "") {
			t.Errorf("%q says %q", find, w.welcome.heading.Text)
		}
	}
}

// From the keyboard alone: what is typed searches, the arrows go into the list and
// back, Enter opens.
func TestSessionsFromTheKeyboard(t *testing.T) {
	w := testWindow(t)
	first := keep(t, "Spring tuning", "Barn machine", nil)
	keep(t, "Autumn", "Cart", nil)
	keep(t, "Summer", "Barn machine", nil)
	w.welcome.refresh()
	canvas := w.win.Canvas()
	key := func(name fyne.KeyName) { canvas.Focused().TypedKey(&fyne.KeyEvent{Name: name}) }
	w.typed(&fyne.KeyEvent{Name: fyne.KeyDown})
	if canvas.Focused() != w.welcome.list {
		t.Fatalf("down goes to %T", canvas.Focused())
	}
	key(fyne.KeyDown)
	key(fyne.KeyDown)
	if w.welcome.list.at != 2 {
		t.Errorf("the keyboard is on %d", w.welcome.list.at)
	}
	for _, r := range "barn" {
		canvas.Focused().TypedRune(r)
	}
	if canvas.Focused() != w.welcome.search || w.welcome.search.Text != "barn" || w.found() != "Summer, Spring tuning" || w.welcome.list.at != 0 {
		t.Fatalf("typing in the list searches for %q and finds %q, at %d", w.welcome.search.Text, w.found(), w.welcome.list.at)
	}
	key(fyne.KeyDown)
	key(fyne.KeyUp)
	if canvas.Focused() != w.welcome.search {
		t.Errorf("up from the first goes to %T", canvas.Focused())
	}
	key(fyne.KeyEscape)
	if w.welcome.search.Text != "" {
		t.Error("Escape leaves what is searched for")
	}
	w.typedRune('b')
	for _, r := range "arn" {
		canvas.Focused().TypedRune(r)
	}
	key(fyne.KeyDown)
	key(desktop.KeyMenu)
	if _, ok := canvas.Focused().(*widget.PopUpMenu); !ok {
		t.Fatalf("the menu key goes to %T", canvas.Focused())
	}
	key(fyne.KeyEscape)
	canvas.Focus(w.welcome.list)
	key(fyne.KeyDown)
	key(fyne.KeyReturn)
	if w.bench == nil || w.bench.Dir() != first {
		t.Fatalf("Enter opens %v", w.bench)
	}
}

func TestRowSaysHowFarASessionIs(t *testing.T) {
	w := testWindow(t)
	keep(t, "Empty", "Barn machine", nil)
	w.Practice()
	tune(t, w)
	w.aim(session.Target{TempoBPM: 120, Voice: "tub drum"})
	test.Tap(w.loop.turned)
	test.Tap(w.loop.playTake)
	if err := w.bench.Note("played in the yard\nwindy"); err != nil {
		t.Fatal(err)
	}
	s := w.session()
	tight, all := s.Tempos()
	w.closeSession()
	row := rowOf(t, w, s.Name)
	want := fmt.Sprintf("%d of %d tempos tight", tight, all)
	if all != 2 || !strings.HasPrefix(row.how.Text, want) || !strings.Contains(row.how.Text, "“played in the yard …”") {
		t.Errorf("the row says %q, want %q", row.how.Text, want)
	}
	if date := s.LastTake().Local().Format("2 Jan 2006, 15:04"); !strings.Contains(row.what.Text, s.Machine.Name) || !strings.Contains(row.what.Text, date) {
		t.Errorf("the row says %q, want %s", row.what.Text, date)
	}
	if empty := rowOf(t, w, "Empty"); !strings.Contains(empty.what.Text, "No take yet") || empty.how.Text != "no tempos yet" {
		t.Errorf("an empty session says %q, %q", empty.what.Text, empty.how.Text)
	}
	curve := w.welcome.shelf.known[w.welcome.shelf.recents[0].Dir].curve
	if len(curve.takes) != len(s.Takes) || len(curve.law) != thumbSamples || !curve.takes[len(curve.takes)-1].tight && tight == 2 {
		t.Errorf("thumbnail %+v of %d takes", curve, len(s.Takes))
	}
	drawn := row.picture.Image
	w.welcome.told()
	if rowOf(t, w, s.Name).picture.Image != drawn || len(w.welcome.thumbs.drawn) < 2 {
		t.Error("a thumbnail is drawn anew without need")
	}
}

// A damaged session says so in its row.
func TestRowOfADamagedSession(t *testing.T) {
	w := testWindow(t)
	dir := keep(t, "Torn", "Cart", nil)
	if err := os.WriteFile(filepath.Join(dir, "session.json"), []byte("{"), 0o600); err != nil {
		t.Fatal(err)
	}
	w.welcome.refresh()
	if row := rowOf(t, w, "Torn"); !strings.Contains(row.how.Text, "is damaged") {
		t.Errorf("it says %q", row.how.Text)
	}
}

// The thumbnail's data: all takes and the law lie within its edges, the tolerance too;
// a filled disc is drawn where a take is tight, and nothing but a dashed line without
// takes.
func TestThumbnail(t *testing.T) {
	take := func(id int, bpm, lag float64, o calib.Outcome) session.Take {
		pairs := make([]calib.Pair, 9)
		for i := range pairs {
			pairs[i] = calib.Pair{ReferenceS: float64(i), LagMS: lag, Used: true}
		}
		return session.Take{ID: id, Target: session.Target{TempoBPM: bpm, Voice: "bar"}, Advice: calib.Advice{Outcome: o, LagMS: lag},
			Reading: calib.Reading{TempoBPM: bpm, LagMS: lag, LagCI95MS: [2]float64{lag - 1, lag + 1}, JitterMS: 1, ReferencePeriodMS: 60000 / bpm, Pairs: pairs}}
	}
	s := session.Session{
		Machine:     session.Machine{Voices: []string{"drum", "bar"}, Plate: calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.5}},
		ToleranceMS: 5, Target: session.Target{TempoBPM: 84, Voice: "drum"},
		Takes: []session.Take{take(1, 84, 120, calib.Move), take(2, 120, 2, calib.Converged)},
	}
	got := thumbOf(s)
	if len(got.takes) != 2 || got.takes[0].tight || !got.takes[1].tight {
		t.Fatalf("takes %+v", got.takes)
	}
	inside := func(bpm, lag float64) bool {
		return bpm >= got.tempos[0] && bpm <= got.tempos[1] && lag > got.lags[0] && lag < got.lags[1]
	}
	for _, p := range got.law {
		if !inside(p.X, p.Y) {
			t.Errorf("the law at %v lies outside", p)
		}
	}
	if !inside(84, 120) || !inside(120, 2) || !inside(84, 5) || !inside(84, -5) || len(got.law) != thumbSamples {
		t.Errorf("edges %v BPM, %v ms, law of %d", got.tempos, got.lags, len(got.law))
	}
	test.NewTempApp(t)
	colours := thumbInkOf(fyne.CurrentApp().Settings().Theme())
	img := got.draw(colours, thumbWide, thumbHigh, 1)
	x := int(math.Round(thumbWide * (120 - got.tempos[0]) / (got.tempos[1] - got.tempos[0])))
	y := int(math.Round(thumbHigh * (got.lags[1] - 2) / (got.lags[1] - got.lags[0])))
	if r, g, b, _ := img.At(x, y).RGBA(); uint8(r>>8) != colours.tight.R || uint8(g>>8) != colours.tight.G || uint8(b>>8) != colours.tight.B {
		t.Errorf("at the tight take's place lies %v", img.At(x, y))
	}
	if empty := thumbOf(session.Session{Machine: s.Machine, ToleranceMS: 5, Target: s.Target}); len(empty.takes) != 0 || inked(empty.draw(colours, thumbWide, thumbHigh, 1)) > 200 {
		t.Errorf("without takes: %+v", empty)
	}
	for _, size := range []image.Point{{}, {1, 1}, {2, 900}} {
		got.draw(colours, size.X, size.Y, 1)
	}
}

// inked counts the pixels that differ from the first.
func inked(img image.Image) (n int) {
	r := img.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if img.At(x, y) != img.At(0, 0) {
				n++
			}
		}
	}
	return n
}

// typeInto fills the first entry of the dialog in sight and confirms.
func typeInto(t *testing.T, w *Window, words, confirm string) {
	t.Helper()
	e, ok := w.win.Canvas().Focused().(*widget.Entry)
	if !ok {
		t.Fatalf("the keyboard is on %T", w.win.Canvas().Focused())
	}
	e.SetText(words)
	_, buttons := dialogIn(t, w)
	test.Tap(buttons[confirm])
}

// Rename and notes work on the open session, where Undo takes them back, and on one of
// the list.
func TestRenameAndNotes(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	dir, before := w.bench.Dir(), w.session()
	do := func(label string) {
		t.Helper()
		for _, i := range command(t, w, "This session").ChildMenu.Items {
			if i.Label == label && !i.Disabled {
				i.Action()
				return
			}
		}
		t.Fatalf("no command %q", label)
	}
	do("Rename…")
	typeInto(t, w, "Yard", "Rename")
	if w.session().Name != "Yard" || !strings.HasPrefix(w.win.Title(), "Yard") || w.bench.Dir() != dir || session.Recents()[0].Name != "Yard" {
		t.Errorf("renamed to %q, title %q, in the list %q", w.session().Name, w.win.Title(), session.Recents()[0].Name)
	}
	do("Notes…")
	typeInto(t, w, "windy", "Keep")
	command(t, w, "Notes on this take…").Action()
	typeInto(t, w, "crank stiff\nsecond half", "Keep")
	if s := w.session(); s.Notes != "windy" || s.Takes[0].Notes != "crank stiff\nsecond half" {
		t.Errorf("notes %q and %q", s.Notes, s.Takes[0].Notes)
	}
	if said, row := w.take.notes, w.record.takeRow(0); !said.Visible() || said.Text != "“crank stiff …”" || !strings.Contains(row, "“crank stiff …”") {
		t.Errorf("the take says %q, its row %q", said.Text, row)
	}
	for range 3 {
		command(t, w, "Undo").Action()
	}
	if !reflect.DeepEqual(w.session(), before) || w.take.notes.Visible() || !strings.HasPrefix(w.win.Title(), before.Name) {
		t.Errorf("undone it is %q with notes %q, title %q", w.session().Name, w.session().Notes, w.win.Title())
	}
	w.closeSession()
	choose(t, w, before.Name, "Rename…")
	typeInto(t, w, "Barn", "Rename")
	choose(t, w, "Barn", "Notes…")
	typeInto(t, w, "of the list", "Keep")
	if s, err := session.Load(dir); err != nil || s.Name != "Barn" || s.Notes != "of the list" || w.bench != nil {
		t.Errorf("kept %q, %q, %v", s.Name, s.Notes, err)
	}
}

func TestDuplicateExportImport(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	want := w.session()
	w.closeSession()
	choose(t, w, want.Name, "Duplicate")
	if w.found() != want.Name+" copy, "+want.Name {
		t.Errorf("the list has %s; notice %q", w.found(), w.notice.text.Text)
	}
	dir := w.welcome.shelf.shown[1].Dir
	path := filepath.Join(t.TempDir(), "sent")
	w.exportZip(dir, path)
	if said := w.notice.text.Text; !strings.Contains(said, "Exported to "+path+".zip.") {
		t.Fatalf("exporting says %q", said)
	}
	w.dropped([]fyne.URI{storage.NewFileURI(path + ".zip")})
	if w.bench == nil || w.bench.Dir() == dir || !reflect.DeepEqual(w.session(), want) || w.showing != 1 {
		t.Fatalf("imported %v, notice %q", w.bench, w.notice.text.Text)
	}
	w.closeSession()
	bad := filepath.Join(t.TempDir(), "words.zip")
	if err := os.WriteFile(bad, []byte("words"), 0o600); err != nil {
		t.Fatal(err)
	}
	w.importZip(bad)
	if said := w.notice.text.Text; w.bench != nil || !strings.Contains(said, "words.zip was not imported: it is no whole zip") {
		t.Errorf("a bad zip says %q", said)
	}
	choose(t, w, want.Name+" copy", "Take off this list")
	if strings.Contains(w.found(), "copy") {
		t.Errorf("the list has %s", w.found())
	}
}

// A session that another window has open says so, whatever is asked of it.
func TestSessionOpenElsewhere(t *testing.T) {
	w := testWindow(t)
	dir := keep(t, "Spring tuning", "Barn machine", nil)
	w.welcome.refresh()
	other, err := bench.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	for _, label := range []string{"Rename…", "Notes…", "Duplicate", "Export as one zip…"} {
		w.notice.clear()
		choose(t, w, "Spring tuning", label)
		if said := w.notice.text.Text; !strings.Contains(said, "open in another Lagwright window") || w.win.Canvas().Overlays().Top() != nil {
			t.Errorf("%s says %q", label, said)
		}
	}
}
