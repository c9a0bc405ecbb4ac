package ui

import (
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/capture"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/findings"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/prefs"
	"lagwright/ui/tune"
)

// inDialog finds what a dialog shows of a kind.
func inDialog[T fyne.CanvasObject](t *testing.T, w *Window) (all []T) {
	t.Helper()
	for _, o := range test.LaidOutObjects(w.desk.Win.Canvas().Overlays().Top()) {
		if one, ok := o.(T); ok {
			all = append(all, one)
		}
	}
	return all
}

// pressIn presses a button of a dialog of the form's kind.
func pressIn(t *testing.T, w *Window, label string) {
	t.Helper()
	for _, b := range inDialog[*kit.Button](t, w) {
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
	choices, fields, ticks := inDialog[*kit.Choice](t, w), inDialog[*kit.Field](t, w), inDialog[*kit.Tick](t, w)
	choices[0].SetSelected("Dark")
	choices[1].SetSelected("150 %")
	choices[2].SetSelected("in")
	ticks[0].SetChecked(false)
	fields[0].SetText("3,5")
	fields[1].SetText(home)
	pressIn(t, w, "Keep")
	th := fyne.CurrentApp().Settings().Theme()
	if look.Times(th) != 1.5 || th.Color(look.Paper, theme.VariantLight) != look.Color(look.Paper, theme.VariantDark) {
		t.Error("theme and size of text are not those that were chosen")
	}
	if w.desk.Prefs.Unit().MM != 25.4 || w.desk.Prefs.Tolerance() != 3.5 || w.desk.Prefs.MachinesIn() != home || w.desk.Prefs.BoolWithFallback(prefs.KeyTones, true) {
		t.Errorf("kept unit %v, tolerance %g, folder %s", w.desk.Prefs.Unit(), w.desk.Prefs.Tolerance(), w.desk.Prefs.MachinesIn())
	}
	w.Practice()
	if !strings.HasPrefix(w.desk.Bench.Dir(), home+string(filepath.Separator)) {
		t.Errorf("a new machine lies in %s", w.desk.Bench.Dir())
	}
	again := newWindow(fyne.CurrentApp(), &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	defer again.put(nil)
	if look.Times(fyne.CurrentApp().Settings().Theme()) != 1.5 || !w.zones.lower.Visible() || again.desk.Prefs.MachinesIn() != home {
		t.Error("the next window has forgotten them")
	}
}

// What cannot be a folder or a tolerance is not kept.
func TestPreferencesRefuse(t *testing.T) {
	w := testWindow(t)
	w.askPreferences()
	fields := inDialog[*kit.Field](t, w)
	fields[0].SetText("none")
	for _, b := range inDialog[*kit.Button](t, w) {
		if b.Text == "Keep" && !b.Disabled() {
			t.Error("a tolerance of none can be kept")
		}
	}
	fields[0].SetText("5")
	fields[1].SetText("somewhere")
	for _, b := range inDialog[*kit.Button](t, w) {
		if b.Text == "Keep" && !b.Disabled() {
			t.Error("a folder without its path can be kept")
		}
	}
}

func TestMachineInInches(t *testing.T) {
	w := ownMachine(t)
	w.desk.Prefs.SetString(prefs.KeyUnit, "in")
	f := w.setup.ShowMachine()
	f.Voices[0].Drop.SetText("12")
	f.Radius.SetText("10")
	f.Keep.OnTapped()
	m := w.desk.Machine()
	if got := m.Build.Falls[0].DropMM; math.Abs(got-304.8) > 1e-9 {
		t.Errorf("a drop of 12 in is kept as %g mm", got)
	}
	if got := m.Build.Wheel.PinRadiusMM; math.Abs(got-254) > 1e-9 {
		t.Errorf("a radius of 10 in is kept as %g mm", got)
	}
}

// allCautions presses the button beside the caution, and looks for all the others there.
func allCautions(t *testing.T, w *Window) {
	t.Helper()
	test.Tap(w.loop.Caution.Objects[2].(*kit.Button))
	if said := wordsOf(shownDialog(t, w)); !strings.Contains(said, "29 CFR 1910.147") || !strings.Contains(said, "isolate it before you reach in") {
		t.Errorf("the button beside the caution shows %.300q", said)
	}
	w.closeTop()
}

// Before the first move of a machine the caution is acknowledged, once; it stays
// before each later one.
func TestCautionIsAcknowledged(t *testing.T) {
	w := testWindow(t)
	w.loop.Asks = true
	w.Practice()
	test.Tap(w.loop.PlayTake)
	if w.loop.Turned.Visible() || w.loop.Other.Visible() || !w.loop.Understood.Visible() || w.loop.Safe.Text != findings.Safety {
		t.Fatalf("before the first move it says %q", w.loop.Safe.Text)
	}
	allCautions(t, w)
	w.loop.TurnedAsAdvised()
	w.loop.AskMove()
	if !command(t, w, "Turned as advised").Disabled || !command(t, w, "Turned a different amount…").Disabled || w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("a move can be told before the caution was agreed to")
	}
	agree := w.loop.Understood
	w.desk.Focus(agree)
	for range 3 { // a double click, or a key that repeats
		test.Tap(agree)
		agree.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
		command(t, w, "I will stop the crank first").Action()
		test.Tap(w.loop.Turned)
	}
	if w.desk.Machine().Takes[0].Moved != nil || w.record.Live != nil {
		t.Error("agreeing more than once tells a move, or records")
	}
	if !w.loop.Turned.Visible() || agree.Visible() || !w.loop.Caution.Visible() || w.loop.Safe.Text != findings.Safety {
		t.Errorf("after it was acknowledged it says %q", w.loop.Safe.Text)
	}
	w.loop.Agreed = w.loop.Agreed.Add(-time.Minute)
	test.Tap(w.loop.Turned)
	if w.desk.Machine().Takes[0].Moved == nil {
		t.Error("nor can it be told later")
	}
	w.loop.Move(-20, "not so far")
	test.Tap(w.loop.PlayTake)
	if w.stage() != loop.AwaitMove || !w.loop.Turned.Visible() || !w.loop.Caution.Visible() {
		t.Error("a later move is not told at once, with its caution")
	}
	dir := w.desk.Bench.Dir()
	w.closeMachine()
	w.Open(dir)
	if w.loop.Cautioned {
		t.Error("the next machine is not asked for")
	}
}

// The escape key takes each dialog away, whatever in it has the keyboard, and
// changes nothing.
func TestEscapeClosesDialogs(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	before := w.desk.Machine()
	for name, open := range map[string]func(){
		"preferences": w.askPreferences, "machine": w.setup.AskMachine, "how sure": w.take.HowSure, "help": func() { w.showHandbook("") },
		"tones": w.listening.AskTones, "other move": w.loop.AskMove, "next tempo": w.loop.AskTarget, "new machine": w.welcome.AskMachine, "rename": func() { w.welcome.AskName(w.desk.Bench.Dir()) }, "notes": w.take.NoteTake, "air": w.take.AskAir, "log": w.setup.AskLog, "crash": func() { w.logs.OfferCrash("") }, "open": w.record.ChooseRecording,
	} {
		open()
		if w.desk.Win.Canvas().Overlays().Top() == nil {
			t.Errorf("%s does not open", name)
			continue
		}
		for _, o := range []fyne.Focusable{w.desk.Win.Canvas().Focused()} {
			if o == nil {
				w.typed(&fyne.KeyEvent{Name: fyne.KeyEscape})
			} else {
				o.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
			}
		}
		if len(w.desk.Win.Canvas().Overlays().List()) != 0 {
			t.Fatalf("the escape key leaves %s", name)
		}
	}
	if got := w.desk.Machine(); got.Target != before.Target || len(got.Takes) != 1 {
		t.Error("the escape key changes the machine")
	}
	w.askPreferences()
	for _, o := range []fyne.Focusable{inDialog[*kit.Tick](t, w)[0], inDialog[*kit.Choice](t, w)[1], inDialog[*kit.Field](t, w)[0], inDialog[*kit.Button](t, w)[0]} {
		w.desk.Win.Canvas().Focus(o)
		o.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
		if w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Fatalf("the escape key on %T leaves the dialog", o)
		}
		w.askPreferences()
	}
	command(t, w, "Close").Action()
	if w.desk.Bench == nil || w.desk.Win.Canvas().Overlays().Top() != nil {
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
		if got := w.loop.Hint.Said.Text; !w.loop.Hint.Root.Visible() || !strings.HasPrefix(got, begins) {
			t.Errorf("after %d steps the hint is %q, want %q", len(seen), got, begins)
		}
		seen = append(seen, w.loop.Hint.Said.Text)
	}
	says("First, press “Play")
	test.Tap(w.loop.PlayTake)
	w.loop.Cautioned = false
	w.desk.Refresh()
	for _, press := range []*kit.Button{w.loop.Understood, w.loop.Turned} {
		if !strings.HasSuffix(w.loop.Hint.Said.Text, "press “"+press.Text+"”.") || !press.Visible() {
			t.Errorf("it says %q; “%s” is there: %v", w.loop.Hint.Said.Text, press.Text, press.Visible())
		}
		test.Tap(w.loop.Understood)
	}
	w.loop.Agreed = time.Time{}
	says("Read: ")
	test.Tap(w.loop.Turned)
	says("The plate is turned")
	tuneVoice(t, w)
	says("Tight: ")
	w.desk.Aim(machine.Target{TempoBPM: 120, Voice: "elm block"})
	says("No take has heard this voice yet")
	w.desk.Aim(machine.Target{TempoBPM: 120, Voice: "tub drum"})
	says("The first tempo already")
	if w.stage() == loop.AwaitMove {
		test.Tap(w.loop.Turned)
		if got := w.loop.Hint.Said.Text; !strings.HasPrefix(got, "The plate is turned") {
			t.Errorf("turned for the second tempo, the hint is %q", got)
		}
	}
	for w.stage() != loop.Tight {
		if w.stage() == loop.AwaitMove {
			test.Tap(w.loop.Turned)
		}
		test.Tap(w.loop.PlayTake)
	}
	says("That is the whole loop")
	if len(seen) != len(tune.Hints("")) {
		t.Errorf("%d of %d hints were seen", len(seen), len(tune.Hints("")))
	}
	w.closeMachine()
	w.Practice()
	if w.loop.Hint.Root.Visible() {
		t.Error("a second machine is hinted at")
	}
	command(t, w, "Show the hints again").Action()
	if !w.loop.Hint.Root.Visible() {
		t.Error("the hints do not come back when asked for")
	}
	w.loop.SetHints(false)
	if w.loop.Hint.Root.Visible() {
		t.Error("dismissed hints stay")
	}
}

// The main button stays where it is from stage to stage, so that a second click meets it: it
// stands at the bottom of a pane that is as high at each.
func TestMainButtonStays(t *testing.T) {
	w := testWindow(t)
	w.loop.Asks = true
	w.Practice()
	w.loop.SetHints(false)
	was := w.loop.Root.MinSize().Height
	for _, b := range []*kit.Button{w.loop.PlayTake, w.loop.Understood, w.loop.Turned, w.loop.PlayTake, w.loop.Next} {
		if high := w.loop.Root.MinSize().Height; high != was || !b.Visible() {
			t.Errorf("with %q the pane is %g high, before it %g", b.Text, high, was)
		}
		w.loop.Agreed = w.loop.Agreed.Add(-time.Minute)
		test.Tap(b)
	}
}

// An own machine is nobody's first loop, and its first take is cautioned of.
func TestNoHintsWithTheOwnMachine(t *testing.T) {
	w := ownMachine(t)
	for _, words := range []string{"eye and ear", "hair", "cables", "others", "shot", "lead"} {
		if !w.loop.Caution.Visible() || !strings.Contains(w.loop.Safe.Text, words) {
			t.Errorf("before the first take it says nothing of %s: %q", words, w.loop.Safe.Text)
		}
	}
	allCautions(t, w)
	if w.loop.Hint.Root.Visible() {
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
	again := newWindow(fyne.CurrentApp(), &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	defer again.put(nil)
	for i, d := range again.splits() {
		if math.Abs(d.split.Offset-(0.3+0.1*float64(i))) > 1e-9 {
			t.Errorf("%s stands at %g", d.pref, d.split.Offset)
		}
	}
	w.desk.Prefs.SetFloat("split.lower", 1)
	again.recallSplits()
	if again.zones.lower.Offset != 0.52 {
		t.Errorf("a pane out of sight stays there: %g", again.zones.lower.Offset)
	}
}

// With large text the set list comes into sight where it is asked for.
func TestLargeSetListComesIntoSight(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.desk.Win.Resize(fyne.NewSize(1280, 800))
	w.listSongs()
	if w.zones.scroll.Offset.Y != 0 {
		t.Error("it scrolls though all has room")
	}
	w.listSongs()
	w.desk.Prefs.SetString(prefs.KeyText, "200")
	w.relook()
	w.listSongs()
	top := w.songs.Root.Position().Y - w.zones.scroll.Offset.Y
	if top < -slack || top > w.zones.scroll.Size().Height/2 {
		t.Errorf("the set list begins at %g of %g", top, w.zones.scroll.Size().Height)
	}
}

// Each widget of our own says in words what it shows.
func TestOwnWidgetsSpeak(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	for _, o := range []fyne.CanvasObject{w.take.Trace, w.take.Fan, w.loop.Dial, w.loop.Do, w.loop.Lag, w.history.Curve, w.songs.Curve} {
		a, ok := o.(fyne.Accessible)
		if !ok || a.AccessibilityLabel() == "" || a.AccessibilityRole() == "" {
			t.Errorf("%T says nothing", o)
		}
	}
	for i, o := range w.take.Tools.(*fyne.Container).Objects {
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

// Space, enter and the foot switch record no take at a setting that nobody told of: while
// a move is asked for they ask whether it was made, and pressed again they answer nothing.
func TestPressAsksForAMoveNotTold(t *testing.T) {
	w := testWindow(t)
	w.loop.Asks = true
	w.Practice()
	w.desk.Jobs.Spawn = func(f func()) { f() }
	test.Tap(w.loop.PlayTake)
	if w.stage() != loop.AwaitMove {
		t.Fatalf("it says %q", w.loop.Do.Text)
	}
	steps := w.desk.View().Steps
	press := func(key fyne.KeyName) { w.typed(&fyne.KeyEvent{Name: key}) }
	asked := func(answer string) fyne.Tappable {
		t.Helper()
		press(fyne.KeySpace)
		if w.record.Live != nil || w.desk.Machine().Takes[0].Moved != nil {
			t.Fatal("the press records, or tells a move")
		}
		_, buttons := dialogIn(t, w)
		for _, want := range []string{"Cancel", "Not turned: record", answer} {
			if buttons[want] == nil {
				t.Fatalf("there is no answer %q", want)
			}
		}
		return buttons[answer]
	}
	test.Tap(asked("I will stop the crank first"))
	if w.desk.Machine().Takes[0].Moved != nil || !w.loop.Cautioned {
		t.Error("agreeing to the caution tells a move, or does not count")
	}
	w.loop.Agreed = time.Time{}
	asked(w.loop.Turned.Text)
	press(fyne.KeyReturn) // as it comes where nothing has the keyboard
	w.desk.Win.Canvas().Focused().TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	if w.record.Live != nil || w.desk.Machine().Takes[0].Moved != nil || w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("a second press answers")
	}
	test.Tap(asked(w.loop.Turned.Text))
	if m := w.desk.Machine().Takes[0].Moved; m == nil || m.Steps != steps || w.stage() != loop.AwaitTake {
		t.Errorf("told as turned, the move is %+v", m)
	}
	w.loop.Move(-20, "not so far")
	test.Tap(w.loop.PlayTake)
	if w.stage() != loop.AwaitMove {
		t.Fatalf("it says %q", w.loop.Do.Text)
	}
	w.desk.Jobs.Spawn = func(func()) {}
	press(fyne.KeyEnter)
	pressIn(t, w, "Not turned: record")
	if w.record.Live == nil {
		t.Errorf("no take is recorded: %q", w.desk.Notice.Text.Text)
	}
	if m := w.desk.Machine().Takes[1].Moved; m == nil || m.Steps != 0 || m.Asked == 0 {
		t.Errorf("the answer that it was not turned is kept as %+v", m)
	}
}
