package ui

import (
	"fmt"
	"image/color"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/prefs"
	"lagwright/ui/shelf"
	"lagwright/ui/sign"
)

// slack is what rounding may take, in device-independent pixels.
const slack = 1.5

// overlap reports whether two things lie over each other.
func overlap(a, b fyne.CanvasObject) bool {
	p, q := a.Position().Add(a.Size()), b.Position().Add(b.Size())
	return a.Position().X+slack < q.X && b.Position().X+slack < p.X && a.Position().Y+slack < q.Y && b.Position().Y+slack < p.Y
}

// settle lays a tree out until nothing asks for other room any more, as the
// window's own driver does frame by frame.
func settle(o fyne.CanvasObject) {
	for range 4 {
		relay(o)
	}
}

func relay(o fyne.CanvasObject) {
	switch o := o.(type) {
	case *fyne.Container:
		for _, c := range o.Objects {
			relay(c)
		}
		if o.Layout != nil {
			o.Layout.Layout(o.Objects, o.Size())
		}
	case *container.Scroll:
		relay(o.Content)
		test.WidgetRenderer(o).Layout(o.Size())
		relay(o.Content)
	case *container.Split:
		relay(o.Leading)
		relay(o.Trailing)
		test.WidgetRenderer(o).Layout(o.Size())
	case *container.AppTabs:
		test.WidgetRenderer(o).Layout(o.Size())
	case *widget.PopUp:
		relay(o.Content)
		test.WidgetRenderer(o).Layout(o.Size())
		relay(o.Content)
	}
}

// unlaid finds what lies over its neighbours, leaves its parent or has less room
// than it needs, and says where.
func unlaid(o fyne.CanvasObject, path string) (wrong []string) {
	if !o.Visible() {
		return nil
	}
	path += fmt.Sprintf("/%T", o)
	if s, ok := o.(*sign.Sign); ok {
		size, lines := s.Fit(s.Size())
		for _, line := range lines {
			if fyne.MeasureText(line, size, s.Style).Width > s.Size().Width+slack {
				wrong = append(wrong, fmt.Sprintf("%s: %q is wider than %g", path, line, s.Size().Width))
			}
		}
		if high := s.LineHeight(size) * float32(len(lines)); high > s.Size().Height+slack {
			wrong = append(wrong, fmt.Sprintf("%s: %q is %g high in %g", path, s.Text, high, s.Size().Height))
		}
		return wrong
	}
	if least := o.MinSize(); o.Size().Width+slack < least.Width || o.Size().Height+slack < least.Height {
		wrong = append(wrong, fmt.Sprintf("%s %s: has %v and needs %v", path, words(o), o.Size(), least))
	}
	switch o := o.(type) {
	case *fyne.Container:
		wrong = append(wrong, unlaidIn(o, path)...)
	case *container.Scroll:
		wrong = append(wrong, unlaid(o.Content, path)...)
	case *container.Split:
		for _, half := range []fyne.CanvasObject{o.Leading, o.Trailing} {
			wrong = append(wrong, outside(half, o.Size(), path)...)
			wrong = append(wrong, unlaid(half, path)...)
		}
		if overlap(o.Leading, o.Trailing) {
			wrong = append(wrong, path+": its halves lie over each other")
		}
	case *widget.PopUp:
		wrong = append(wrong, unlaid(o.Content, path)...)
	}
	return wrong
}

// isSpacer reports whether something is only room between others.
func isSpacer(o fyne.CanvasObject) bool {
	_, ok := o.(layout.SpacerObject)
	return ok
}

func unlaidIn(c *fyne.Container, path string) (wrong []string) {
	stacked := c.Layout == nil || fmt.Sprintf("%T", c.Layout) == fmt.Sprintf("%T", layout.NewStackLayout())
	objects := c.Objects
	if strings.Contains(fmt.Sprintf("%T", c.Layout), "dialogLayout") {
		objects = objects[2:4] // the content and the buttons; the rest is the toolkit's frame
	}
	for i, o := range objects {
		if !o.Visible() || isSpacer(o) {
			continue
		}
		wrong = append(wrong, outside(o, c.Size(), path)...)
		wrong = append(wrong, unlaid(o, path)...)
		for _, other := range objects[:i] {
			_, ground := other.(*canvas.Rectangle)
			if !stacked && !ground && !isSpacer(other) && other.Visible() && overlap(o, other) {
				wrong = append(wrong, fmt.Sprintf("%s: %T %s at %v %v lies over %T %s at %v %v", path, o, words(o), o.Position(), o.Size(), other, words(other), other.Position(), other.Size()))
			}
		}
	}
	return wrong
}

func outside(o fyne.CanvasObject, within fyne.Size, path string) []string {
	end := o.Position().Add(o.Size())
	if o.Position().X < -slack || o.Position().Y < -slack || end.X > within.Width+slack || end.Y > within.Height+slack {
		return []string{fmt.Sprintf("%s: %T %s from %v to %v leaves %v", path, o, words(o), o.Position(), end, within)}
	}
	return nil
}

func words(o fyne.CanvasObject) string {
	switch o := o.(type) {
	case *widget.Label:
		return o.Text
	case fyne.Accessible:
		return o.AccessibilityLabel()
	}
	return ""
}

// sight is how the window is looked at.
type sight struct {
	tag     string // of the language
	percent int    // of the usual size of text
	sizes   []fyne.Size
}

var (
	small, usual = fyne.Size{Width: 1024, Height: 700}, fyne.Size{Width: 1280, Height: 800}
	large        = []fyne.Size{{Width: 2560, Height: 1440}, {Width: 3840, Height: 2160}}
)

// sights are those of the suite: the smallest window with the largest text, and the
// usual one; German words are long, Japanese letters high. Asked for all, every
// language in small and large windows with text up to twice the usual size.
func sights() (all []sight) {
	if !deeptest.On() {
		return []sight{
			{"en", 200, []fyne.Size{small}}, {"en", 100, []fyne.Size{small, usual}},
			{"de", 200, []fyne.Size{small}}, {"ja", 100, []fyne.Size{small}},
		}
	}
	for _, l := range prefs.Languages {
		for _, percent := range []int{100, 125, 150, 200} {
			all = append(all, sight{l.Tag, percent, append([]fyne.Size{small, usual}, large...)})
		}
	}
	return all
}

// Nothing lies over anything else, and all has the room it needs, at every stage
// and in every dialog.
func TestEverythingHasRoom(t *testing.T) {
	if testing.Short() {
		t.Skip("lays out the whole window")
	}
	for _, s := range sights() {
		t.Run(fmt.Sprintf("%s at %d %%", s.tag, s.percent), func(t *testing.T) {
			inEnglish(t)
			must.Do(t, prefs.Speak(s.tag))
			everythingHasRoom(t, s)
		})
	}
}

func everythingHasRoom(t *testing.T, s sight) {
	t.Helper()
	w := windowToWalk(t, s.percent)
	walkStages(t, w, func(stage string, open func() fyne.CanvasObject, away func()) {
		t.Helper()
		for _, size := range s.sizes {
			size.Height -= menuBar()
			w.desk.Win.Resize(size)
			o := open()
			settle(o)
			at := fmt.Sprintf("%s, %gx%g", stage, size.Width, size.Height)
			wrong := append(unlaid(o, ""), outside(o, size, "window")...)
			if least := o.MinSize(); least.Width > size.Width || least.Height > size.Height {
				wrong = append(wrong, fmt.Sprintf("it needs %v", least))
			}
			if c, ok := w.zones.body.Objects[0].(*container.Scroll); ok && s.percent == 100 && c.Content.MinSize().Height > c.Size().Height {
				wrong = append(wrong, fmt.Sprintf("it scrolls: %g high in %g", c.Content.MinSize().Height, c.Size().Height))
			}
			dialog, _ := o.(*widget.PopUp)
			for _, scroll := range scrollsIn(dialog) {
				if wide := scroll.Content.MinSize().Width; wide > scroll.Size().Width+slack {
					wrong = append(wrong, fmt.Sprintf("it scrolls sideways: %g wide in %g", wide, scroll.Size().Width))
				}
			}
			for _, words := range wrong {
				t.Errorf("%s: %s", at, words)
			}
			away()
		}
	})
}

// scrollsIn returns what scrolls in a dialog; nothing of none.
func scrollsIn(dialog *widget.PopUp) []*container.Scroll {
	if dialog == nil {
		return nil
	}
	return kit.ScrollsIn(dialog.Content)
}

// menuBar is how high the menu is that the desktop's window draws over its content; the
// test driver's has none. It is a line of text with a padding around it.
func menuBar() float32 {
	return canvas.NewText("", color.Black).MinSize().Height + theme.InnerPadding()
}

// windowToWalk makes a window with text of so many percent of the usual size.
func windowToWalk(t *testing.T, percent int) *Window {
	t.Helper()
	w := testWindow(t)
	w.loop.Asks = true
	w.desk.Prefs.SetString(prefs.KeyText, fmt.Sprint(percent))
	w.relook()
	return w
}

// walkStages shows every stage of the loop and every dialog.
func walkStages(t *testing.T, w *Window, look func(stage string, open func() fyne.CanvasObject, away func())) {
	t.Helper()
	stage := func(name string) { look(name, w.desk.Win.Content, func() {}) }
	stage("welcome")
	w.welcome.Create(shelf.NewMachine("Barn machine", "drum, block", 84, 5))
	stage("own machine")
	w.loop.ShowLive(live.Moment{Say: handsfree.Say{
		Big:   i18n.F("Stop the crank, then check cable %d", 2),
		Small: i18n.F("Channel %d went silent. Stop the crank, wait for rest, then check its plug and clip, and play again.", 2),
		BPM:   84, Tempo: handsfree.TempoRight}}, w.desk.Machine().Target)
	stage("loose cable")
	w.closeMachine()
	w.Practice()
	stage("first machine")
	test.Tap(w.loop.PlayTake)
	stage("before the caution")
	test.Tap(w.loop.Understood)
	w.loop.Agreed = time.Time{}
	stage("move")
	for name, open := range map[string]func(){
		"preferences": w.askPreferences, "help": func() { w.showHandbook("") }, "machine": w.setup.AskMachine, "how sure": w.take.HowSure,
		"tones": w.listening.AskTones, "other move": w.loop.AskMove, "next tempo": w.loop.AskTarget, "new machine": w.welcome.AskMachine,
		"rename": func() { w.welcome.AskName(w.desk.Bench.Dir()) }, "notes": w.take.NoteTake, "air": w.take.AskAir, "log": w.setup.AskLog, "correct": w.take.AskCorrect, "crash": func() { w.logs.OfferCrash("") }, "not told": w.loop.Press,
	} {
		look(name, func() fyne.CanvasObject {
			open()
			return shownDialog(t, w)
		}, func() {
			if !kit.DismissTop(w.desk.Win.Canvas()) || w.desk.Win.Canvas().Overlays().Top() != nil {
				t.Fatalf("%s does not go away", name)
			}
		})
	}
	w.desk.View().Findings = []loop.Finding{{Kind: plan.Flipped, Odds: i18n.F("more than %d to 1", 100), Yes: i18n.L("Every move so far went the other way"), No: i18n.L("No, that did not happen"),
		Words: i18n.L("Every move goes the other way: a step entered as ahead turns the plate back."),
		Do:    i18n.L("Stop the crank, wait for rest, then see which way of turning makes the voice earlier. Enter turns that way as ahead, later ones too.")}}
	w.refresh()
	stage("found")
	test.Tap(w.loop.Turned)
	tuneVoice(t, w)
	stage("tight")
	w.listSongs()
	stage("empty set list")
	w.songs.AddSong()
	stage("set list")
}

// The smallest window has room for three settings, with a hint over them too.
func TestThreeSettingsAreInSight(t *testing.T) {
	w := windowToWalk(t, 100)
	w.desk.Win.Resize(fyne.NewSize(small.Width, small.Height-menuBar()))
	w.Practice()
	test.Tap(w.loop.PlayTake)
	settle(w.desk.Win.Content())
	row := w.history.Settings.CreateItem().MinSize().Height + theme.Padding()
	if rows := w.history.Settings.Size().Height / row; rows < 2.8 || !w.loop.Hint.Root.Visible() {
		t.Errorf("%.1f rows are in sight", rows)
	}
}

// With text twice the size the button for the next take is in sight once the set list is, and
// so is a song that was just added.
func TestSetListInLargeTextIsInSight(t *testing.T) {
	for _, size := range []fyne.Size{small, usual} {
		w := windowToWalk(t, 200)
		w.desk.Win.Resize(fyne.NewSize(size.Width, size.Height-menuBar()))
		w.Practice()
		test.Tap(w.loop.PlayTake)
		inSight := func(what string, o fyne.CanvasObject) {
			t.Helper()
			settle(w.desk.Win.Content())
			at := fyne.CurrentApp().Driver().AbsolutePositionForObject(o)
			if end := at.Y + o.Size().Height; !o.Visible() || at.Y < 0 || end > w.desk.Win.Canvas().Size().Height+slack {
				t.Errorf("%v: %s lies from %g to %g of %g", size, what, at.Y, end, w.desk.Win.Canvas().Size().Height)
			}
		}
		must.Do(t, w.desk.Bench.EditSongs(machine.AddSong(0, song("Mill Waltz", 96))))
		w.listSongs()
		inSight("what sets up the next take", w.songs.Aim)
		for range 4 {
			w.songs.AddSong()
			row := w.songs.Rows[w.songs.At].Root
			inSight("the song added", row)
			if top := row.Position().Y - w.songs.Scroll.Offset.Y; top < 0 || top+row.Size().Height > w.songs.Scroll.Size().Height+slack {
				t.Errorf("%v: song %d lies at %g of %g in the list", size, w.songs.At, top, w.songs.Scroll.Size().Height)
			}
		}
	}
}

// How the machine is built is asked in one window's width in every language, also with
// text somewhat larger.
func TestMachineHasRoomInEveryLanguage(t *testing.T) {
	for _, l := range deeptest.Some(2, prefs.Languages) {
		inEnglish(t)
		must.Do(t, prefs.Speak(l.Tag))
		w := windowToWalk(t, 125)
		w.welcome.Create(shelf.NewMachine("Barn machine", "drum, block", 84, 5))
		w.desk.Win.Resize(small)
		w.setup.AskMachine()
		o := shownDialog(t, w)
		settle(o)
		for _, words := range unlaid(o, "") {
			t.Errorf("%s: %s", l.Tag, words)
		}
	}
}

// F11 shows sentence, lag and dial alone, with room for them on a small display; F11 or
// Escape goes back.
func TestLargeView(t *testing.T) {
	key := func(w *Window, name fyne.KeyName) { w.typed(&fyne.KeyEvent{Name: name}) }
	for _, percent := range []int{100, 200} {
		w := windowToWalk(t, percent)
		key(w, fyne.KeyF11)
		if w.loop.Far.InSight {
			t.Error("there is a large view of no machine")
		}
		w.Practice()
		test.Tap(w.loop.PlayTake)
		w.desk.Win.Resize(fyne.NewSize(800, 480))
		key(w, fyne.KeyF11)
		far := w.loop.Far
		if !w.desk.Win.FullScreen() || w.zones.scroll.Content != far.Root || far.Do.Text != w.loop.Do.Text || far.Lag.Text != w.loop.Lag.Text || far.Safe.Text != w.loop.Safe.Text || !far.Caution.Visible() || w.desk.Win.MainMenu() != nil {
			t.Errorf("%d %%: it says %q, %q, %q", percent, far.Do.Text, far.Lag.Text, far.Safe.Text)
		}
		farHasRoom(t, w)
		w.loop.Move(26, "")
		if far.Caution.Visible() || far.Do.Text != w.loop.Do.Text {
			t.Errorf("after the move it says %q", far.Do.Text)
		}
		key(w, fyne.KeyEscape)
		if w.loop.Far.InSight || w.desk.Win.FullScreen() || w.zones.scroll.Content == far.Root || w.desk.Win.MainMenu() == nil {
			t.Error("escape does not go back")
		}
		key(w, fyne.KeyF11)
		key(w, fyne.KeyF11)
		if w.loop.Far.InSight {
			t.Error("nor does F11")
		}
	}
}

// farHasRoom checks the large view: all of it is in sight, no two parts lie over each other,
// fingers can press what is there, and the sentence is large.
func farHasRoom(t *testing.T, w *Window) {
	t.Helper()
	far, size, percent := w.loop.Far, w.desk.Win.Canvas().Size(), 100*look.Times(fyne.CurrentApp().Settings().Theme())
	if least := far.Root.MinSize(); least.Width > size.Width || least.Height > size.Height {
		t.Errorf("%g %%: it needs %v of %v", percent, least, size)
	}
	for _, wrong := range append(unlaid(far.Root, ""), outside(far.Root, size, "window")...) {
		t.Errorf("%g %%: %s", percent, wrong)
	}
	// 44 by 44 pixels: WCAG 2.2, 2.5.5 Target Size (Enhanced)
	for _, o := range far.Acts.Objects {
		if b := o.(*kit.Button); b.Visible() && (b.Size().Width < 44 || b.Size().Height < 44) {
			t.Errorf("%g %%: %q is %v", percent, b.Text, b.Size())
		}
	}
	// Good eyes just tell letters of 5 minutes of arc apart (Snellen's chart, ISO 8596): 2.9 mm
	// at 2 m. A display of 7 inches has 800 pixels in 154 mm (from memory), and capitals are 0.71
	// of the size of type: 42 pixels of it are twice that.
	if large, _ := far.Do.Fit(far.Do.Size()); large < 42 || len(far.Do.Text) < 30 && large < 60 {
		t.Errorf("%g %%: the sentence %q is %g high", percent, far.Do.Text, large)
	}
}

// A display without a keyboard goes through the whole loop and on along the set list, by
// what can be touched in the large view.
func TestLargeViewByTouch(t *testing.T) {
	w := windowToWalk(t, 100)
	w.desk.Win.Resize(fyne.NewSize(800, 480))
	w.FullScreen()
	if w.loop.Far.InSight || !w.desk.Win.FullScreen() {
		t.Error("without a machine there is nothing to see from afar")
	}
	w.Practice()
	must.Do(t, w.desk.Bench.EditSongs(machine.AddSong(0, song("Mill Waltz", 96)), machine.AddSong(1, song("Low Water", 72))))
	w.refresh()
	touch := func(words string) {
		t.Helper()
		farHasRoom(t, w)
		for _, o := range w.loop.Far.Acts.Objects {
			if b := o.(*kit.Button); b.Visible() && strings.HasPrefix(b.Text, words) {
				test.Tap(b)
				return
			}
		}
		t.Fatalf("%q cannot be touched", words)
	}
	touch("Set up the next take")
	touch("Play a take")
	touch("I will stop the crank first")
	w.loop.Agreed = time.Time{}
	touch("Turned")
	touch("Play a take")
	if n := len(w.desk.Machine().Takes); n != 2 || w.desk.Machine().Target.Song == "" {
		t.Errorf("%d takes, at %+v", n, w.desk.Machine().Target)
	}
	w.desk.Bench.Moved(0, "")
	for _, way := range []string{"Before: Mill Waltz, +", "Next: Low Water, +"} {
		if w.desk.View().Stage == loop.AwaitMove {
			touch("Turned")
		}
		w.refresh()
		touch(way)
	}
	if now := w.desk.Machine().Target; now.Song != "Low Water" || now.TempoBPM != 72 {
		t.Errorf("on along the list it is at %+v", now)
	}
	touch("Whole window")
	if w.loop.Far.InSight || !w.desk.Win.FullScreen() {
		t.Error("the window has not the whole screen any more")
	}
}

// shownDialog returns what a dialog shows.
func shownDialog(t *testing.T, w *Window) fyne.CanvasObject {
	t.Helper()
	top, ok := w.desk.Win.Canvas().Overlays().Top().(fyne.Widget)
	if !ok {
		t.Fatal("no dialog opens")
	}
	for _, o := range test.WidgetRenderer(top).Objects() {
		if dialog, ok := o.(*widget.PopUp); ok {
			return dialog
		}
	}
	t.Fatal("what opens is no dialog")
	return nil
}

// A small display on the machine shows the whole window too, in any language, as wide as it
// is: nothing is cut at the right.
func TestSmallDisplay(t *testing.T) {
	if testing.Short() {
		t.Skip("lays out the whole window")
	}
	inEnglish(t)
	for _, l := range deeptest.Some(2, prefs.Languages) {
		tag := l.Tag
		must.Do(t, prefs.Speak(tag))
		w := windowToWalk(t, 100)
		w.FullScreen()
		w.desk.Win.Resize(fyne.NewSize(800, 480))
		walk := func(stage string) {
			t.Helper()
			w.fromAfar(false)
			settle(w.desk.Win.Content())
			if wide := w.zones.scroll.Content.MinSize().Width; wide > w.desk.Win.Canvas().Size().Width {
				t.Errorf("%s, %s: it is %g wide, the songs %g, the loop %g, take %g, record %g", tag, stage, wide, w.songs.Root.MinSize().Width, w.loop.Root.MinSize().Width, w.take.Root.MinSize().Width, w.history.Root.MinSize().Width)
			}
		}
		walk("welcome")
		w.Practice()
		walk("first machine")
		test.Tap(w.loop.PlayTake)
		walk("caution")
		test.Tap(w.loop.Understood)
		walk("move")
		w.loop.Move(26, "")
		test.Tap(w.loop.PlayTake)
		walk("tight")
		w.listSongs()
		walk("no songs")
		must.Do(t, w.desk.Bench.EditSongs(machine.AddSong(0, song("Mill Waltz", 96)), machine.AddSong(1, song("Low Water", 72))))
		w.refresh()
		walk("songs")
	}
}
