package ui

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/capture"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// inDialog finds what a dialog shows of a kind.
func inDialog[T fyne.CanvasObject](t *testing.T, w *Window) (all []T) {
	t.Helper()
	for _, o := range test.LaidOutObjects(w.win.Canvas().Overlays().Top()) {
		if one, ok := o.(T); ok {
			all = append(all, one)
		}
	}
	return all
}

// pressIn presses a button of a dialog of the form's kind.
func pressIn(t *testing.T, w *Window, label string) {
	t.Helper()
	for _, b := range inDialog[*button](t, w) {
		if b.Text == label {
			test.Tap(b)
			return
		}
	}
	t.Fatalf("no button %q", label)
}

func TestPreferencesAreKept(t *testing.T) {
	w := testWindow(t)
	home := t.TempDir()
	w.askPreferences()
	choices, fields, ticks := inDialog[*choice](t, w), inDialog[*field](t, w), inDialog[*tick](t, w)
	choices[0].SetSelected("Dark")
	choices[1].SetSelected("150 %")
	choices[2].SetSelected("in")
	ticks[0].SetChecked(false)
	fields[0].SetText("3,5")
	fields[1].SetText(home)
	pressIn(t, w, "Keep")
	th := w.app.Settings().Theme()
	if look.Times(th) != 1.5 || th.Color(look.Paper, theme.VariantLight) != look.Color(look.Paper, theme.VariantDark) {
		t.Error("theme and size of text are not those that were chosen")
	}
	if w.unit().mm != 25.4 || w.tolerance() != 3.5 || w.sessionsIn() != home || w.app.Preferences().BoolWithFallback(prefTones, true) {
		t.Errorf("kept unit %v, tolerance %g, folder %s", w.unit(), w.tolerance(), w.sessionsIn())
	}
	w.Practice()
	if !strings.HasPrefix(w.bench.Dir(), home+string(filepath.Separator)) {
		t.Errorf("a new session lies in %s", w.bench.Dir())
	}
	again := newWindow(w.app, &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	defer again.put(nil)
	if look.Times(w.app.Settings().Theme()) != 1.5 || !w.lower.Visible() || again.sessionsIn() != home {
		t.Error("the next window has forgotten them")
	}
}

// What cannot be a folder or a tolerance is not kept.
func TestPreferencesRefuse(t *testing.T) {
	w := testWindow(t)
	w.askPreferences()
	fields := inDialog[*field](t, w)
	fields[0].SetText("none")
	for _, b := range inDialog[*button](t, w) {
		if b.Text == "Keep" && !b.Disabled() {
			t.Error("a tolerance of none can be kept")
		}
	}
	fields[0].SetText("5")
	fields[1].SetText("somewhere")
	for _, b := range inDialog[*button](t, w) {
		if b.Text == "Keep" && !b.Disabled() {
			t.Error("a folder without its path can be kept")
		}
	}
}

// One inch is 25.4 mm (international yard and pound agreement of 1959).
func TestLengthsInInches(t *testing.T) {
	in := units[1]
	if got := in.figure(304.8); got != "12" {
		t.Errorf("304.8 mm are %s in", got)
	}
	if got, err := in.length("0.5", 300); err != nil || math.Abs(got-12.7) > 1e-9 {
		t.Errorf("0.5 in are %v mm, %v", got, err)
	}
	for _, mm := range []float64{300, 11.1125, 7.001, 0} {
		if got, err := in.length(in.figure(mm), mm); err != nil || got != mm {
			t.Errorf("%v mm come back as %v, %v", mm, got, err)
		}
	}
	if _, err := in.length("high", 1); err == nil {
		t.Error("high is a length")
	}
	const said = "raise the voice by 51 mm for a shorter drop, or move its pins 2.5 mm ahead"
	if got, want := in.words(said), "raise the voice by 2.01 in for a shorter drop, or move its pins 0.098 in ahead"; got != want {
		t.Errorf("said as %q, want %q", got, want)
	}
	if units[0].words(said) != said {
		t.Error("mm are changed")
	}
}

func TestMachineInInches(t *testing.T) {
	w := ownMachine(t)
	w.app.Preferences().SetString(prefUnit, "in")
	f := w.showMachine()
	f.voices[0].drop.SetText("12")
	f.radius.SetText("10")
	f.keep.OnTapped()
	s := w.session()
	if got := s.Machine.Falls[0].DropMM; math.Abs(got-304.8) > 1e-9 {
		t.Errorf("a drop of 12 in is kept as %g mm", got)
	}
	if got := s.Machine.Wheel.PinRadiusMM; math.Abs(got-254) > 1e-9 {
		t.Errorf("a radius of 10 in is kept as %g mm", got)
	}
}

// Before the first move of a session the caution is acknowledged, once; it stays
// before each later one.
func TestCautionIsAcknowledged(t *testing.T) {
	w := testWindow(t)
	w.asksCaution = true
	w.Practice()
	test.Tap(w.loop.playTake)
	if w.loop.turned.Visible() || w.loop.other.Visible() || !w.loop.understood.Visible() || !strings.Contains(w.loop.safe.text, "29 CFR 1910.147") {
		t.Fatalf("before the first move it says %q", w.loop.safe.text)
	}
	before := w.session()
	command(t, w, "I will stop the crank first").Action()
	if got := w.session(); got.Takes[0].Moved != before.Takes[0].Moved {
		t.Error("acknowledging moves the plate")
	}
	if !w.loop.turned.Visible() || w.loop.understood.Visible() || !w.loop.caution.Visible() || w.loop.safe.text != safety {
		t.Errorf("after it was acknowledged it says %q", w.loop.safe.text)
	}
	w.turned(1, "one only")
	test.Tap(w.loop.playTake)
	if w.stage() != loop.AwaitMove || !w.loop.turned.Visible() || !w.loop.caution.Visible() {
		t.Error("a later move is not told at once, with its caution")
	}
	dir := w.bench.Dir()
	w.closeSession()
	w.OpenSession(dir)
	if w.cautioned {
		t.Error("the next session is not asked for")
	}
}

// The escape key takes each dialog away, whatever in it has the keyboard, and
// changes nothing.
func TestEscapeClosesDialogs(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	before := w.session()
	for name, open := range map[string]func(){
		"preferences": w.askPreferences, "machine": w.askMachine, "how sure": w.howSure, "help": w.explain,
		"tones": w.askTones, "other move": w.askMove, "next tempo": w.askTarget, "new session": w.askSession, "rename": func() { w.askName(w.bench.Dir()) }, "notes": w.noteTake, "crash": func() { w.offerCrash("") }, "open": w.chooseRecording,
	} {
		open()
		if w.win.Canvas().Overlays().Top() == nil {
			t.Errorf("%s does not open", name)
			continue
		}
		for _, o := range []fyne.Focusable{w.win.Canvas().Focused()} {
			if o == nil {
				w.typed(&fyne.KeyEvent{Name: fyne.KeyEscape})
			} else {
				o.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
			}
		}
		if len(w.win.Canvas().Overlays().List()) != 0 {
			t.Fatalf("the escape key leaves %s", name)
		}
	}
	if got := w.session(); got.Target != before.Target || len(got.Takes) != 1 {
		t.Error("the escape key changes the session")
	}
	w.askPreferences()
	for _, o := range []fyne.Focusable{inDialog[*tick](t, w)[0], inDialog[*choice](t, w)[1], inDialog[*field](t, w)[0], inDialog[*button](t, w)[0]} {
		w.win.Canvas().Focus(o)
		o.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
		if w.win.Canvas().Overlays().Top() != nil {
			t.Fatalf("the escape key on %T leaves the dialog", o)
		}
		w.askPreferences()
	}
	command(t, w, "Close").Action()
	if w.bench == nil || w.win.Canvas().Overlays().Top() != nil {
		t.Error("Close does not close the dialog, or closes more")
	}
}

func TestF1Helps(t *testing.T) {
	w := testWindow(t)
	w.typed(&fyne.KeyEvent{Name: fyne.KeyF1})
	if len(inDialog[*widget.RichText](t, w)) == 0 {
		t.Error("F1 shows no help")
	}
}

// The hints lead through the first loop, one step after the other, and end with it.
func TestHintsLeadThroughTheLoop(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	var seen []string
	says := func(begins string) {
		t.Helper()
		if got := w.loop.hint.said.text; !w.loop.hint.root.Visible() || !strings.HasPrefix(got, begins) {
			t.Errorf("after %d steps the hint is %q, want %q", len(seen), got, begins)
		}
		seen = append(seen, w.loop.hint.said.text)
	}
	says("First, press Play")
	test.Tap(w.loop.playTake)
	says("Read: ")
	test.Tap(w.loop.turned)
	says("The plate is turned")
	tune(t, w)
	says("Tight: ")
	w.aim(session.Target{TempoBPM: 120, Voice: "elm block"})
	says("No take has heard this voice yet")
	w.aim(session.Target{TempoBPM: 120, Voice: "tub drum"})
	says("The first tempo already")
	for w.stage() != loop.Tight {
		if w.stage() == loop.AwaitMove {
			test.Tap(w.loop.turned)
		}
		test.Tap(w.loop.playTake)
	}
	says("That is the whole loop")
	if len(seen) != len(hints()) {
		t.Errorf("%d of %d hints were seen", len(seen), len(hints()))
	}
	w.closeSession()
	w.Practice()
	if w.loop.hint.root.Visible() {
		t.Error("a second session is hinted at")
	}
	command(t, w, "Show the hints again").Action()
	if !w.loop.hint.root.Visible() {
		t.Error("the hints do not come back when asked for")
	}
	w.setHints(false)
	if w.loop.hint.root.Visible() {
		t.Error("dismissed hints stay")
	}
}

// An own machine is nobody's first loop.
func TestNoHintsWithTheOwnMachine(t *testing.T) {
	w := ownMachine(t)
	if w.loop.hint.root.Visible() {
		t.Error("the own machine is hinted at")
	}
}

// Where the window is divided is remembered.
func TestDividersAreRemembered(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	for i, d := range w.splits() {
		if d.split.Offset != d.first {
			t.Errorf("%s stands at %g first, want %g", d.pref, d.split.Offset, d.first)
		}
		d.split.SetOffset(0.3 + 0.1*float64(i))
	}
	w.rememberSplits()
	again := newWindow(w.app, &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	defer again.put(nil)
	for i, d := range again.splits() {
		if math.Abs(d.split.Offset-(0.3+0.1*float64(i))) > 1e-9 {
			t.Errorf("%s stands at %g", d.pref, d.split.Offset)
		}
	}
	w.app.Preferences().SetFloat("split.lower", 1)
	again.recallSplits()
	if again.lower.Offset != 0.52 {
		t.Errorf("a pane out of sight stays there: %g", again.lower.Offset)
	}
}

// With large text the set list comes into sight where it is asked for.
func TestLargeSetListComesIntoSight(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.win.Resize(fyne.NewSize(1280, 800))
	w.listSongs()
	if w.scroll.Offset.Y != 0 {
		t.Error("it scrolls though all has room")
	}
	w.listSongs()
	w.app.Preferences().SetInt(prefText, 200)
	w.relook()
	w.listSongs()
	top := w.songs.root.Position().Y - w.scroll.Offset.Y
	if top < -slack || top > w.scroll.Size().Height/2 {
		t.Errorf("the set list begins at %g of %g", top, w.scroll.Size().Height)
	}
}

// Each widget of our own says in words what it shows.
func TestOwnWidgetsSpeak(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	for _, o := range []fyne.CanvasObject{w.take.trace, w.take.fan, w.loop.dial, w.loop.do, w.loop.lag, w.record.curve, w.songs.curve} {
		a, ok := o.(fyne.Accessible)
		if !ok || a.AccessibilityLabel() == "" || a.AccessibilityRole() == "" {
			t.Errorf("%T says nothing", o)
		}
	}
	for i, o := range w.take.tools.(*fyne.Container).Objects {
		if a, ok := o.(fyne.Accessible); !ok || a.AccessibilityLabel() == "" {
			t.Errorf("tool %d of the trace has no name", i)
		}
	}
}

// Every command of the menus can be reached by a key, but for a few that are rare.
func TestShortcutsAreUnique(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	seen := map[string]string{}
	for _, m := range w.menu().Items {
		for _, i := range m.Items {
			if i.Shortcut == nil {
				continue
			}
			name := i.Shortcut.ShortcutName()
			if other, twice := seen[name]; twice {
				t.Errorf("%q and %q have one key: %s", other, i.Label, name)
			}
			seen[name] = i.Label
		}
	}
	if seen["CustomDesktop:Control+,"] != "Preferences…" {
		t.Errorf("the preferences have no key: %v", seen)
	}
}

func TestIconIsAPicture(t *testing.T) {
	if size := iconPicture().Bounds().Size(); size.X < 256 || size.X != size.Y {
		t.Errorf("the icon is %v", size)
	}
}
