package ui

import (
	"context"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/loop"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
)

// quiet is a device with two channels that hear nothing.
type quiet struct{}

func (quiet) Rate() float64 { return quickRate }
func (quiet) Channels() int { return 2 }
func (quiet) Frames() int64 { return quickRate }
func (quiet) ReadAt(dst []float32, _ int, _ int64) (int, error) {
	for i := range dst {
		dst[i] = 0
	}
	return len(dst), nil
}

// testWindow is drawnWindow without the figures, which few tests look at.
func testWindow(t *testing.T) *Window {
	t.Helper()
	w := drawnWindow(t)
	undrawn := func(func()) {}
	w.record.curve.spawn, w.songs.curve.spawn = undrawn, undrawn
	return w
}

// drawnWindow makes a window whose long work runs in place and whose sessions and
// settings lie in folders of the test's own.
func drawnWindow(t *testing.T) *Window {
	t.Helper()
	t.Setenv("LAGWRIGHT_HOME", t.TempDir())
	t.Setenv("LAGWRIGHT_CONFIG", t.TempDir())
	w := newWindow(testApp(t), &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	t.Cleanup(func() { w.put(nil) })
	return w
}

func (w *Window) stage() loop.Stage { return w.view().Stage }

// tune plays and turns as told until the voice is tight.
func tune(t *testing.T, w *Window) {
	t.Helper()
	for takes := 0; w.stage() != loop.Tight; takes++ {
		if takes > 4 {
			t.Fatalf("not tight after %d takes: %s", takes, w.loop.why.text)
		}
		test.Tap(w.loop.playTake)
		if w.stage() == loop.AwaitMove {
			test.Tap(w.loop.turned)
		}
	}
}

func TestNewcomerTunesAVoice(t *testing.T) {
	w := drawnWindow(t)
	w.Practice()
	if !w.loop.playTake.Visible() || w.loop.turned.Visible() || w.loop.do.text != "Play a take" {
		t.Fatalf("a fresh session says %q", w.loop.do.text)
	}
	takes := 0
	for w.stage() != loop.Tight {
		if takes++; takes > 3 {
			t.Fatalf("not tight after three takes: %s", w.loop.why.text)
		}
		test.Tap(w.loop.playTake)
		if !strings.Contains(w.take.head.Text, "pairs used") {
			t.Errorf("the take pane says %q", w.take.head.Text)
		}
		if w.stage() != loop.AwaitMove {
			continue
		}
		if !w.loop.caution.Visible() {
			t.Error("no caution before the plate is moved")
		}
		want := *w.view()
		if !strings.HasPrefix(w.loop.do.text, "Turn the programme ") || !strings.HasPrefix(w.loop.turned.Text, "Turned ") {
			t.Errorf("advice %q, button %q", w.loop.do.text, w.loop.turned.Text)
		}
		test.Tap(w.loop.turned)
		if got := w.view().Setting; got != want.Setting+want.Steps {
			t.Errorf("the plate stands at %d, want %d", got, want.Setting+want.Steps)
		}
		if w.loop.caution.Visible() {
			t.Error("the caution stays after the move")
		}
	}
	if w.loop.whose.text != "tub drum" {
		t.Errorf("the lag is of %q", w.loop.whose.text)
	}
	if w.loop.do.text != "Tight: leave the plate" || !w.loop.next.Visible() {
		t.Errorf("a tight voice says %q", w.loop.do.text)
	}
	if row := w.record.settingRow(0); !strings.Contains(row, "84 BPM") || !strings.Contains(row, "tub drum") {
		t.Errorf("settings say %q", row)
	}
}

func TestReopenedSessionContinues(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	w.turned(4, "four only")
	dir, want := w.bench.Dir(), *w.view()
	w.closeSession()
	if w.body.Objects[0].(*container.Scroll).Content != w.welcome.root || len(w.welcome.shelf.recents) != 1 {
		t.Fatalf("after closing: %d recent sessions", len(w.welcome.shelf.recents))
	}
	w.OpenSession(dir)
	got := w.view()
	if got.Setting != 4 || got.Stage != want.Stage || w.showing != 1 {
		t.Errorf("reopened at %d, showing take %d; left at %d", got.Setting, w.showing, want.Setting)
	}
	if row := w.record.takeRow(0); !strings.Contains(row, "4 ahead") {
		t.Errorf("the take's row says %q, want the move that was made", row)
	}
}

func TestErrorsAreSentencesInTheWindow(t *testing.T) {
	w := testWindow(t)
	w.OpenSession(filepath.Join(t.TempDir(), "no such session"))
	if got := w.notice.text.Text; !w.notice.root.Visible() || !strings.Contains(got, "no such session") || !strings.HasSuffix(got, ".") {
		t.Errorf("a missing session says %q", got)
	}
	w.Practice()
	if w.notice.root.Visible() {
		t.Errorf("old news stays: %q", w.notice.text.Text)
	}
	path := filepath.Join(t.TempDir(), "notes.wav")
	if err := os.WriteFile(path, []byte("these are words, not sound"), 0o600); err != nil {
		t.Fatal(err)
	}
	w.openRecording(path, false)
	if got := w.notice.text.Text; !strings.Contains(got, "notes.wav") || len(w.session().Takes) != 0 {
		t.Errorf("a bad recording says %q and leaves %d takes", got, len(w.session().Takes))
	}
}

// record writes a recording of the simulated machine.
func record(t *testing.T, name string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 84, Seed: 8, Rate: quickRate})
	if err := take.Write(context.Background(), path, recording, nil); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestDroppedRecordingBecomesATake(t *testing.T) {
	w := testWindow(t)
	path := record(t, "crank.wav")
	drop := func(paths ...string) {
		var uris []fyne.URI
		for _, p := range paths {
			uris = append(uris, storage.NewFileURI(p))
		}
		w.dropped(uris)
	}
	drop(path)
	if !strings.Contains(w.notice.text.Text, "session first") {
		t.Errorf("without a session a dropped recording says %q", w.notice.text.Text)
	}
	w.Practice()
	drop(path, path)
	if takes := w.session().Takes; len(takes) != 1 || takes[0].Origin != "opened from crank.wav" {
		t.Fatalf("takes %+v", takes)
	}
	if !strings.Contains(w.notice.text.Text, "one take at a time") {
		t.Errorf("two dropped at once say %q", w.notice.text.Text)
	}
	dir := w.bench.Dir()
	w.closeSession()
	drop(dir)
	if w.bench == nil || w.bench.Dir() != dir {
		t.Error("a dropped session folder was not opened")
	}
}

func TestNextTempoAsksForThePlateFirst(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	tune(t, w)
	first := w.session().Target
	w.aim(session.Target{TempoBPM: 120, Voice: first.Voice})
	if w.stage() != loop.AwaitMove || !strings.Contains(w.loop.why.text, "The law puts") {
		t.Errorf("at the next tempo the window says %q: %q", w.loop.do.text, w.loop.why.text)
	}
	w.record.settings.Select(0) // the person picks the settled tempo
	if w.session().Target != first {
		t.Errorf("picking a setting aims at %+v, want %+v", w.session().Target, first)
	}
}

func TestCancelledJobIsNoNews(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.measure("Working…", func(ctx context.Context, _ *bench.Bench, progress func(float64)) (session.Take, error) {
		if !w.jobs.busy() || !w.jobs.strip.Visible() || !w.loop.playTake.Disabled() {
			t.Error("a running job does not show")
		}
		progress(0.5)
		w.playTake() // one job at a time: nothing may happen
		w.jobs.stop()
		<-ctx.Done()
		return session.Take{}, ctx.Err()
	})
	if w.jobs.busy() || w.jobs.strip.Visible() || w.notice.root.Visible() || len(w.session().Takes) != 0 || w.loop.playTake.Disabled() {
		t.Errorf("after cancelling: busy %v, notice %q, %d takes", w.jobs.busy(), w.notice.text.Text, len(w.session().Takes))
	}
}

// A take whose waveforms were cancelled is kept, and the window says so.
func TestCancelAfterMeasuringKeepsTheTake(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.measure("Playing…", func(ctx context.Context, b *bench.Bench, progress func(float64)) (session.Take, error) {
		kept, err := b.Play(ctx, progress)
		w.jobs.stop()
		return kept, err
	})
	if got := w.notice.text.Text; len(w.session().Takes) != 1 || !strings.Contains(got, "ake 1 was measured and kept") {
		t.Errorf("%d takes, notice %q", len(w.session().Takes), got)
	}
}

// The menu's shortcuts reach past a dialog; the commands must not.
func TestNothingHappensUnderADialog(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	dir := w.bench.Dir()
	w.askMove()
	if w.win.Canvas().Overlays().Top() == nil {
		t.Fatal("no dialog")
	}
	for name, command := range map[string]func(){
		"close": w.closeSession, "play": w.playTake, "turned": w.turnedAsAdvised, "next tempo": w.askTarget,
		"practice": w.Practice, "new": w.askSession, "save": w.saveCurve, "open": w.chooseRecording,
		"drop": func() { w.dropped([]fyne.URI{storage.NewFileURI(t.TempDir())}) },
	} {
		command()
		if w.bench == nil || w.bench.Dir() != dir || len(w.session().Takes) != 1 || w.session().Takes[0].Moved != nil || w.jobs.busy() || len(w.win.Canvas().Overlays().List()) != 1 {
			t.Fatalf("%s went through under a dialog", name)
		}
	}
}

// Too few pairs give no number, large or small.
func TestNoNumberWithoutAReading(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	one := loop.Result{Take: &session.Take{ID: 9}, Heard: session.Heard{Reading: calib.Reading{LagMS: 200, LagCI95MS: [2]float64{200, 200}, Pairs: []calib.Pair{{LagMS: 200, Used: true}}}}}
	w.loop.showLag(&loop.View{Last: &one})
	if w.loop.lag.text != "" || !strings.Contains(w.loop.side.text, "no reading") {
		t.Errorf("one pair shows %q %q", w.loop.lag.text, w.loop.side.text)
	}
	if head := takeHead(one); strings.Contains(head, " ms") || !strings.Contains(head, "1 of 1 pairs used") {
		t.Errorf("one pair's take says %q", head)
	}
}

func TestGoneSessionLeavesTheList(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir := w.bench.Dir()
	w.closeSession()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	w.welcome.refresh()
	w.welcome.list.Select(0)
	if len(w.welcome.shelf.recents) != 0 || !strings.Contains(w.notice.text.Text, dir) || w.bench != nil {
		t.Errorf("%d sessions listed, notice %q", len(w.welcome.shelf.recents), w.notice.text.Text)
	}
}

// Every dialog opens, the file dialogs too.
func TestDialogsOpen(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	for name, ask := range map[string]func(){
		"new session": w.askSession, "next tempo": w.askTarget, "move": w.askMove, "recording": w.chooseRecording,
		"channels": w.chooseChannels, "session": w.chooseSession, "curve": w.saveCurve, "fan": w.saveFan, "card": w.saveCard,
		"help": w.explain, "which channel": func() { w.askChannels("crank.wav", 4) },
	} {
		ask()
		overlays := w.win.Canvas().Overlays()
		if overlays.Top() == nil {
			t.Errorf("%s: no dialog opens", name)
			continue
		}
		overlays.Top().Hide()
		for overlays.Top() != nil {
			overlays.Remove(overlays.Top())
		}
	}
}

// A take that is left out counts for nothing until it is counted again.
func TestLeaveATakeOut(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	tune(t, w)
	takes := len(w.session().Takes)
	w.leaveOut()
	if v := w.view(); !v.Session.Takes[takes-1].LeftOut || len(v.Settings) != 0 || v.Stage != loop.AwaitTake {
		t.Errorf("left out: %d settings, stage %d", len(v.Settings), v.Stage)
	}
	if row := w.record.takeRow(0); !strings.Contains(row, "left out") || w.leaveOutWords() != "Count this take again" {
		t.Errorf("the row says %q, the menu %q", row, w.leaveOutWords())
	}
	w.leaveOut()
	if v := w.view(); len(v.Settings) != 1 || v.Stage != loop.Tight {
		t.Errorf("counted again: %d settings, stage %d", len(v.Settings), v.Stage)
	}
}

func TestPracticeTwiceStaysInOneSession(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir := w.bench.Dir()
	w.Practice()
	if w.bench.Dir() != dir || w.notice.root.Visible() {
		t.Errorf("a second time opens %s and says %q", w.bench.Dir(), w.notice.text.Text)
	}
	w.OpenSession(dir)
	if w.notice.root.Visible() {
		t.Errorf("opening what is open says %q", w.notice.text.Text)
	}
	other := newWindow(fyne.CurrentApp(), &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	defer other.put(nil)
	other.Practice()
	if other.bench == nil || other.bench.Dir() == dir {
		t.Errorf("a second window says %q", other.notice.text.Text)
	}
}

func TestLeftOverRecordingIsOffered(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir := w.bench.Dir()
	w.closeSession()
	data, err := os.ReadFile(record(t, "crank.wav"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "take-001.wav"), data, 0o600); err != nil {
		t.Fatal(err)
	}
	w.OpenSession(dir)
	if w.win.Canvas().Overlays().Top() == nil {
		t.Error("a recording without a take is not offered")
	}
}

func TestFigureIsSavedByItsName(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	dir := t.TempDir()
	for _, c := range []struct{ asked, written string }{
		{"curve.png", "curve.png"}, {"curve.svg", "curve.svg"}, {"curve", "curve.png"},
	} {
		asked := filepath.Join(dir, c.asked)
		w.writeFigure(asked, w.curveFigure)
		if info, err := os.Stat(filepath.Join(dir, c.written)); err != nil || info.Size() < 1000 {
			t.Errorf("%s: %v", c.asked, err)
		}
	}
	w.writeFigure(filepath.Join(dir, "curve.gif"), w.curveFigure)
	if !strings.Contains(w.notice.text.Text, ".svg") {
		t.Errorf("a format that is not there says %q", w.notice.text.Text)
	}
}

// A wrong value that is being typed carries no tick and is not confirmed.
func TestWrongValueWhileTyped(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.playTake)
	w.askTarget()
	tempo := inDialog[*field](t, w)[0]
	ticked := func() bool {
		for _, o := range test.WidgetRenderer(tempo).Objects() {
			if mark, ok := o.(fyne.Widget); ok && o.Visible() && reflect.TypeOf(mark).String() == "*widget.validationStatus" {
				for _, icon := range test.WidgetRenderer(mark).Objects() {
					if image, ok := icon.(*canvas.Image); ok && image.Visible() && image.Resource.Name() == theme.ConfirmIcon().Name() {
						return true
					}
				}
			}
		}
		return false
	}
	keep := inDialog[*button](t, w)[1]
	test.Type(tempo, "72")
	if keep.Text != "Go on" || keep.Disabled() || !ticked() {
		t.Errorf("72 BPM: %q may be pressed %v, tick %v", keep.Text, !keep.Disabled(), ticked())
	}
	for _, wrong := range []string{"abc", "72x"} {
		tempo.SetText("72")
		tempo.SetText("")
		test.Type(tempo, wrong)
		if !keep.Disabled() || ticked() {
			t.Errorf("%q: may be pressed %v, tick %v", wrong, !keep.Disabled(), ticked())
		}
	}
}

func TestNewSessionFromTheForm(t *testing.T) {
	now := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	s := newSession(" Sluice bench ", "drum, , bar ", 92, 4, now)
	if s.Name != "Sluice bench 2026-11-25" || len(s.Machine.Voices) != 2 || s.Machine.Voices[1] != "bar" || s.Target.Voice != "drum" || s.ToleranceMS != 4 {
		t.Errorf("session %+v", s)
	}
	w := testWindow(t)
	w.create(s)
	if w.bench == nil || w.loop.playTake.Visible() || !w.loop.openTake.Visible() {
		t.Error("a real machine's session offers to play, not to open a recording")
	}
	// A session that cannot be made says why and changes nothing.
	w.create(newSession("", "", 92, 4, now))
	if !w.notice.root.Visible() || w.session().Machine.Name != "Sluice bench" {
		t.Errorf("an impossible session says %q", w.notice.text.Text)
	}
}

// Every command is in the main menu, and those of the loop have a shortcut.
func TestMenuFollowsTheLoop(t *testing.T) {
	w := testWindow(t)
	find := func(label string) *fyne.MenuItem {
		for _, m := range w.menu().Items {
			for _, i := range m.Items {
				if i.Label == label {
					return i
				}
			}
		}
		t.Fatalf("no command %q in the menu", label)
		return nil
	}
	if !find("Play a take").Disabled || find("Simulated machine").Disabled {
		t.Error("without a session, playing is offered or the simulated machine is not")
	}
	w.Practice()
	find("Play a take").Action()
	if find("Turned as advised").Disabled || find("Turned as advised").Shortcut == nil {
		t.Error("after a take that asks for a move, the menu does not offer it")
	}
	find("Turned as advised").Action()
	if !find("Turned as advised").Disabled {
		t.Error("the move is offered twice")
	}
	seen := map[string]string{}
	for _, m := range w.menu().Items {
		for _, i := range m.Items {
			if i.Shortcut == nil {
				continue
			}
			name := i.Shortcut.ShortcutName()
			if other, taken := seen[name]; taken {
				t.Errorf("%q and %q share the shortcut %s", other, i.Label, name)
			}
			seen[name] = i.Label
		}
	}
}

func TestWords(t *testing.T) {
	for in, want := range map[string]string{"": "", "x.wav is gone": "x.wav is gone.", "there is no room": "There is no room.", "Done.": "Done.", "is it? Yes!": "Is it? Yes!"} {
		if got := asSentence(in); got != want {
			t.Errorf("asSentence(%q) = %q, want %q", in, got, want)
		}
	}
	for in, want := range map[string]float64{"92": 92, " 92,5 ": 92.5, "0.6": 0.6} {
		if got, err := parseNumber(in); err != nil || got != want {
			t.Errorf("parseNumber(%q) = %g, %v", in, got, err)
		}
	}
	steps := count(0, 100, false)
	for in, ok := range map[string]bool{"": false, "2.5": false, "2.0": true, "101": false, "7": true} {
		if err := steps.Validator(in); (err == nil) != ok {
			t.Errorf("steps %q: %v", in, err)
		}
	}
	tempo := number("", 20, 400, false)
	for in, ok := range map[string]bool{"": false, "abc": false, "19": false, "20": true, "400": true, "1e9": false, "NaN": false} {
		if err := tempo.Validator(in); (err == nil) != ok {
			t.Errorf("tempo %q: %v", in, err)
		}
	}
}

// The headline is as large as its place allows and never wider than it, down to
// its smallest size.
func TestSignFits(t *testing.T) {
	testApp(t)
	s := newSign(44, 22, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300)
	s.text = "Turn the programme 26 steps ahead"
	wide, lines := s.fit(fyne.NewSize(1200, 120))
	if wide != 44 || len(lines) != 1 {
		t.Errorf("with room: size %g in %d lines", wide, len(lines))
	}
	narrow, lines := s.fit(fyne.NewSize(420, 120))
	if narrow < 30 || len(lines) != 2 {
		t.Errorf("in 420: size %g in %q", narrow, lines)
	}
	small, lines := s.fit(fyne.NewSize(320, 60))
	if small < 22 || small > narrow {
		t.Errorf("in 320×60: size %g in %q", small, lines)
	}
	for _, line := range lines {
		if got := fyne.MeasureText(line, small, s.style).Width; got > 320 {
			t.Errorf("%q is %g wide at size %g", line, got, small)
		}
	}
	if got := s.MinSize(); got.Width != 300 || got.Height < 2*22 {
		t.Errorf("asks for %v", got)
	}
}
