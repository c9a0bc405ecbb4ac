package ui

import (
	"fmt"
	"image"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/machine"
	"lagwright/internal/must"
	"lagwright/plotting"
	"lagwright/ui/look"
	"lagwright/ui/shelf"
)

// keep makes a machine folder that is in the list, and returns it.
func keep(t *testing.T, name string, change func(*machine.Machine)) string {
	t.Helper()
	m := machine.Machine{
		Build: machine.Build{Name: name, Voices: []string{"drum", "bar"}}, ToleranceMS: 5,
		Target: machine.Target{TempoBPM: 84, Voice: "drum"},
	}
	if change != nil {
		change(&m)
	}
	f := must.Get(machine.Create(machine.FreeDir(machine.DefaultRoot(), name), m))(t)
	dir := f.Dir()
	must.Do(t, f.Close())
	later := time.Now().Add(time.Duration(len(machine.Shelf(machine.DefaultRoot())))*time.Second - time.Hour) // than those before: some disks tell hundredths apart
	must.Do(t, os.Chtimes(filepath.Join(dir, "machine.json"), later, later))
	return dir
}

func withSongs(names ...string) func(*machine.Machine) {
	return func(m *machine.Machine) {
		for i, name := range names {
			m.Songs = append(m.Songs, machine.Song{Name: name, TempoBPM: 70 + float64(10*i)})
		}
	}
}

// found are the names in the list, in order.
func (w *Window) found() string {
	var all []string
	for _, dir := range w.welcome.Shelf.Shown {
		all = append(all, w.welcome.Shelf.Name(dir))
	}
	return strings.Join(all, ", ")
}

// rowOf returns the row in sight of a machine.
func rowOf(t *testing.T, w *Window, name string) *shelf.MachineRow {
	t.Helper()
	for _, o := range test.LaidOutObjects(w.welcome.Root) {
		if r, ok := o.(*shelf.MachineRow); ok && r.Name.Text == name && r.Visible() {
			return r
		}
	}
	t.Fatalf("no row of %q; there are %s", name, w.found())
	return nil
}

func TestMachinesAreFound(t *testing.T) {
	w := testWindow(t)
	keep(t, "Barn machine", withSongs("Mill Waltz", "Weir Polka"))
	keep(t, "Müller's organ", withSongs("Mill Waltz"))
	keep(t, "Cart", nil)
	w.welcome.Refresh()
	for find, want := range map[string]string{
		"": "Cart, Müller's organ, Barn machine", "organ": "Müller's organ", "BARN": "Barn machine", "waltz": "Müller's organ, Barn machine",
		"mill  barn": "Barn machine", "müller": "Müller's organ", "drum polka": "Barn machine", "cart": "Cart", "nothing such": "",
	} {
		w.welcome.Search.SetText(find)
		if got := w.found(); got != want {
			t.Errorf("%q finds %q, want %q", find, got, want)
		}
		if nothing := w.welcome.Heading.Text == "Nothing found"; nothing != (want == "") {
			t.Errorf("%q says %q", find, w.welcome.Heading.Text)
		}
	}
}

// From the keyboard alone: what is typed searches, the arrows go into the list and
// back, Enter opens.
func TestMachinesFromTheKeyboard(t *testing.T) {
	w := testWindow(t)
	first := keep(t, "Barn machine", nil)
	keep(t, "Cart", nil)
	keep(t, "Long barn", nil)
	w.welcome.Refresh()
	canvas := w.desk.Win.Canvas()
	key := func(name fyne.KeyName) { canvas.Focused().TypedKey(&fyne.KeyEvent{Name: name}) }
	w.typed(&fyne.KeyEvent{Name: fyne.KeyDown})
	if canvas.Focused() != w.welcome.List {
		t.Fatalf("down goes to %T", canvas.Focused())
	}
	key(fyne.KeyDown)
	key(fyne.KeyDown)
	if w.welcome.List.At != 2 {
		t.Errorf("the keyboard is on %d", w.welcome.List.At)
	}
	for _, r := range "barn" {
		canvas.Focused().TypedRune(r)
	}
	if canvas.Focused() != w.welcome.Search || w.welcome.Search.Text != "barn" || w.found() != "Long barn, Barn machine" || w.welcome.List.At != 0 {
		t.Fatalf("typing in the list searches for %q and finds %q, at %d", w.welcome.Search.Text, w.found(), w.welcome.List.At)
	}
	key(fyne.KeyDown)
	key(fyne.KeyUp)
	if canvas.Focused() != w.welcome.Search {
		t.Errorf("up from the first goes to %T", canvas.Focused())
	}
	key(fyne.KeyEscape)
	if w.welcome.Search.Text != "" {
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
	canvas.Focus(w.welcome.List)
	key(fyne.KeyDown)
	key(fyne.KeyReturn)
	if w.desk.Bench == nil || w.desk.Bench.Dir() != first {
		t.Fatalf("Enter opens %v", w.desk.Bench)
	}
}

func TestRowSaysHowFarAMachineIs(t *testing.T) {
	w := testWindow(t)
	keep(t, "Empty", nil)
	w.Practice()
	tuneVoice(t, w)
	w.desk.Aim(machine.Target{TempoBPM: 120, Voice: "tub drum"})
	test.Tap(w.loop.Turned)
	test.Tap(w.loop.PlayTake)
	must.Do(t, w.desk.Bench.Note("played in the yard\nwindy"))
	m, view := w.desk.Machine(), w.desk.View()
	tight := len(view.Settings)
	w.closeMachine()
	row := rowOf(t, w, m.Build.Name)
	want := fmt.Sprintf("%d tight setting", tight)
	if tight == 0 || !strings.HasPrefix(row.How.Text, want) || !strings.Contains(row.How.Text, "“played in the yard …”") {
		t.Errorf("the row says %q, want %q", row.How.Text, want)
	}
	if date := m.LastTake().Local().Format("2 Jan 2006, 15:04"); row.What.Text != "1 day, last take "+date+"  ·  Simulated machine  ·  tub drum, elm block, brass bar" {
		t.Errorf("the row says %q, want %s", row.What.Text, date)
	}
	if empty := rowOf(t, w, "Empty"); !strings.Contains(empty.What.Text, "No take yet") || empty.How.Text != "no tight settings yet" {
		t.Errorf("an empty machine says %q, %q", empty.What.Text, empty.How.Text)
	}
	choose(t, w, m.Build.Name, "Open")
	must.Do(t, w.desk.Bench.EditSongs(machine.AddSong(0, machine.Song{Name: "Far off", TempoBPM: 40, Voices: []string{"brass bar"}}), machine.AddSong(1, machine.Song{Name: "Known", TempoBPM: 84, Voices: []string{"tub drum"}})))
	w.closeMachine()
	if row = rowOf(t, w, m.Build.Name); !strings.HasPrefix(row.How.Text, "1 of 2 songs need no more takes") {
		t.Errorf("with songs the row says %q", row.How.Text)
	}
	curve := w.welcome.Shelf.Known[w.welcome.Shelf.All[0]].Curve
	stamp := func(of plotting.Stamp) image.Image {
		return of.Image(look.Inks(row.Theme()), shelf.ThumbWide, shelf.ThumbHigh, 1)
	}
	if got := stamp(curve); !reflect.DeepEqual(got, stamp(plotting.CurveOf(view, m.Target.Voice).Stamp())) || reflect.DeepEqual(got, stamp(plotting.Stamp{})) {
		t.Error("the thumbnail is not that of the machine")
	}
	if drawn := row.Picture.Generator(shelf.ThumbWide, shelf.ThumbHigh); !reflect.DeepEqual(drawn, stamp(curve)) {
		t.Error("the row shows another thumbnail")
	}
}

// A damaged machine says so in its row.
func TestRowOfADamagedMachine(t *testing.T) {
	w := testWindow(t)
	dir := keep(t, "Torn", nil)
	must.Do(t, os.WriteFile(filepath.Join(dir, "machine.json"), []byte("{"), 0o600))
	w.welcome.Refresh()
	if row := rowOf(t, w, "Torn"); !strings.Contains(row.How.Text, "is damaged") {
		t.Errorf("it says %q", row.How.Text)
	}
}
