package ui

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/plotting"
	"lagwright/ui/kit"
	"lagwright/ui/shelf"
	"lagwright/ui/takes"
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
	w.history.Curve.Spawn, w.songs.Curve.Spawn = undrawn, undrawn
	return w
}

// drawnWindow makes a window whose long work runs in place and whose machines and
// settings lie in folders of the test's own.
func drawnWindow(t *testing.T) *Window {
	t.Helper()
	t.Setenv("LAGWRIGHT_HOME", t.TempDir())
	w := newWindow(testApp(t), &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	t.Cleanup(func() { w.put(nil) })
	return w
}

func (w *Window) stage() loop.Stage { return w.desk.View().Stage }

// tuneVoice plays and turns as told until the voice is tight.
func tuneVoice(t *testing.T, w *Window) {
	t.Helper()
	for takes := 0; w.stage() != loop.Tight; takes++ {
		if takes > 4 {
			t.Fatalf("not tight after %d takes: %s", takes, w.loop.Why.Text)
		}
		test.Tap(w.loop.PlayTake)
		if w.stage() == loop.AwaitMove {
			test.Tap(w.loop.Turned)
		}
	}
}

func TestNewcomerTunesAVoice(t *testing.T) {
	w := drawnWindow(t)
	w.Practice()
	if !w.loop.PlayTake.Visible() || w.loop.Turned.Visible() || w.loop.Do.Text != "Play a take" {
		t.Fatalf("a fresh machine says %q", w.loop.Do.Text)
	}
	takes := 0
	for w.stage() != loop.Tight {
		if takes++; takes > 3 {
			t.Fatalf("not tight after three takes: %s", w.loop.Why.Text)
		}
		test.Tap(w.loop.PlayTake)
		if !strings.Contains(w.take.Head.Text, "pairs used") {
			t.Errorf("the take pane says %q", w.take.Head.Text)
		}
		if w.stage() != loop.AwaitMove {
			continue
		}
		if !w.loop.Caution.Visible() {
			t.Error("no caution before the plate is moved")
		}
		want := *w.desk.View()
		if !strings.HasPrefix(w.loop.Do.Text, "Stop the crank, then turn the plate ") || !strings.HasPrefix(w.loop.Turned.Text, "Turned ") {
			t.Errorf("advice %q, button %q", w.loop.Do.Text, w.loop.Turned.Text)
		}
		test.Tap(w.loop.Turned)
		if got := w.desk.View().Setting; got != want.Setting+want.Steps {
			t.Errorf("the plate stands at %d, want %d", got, want.Setting+want.Steps)
		}
		if w.loop.Caution.Visible() {
			t.Error("the caution stays after the move")
		}
	}
	if w.loop.Whose.Text != "tub drum  ·  by take 2, at 84 BPM" {
		t.Errorf("the lag is of %q", w.loop.Whose.Text)
	}
	if w.loop.Do.Text != "Tight: leave the plate" || !w.loop.Next.Visible() {
		t.Errorf("a tight voice says %q", w.loop.Do.Text)
	}
	if row := w.history.SettingRow(0); !strings.Contains(row, "84 BPM") || !strings.Contains(row, "tub drum") {
		t.Errorf("settings say %q", row)
	}
	tight := *w.desk.View()
	tight.Settings = slices.Clone(tight.Settings)
	tight.Settings[0].Target.Song = "Mill Waltz"
	w.history.Show(&tight, plotting.SetListCurveOf(&tight, w.songs.At), 2, "tub drum")
	if row := w.history.SettingRow(0); !strings.Contains(row, "Mill Waltz") {
		t.Errorf("of a song settings say %q", row)
	}
}

func TestReopenedMachineContinues(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.loop.Move(4, "four only")
	dir, want := w.desk.Bench.Dir(), *w.desk.View()
	w.closeMachine()
	if w.zones.body.Objects[0].(*container.Scroll).Content != w.welcome.Root || len(w.welcome.Shelf.All) != 1 {
		t.Fatalf("after closing: %d machines", len(w.welcome.Shelf.All))
	}
	all := w.welcome.Shelf.All
	w.welcome.Shelf.All = nil
	w.welcome.Told()
	w.desk.Win.Resize(small.AddWidthHeight(10, 10)) // lays it out without a machine
	w.welcome.Shelf.All = all
	w.welcome.Told()
	where := fyne.CurrentApp().Driver().AbsolutePositionForObject
	if search := w.welcome.Search; where(search).Y+search.Size().Height > where(w.welcome.List).Y {
		t.Errorf("the first machine is listed at %v, over the search at %v", where(w.welcome.List), where(search))
	}
	w.Open(dir)
	got := w.desk.View()
	if got.Setting != 4 || got.Stage != want.Stage || w.take.Showing != 1 {
		t.Errorf("reopened at %d, showing take %d; left at %d", got.Setting, w.take.Showing, want.Setting)
	}
	if row := w.history.TakeRow(0); !strings.Contains(row, "4 ahead") {
		t.Errorf("the take's row says %q, want the move that was made", row)
	}
}

func TestErrorsAreSentencesInTheWindow(t *testing.T) {
	w := testWindow(t)
	w.Open(filepath.Join(t.TempDir(), "no such machine"))
	if got := w.desk.Notice.Text.Text; !w.desk.Notice.Card.Visible() || !strings.Contains(got, "no such machine") || !strings.HasSuffix(got, ".") {
		t.Errorf("a missing machine says %q", got)
	}
	w.Practice()
	if w.desk.Notice.Card.Visible() {
		t.Errorf("old news stays: %q", w.desk.Notice.Text.Text)
	}
	path := filepath.Join(t.TempDir(), "notes.wav")
	must.Do(t, os.WriteFile(path, []byte("these are words, not sound"), 0o600))
	w.record.OpenRecording(path, false)
	if got := w.desk.Notice.Text.Text; !strings.Contains(got, "notes.wav") || len(w.desk.Machine().Takes) != 0 {
		t.Errorf("a bad recording says %q and leaves %d takes", got, len(w.desk.Machine().Takes))
	}
}

// recording writes a recording of the simulated machine.
func recording(t *testing.T, name string) string {
	t.Helper()
	return recordingOf(t, filepath.Join(t.TempDir(), name), 8)
}

// recordingOf writes at path what the simulated machine plays by a seed.
func recordingOf(t *testing.T, path string, seed uint64) string {
	t.Helper()
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 84, Seed: seed, Rate: quickRate})
	must.Do(t, take.Write(context.Background(), path, recording, nil))
	return path
}

func TestDroppedRecordingBecomesATake(t *testing.T) {
	w := testWindow(t)
	path := recording(t, "crank.wav")
	drop := func(paths ...string) {
		var uris []fyne.URI
		for _, p := range paths {
			uris = append(uris, storage.NewFileURI(p))
		}
		w.dropped(uris)
	}
	drop(path)
	if !strings.Contains(w.desk.Notice.Text.Text, "then crank.wav is opened in it") {
		t.Errorf("without a machine a dropped recording says %q", w.desk.Notice.Text.Text)
	}
	w.Practice()
	if takes := w.desk.Machine().Takes; len(takes) != 1 || takes[0].Origin.English() != "opened from crank.wav" {
		t.Fatalf("the recording that waited for a machine is not in it: %+v", takes)
	}
	drop(path)
	if n := len(w.desk.Machine().Takes); n != 1 || !strings.Contains(w.desk.Notice.Text.Text, "recording is take 1 already") {
		t.Errorf("dropped again: %d takes, %q", n, w.desk.Notice.Text.Text)
	}
	other := recordingOf(t, filepath.Join(t.TempDir(), "crank.wav"), 9)
	drop(other, other)
	if takes := w.desk.Machine().Takes; len(takes) != 2 || takes[1].Origin.English() != "opened from crank.wav" {
		t.Fatalf("takes %+v", takes)
	}
	if !strings.Contains(w.desk.Notice.Text.Text, "one take at a time") {
		t.Errorf("two dropped at once say %q", w.desk.Notice.Text.Text)
	}
	dir := w.desk.Bench.Dir()
	w.closeMachine()
	drop(dir)
	if w.desk.Bench == nil || w.desk.Bench.Dir() != dir {
		t.Error("a dropped machine folder was not opened")
	}
	w.closeMachine()
	w.Open(filepath.Join(dir, "take-001.wav")) // as in lagwright FILE
	if takes := w.desk.Machine().Takes; w.desk.Bench == nil || w.desk.Bench.Dir() != dir || len(takes) != 2 {
		t.Error("a recording that lies in a machine did not open that")
	}
}

func TestNextTempoAsksForThePlateFirst(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	tuneVoice(t, w)
	first := w.desk.Machine().Target
	w.desk.Aim(machine.Target{TempoBPM: 120, Voice: first.Voice})
	if w.stage() != loop.AwaitMove || !strings.Contains(w.loop.Why.Text, "should strike together") {
		t.Errorf("at the next tempo the window says %q: %q", w.loop.Do.Text, w.loop.Why.Text)
	}
	w.history.Settings.Select(0) // the person picks the settled tempo
	if w.desk.Machine().Target != first {
		t.Errorf("picking a setting aims at %+v, want %+v", w.desk.Machine().Target, first)
	}
}

func TestCancelledJobIsNoNews(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.record.Measure("Working…", func(ctx context.Context, _ *bench.Bench, progress func(float64)) (machine.Take, error) {
		if !w.desk.Jobs.Busy() || !w.desk.Jobs.Strip.Visible() || !w.loop.PlayTake.Disabled() {
			t.Error("a running job does not show")
		}
		progress(0.5)
		w.record.PlayTake() // one job at a time: nothing may happen
		w.desk.Jobs.Stop()
		<-ctx.Done()
		return machine.Take{}, ctx.Err()
	})
	if w.desk.Jobs.Busy() || w.desk.Jobs.Strip.Visible() || w.desk.Notice.Card.Visible() || len(w.desk.Machine().Takes) != 0 || w.loop.PlayTake.Disabled() {
		t.Errorf("after cancelling: busy %v, notice %q, %d takes", w.desk.Jobs.Busy(), w.desk.Notice.Text.Text, len(w.desk.Machine().Takes))
	}
}

// A take whose waveforms were cancelled is kept, and the window says so.
func TestCancelAfterMeasuringKeepsTheTake(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.record.Measure("Playing…", func(ctx context.Context, b *bench.Bench, progress func(float64)) (machine.Take, error) {
		kept, err := b.Play(ctx, progress)
		w.desk.Jobs.Stop()
		return kept, err
	})
	if got := w.desk.Notice.Text.Text; len(w.desk.Machine().Takes) != 1 || !strings.Contains(got, "ake 1 was measured and kept") {
		t.Errorf("%d takes, notice %q", len(w.desk.Machine().Takes), got)
	}
}

// The menu's shortcuts reach past a dialog; the commands must not.
func TestNothingHappensUnderADialog(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	dir := w.desk.Bench.Dir()
	w.loop.AskMove()
	if w.desk.Win.Canvas().Overlays().Top() == nil {
		t.Fatal("no dialog")
	}
	steps := inDialog[*kit.Field](t, w)[0]
	if steps.SetText("-3"); steps.Validate() == nil || !strings.Contains(steps.Validate().Error(), "choose back") {
		t.Errorf("-3 steps: %v", steps.Validate())
	}
	for name, command := range map[string]func(){
		"close": w.closeMachine, "play": w.record.PlayTake, "turned": w.loop.TurnedAsAdvised, "next tempo": w.loop.AskTarget,
		"practice": w.Practice, "new": w.welcome.AskMachine, "save": command(t, w, "Save the curve…").Action, "open": w.record.ChooseRecording,
		"drop": func() { w.dropped([]fyne.URI{storage.NewFileURI(t.TempDir())}) },
	} {
		command()
		if w.desk.Bench == nil || w.desk.Bench.Dir() != dir || len(w.desk.Machine().Takes) != 1 || w.desk.Machine().Takes[0].Moved != nil || w.desk.Jobs.Busy() || len(w.desk.Win.Canvas().Overlays().List()) != 1 {
			t.Fatalf("%s went through under a dialog", name)
		}
	}
}

// Too few pairs give no number, large or small.
func TestNoNumberWithoutAReading(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	one := loop.Result{Take: &machine.Take{ID: 9}, Heard: &machine.Heard{Reading: calib.Reading{LagMS: 200, LagCI95MS: [2]float64{200, 200}, Pairs: []calib.Pair{{LagMS: 200, Used: true}}}}}
	w.loop.ShowLag(&loop.View{Last: &one})
	if w.loop.Lag.Text != "" || !strings.Contains(w.loop.Side.Text, "no reading") {
		t.Errorf("one pair shows %q %q", w.loop.Lag.Text, w.loop.Side.Text)
	}
	if head := takes.HeadOf(one); strings.Contains(head, " ms") || !strings.Contains(head, "1 of 1 pairs used") {
		t.Errorf("one pair's take says %q", head)
	}
}

// A number whose interval is wider than itself is none: what is large says so.
func TestNoNumberWithoutAnInterval(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	for _, c := range []struct {
		lag, half float64
		large     string
	}{{82.9, 92, "not known yet"}, {-82.9, 91.9, "not known yet"}, {0.3, 1.5, "0.3"}, {-82.9, 20, "82.9"}} {
		v := *w.desk.View()
		v.Number = &loop.Number{Voice: "tub drum", LagMS: c.lag, HalfMS: c.half}
		w.loop.ShowLag(&v)
		if side := w.loop.Side.Text; w.loop.Lag.Text != c.large || !strings.Contains(side, fmt.Sprintf("± %.1f", c.half)) {
			t.Errorf("%g ± %g ms: %q, %q", c.lag, c.half, w.loop.Lag.Text, side)
		}
	}
}

func TestGoneMachineLeavesTheList(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir := w.desk.Bench.Dir()
	w.closeMachine()
	must.Do(t, os.RemoveAll(dir))
	w.welcome.List.Select(0)
	if !strings.Contains(w.desk.Notice.Text.Text, dir) || w.desk.Bench != nil {
		t.Errorf("a folder that is gone: notice %q", w.desk.Notice.Text.Text)
	}
}

// Every dialog opens, the file dialogs too.
func TestDialogsOpen(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	for name, ask := range map[string]func(){
		"new machine": w.welcome.AskMachine, "next tempo": w.loop.AskTarget, "move": w.loop.AskMove, "recording": w.record.ChooseRecording,
		"channels": w.record.ChooseChannels, "machine": w.welcome.ChooseMachine, "curve": command(t, w, "Save the curve…").Action, "fan": command(t, w, "Save the hit fan…").Action, "card": command(t, w, "Save the card…").Action,
		"help": func() { w.showHandbook("") }, "which channel": func() { w.record.AskChannels("crank.wav", 4) },
	} {
		ask()
		overlays := w.desk.Win.Canvas().Overlays()
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
	tuneVoice(t, w)
	takes := len(w.desk.Machine().Takes)
	w.take.LeaveOut()
	if v := w.desk.View(); !v.Machine.Takes[takes-1].LeftOut || len(v.Settings) != 0 || v.Stage != loop.AwaitTake {
		t.Errorf("left out: %d settings, stage %d", len(v.Settings), v.Stage)
	}
	if row := w.history.TakeRow(0); !strings.Contains(row, "left out") || command(t, w, "Count this take again").Disabled {
		t.Errorf("the row says %q", row)
	}
	w.take.LeaveOut()
	if v := w.desk.View(); len(v.Settings) != 1 || v.Stage != loop.Tight {
		t.Errorf("counted again: %d settings, stage %d", len(v.Settings), v.Stage)
	}
}

func TestPracticeTwiceStaysInOneMachine(t *testing.T) {
	w := testWindow(t)
	spawn, job := w.desk.Jobs.Spawn, func() {}
	w.desk.Jobs.Spawn = func(f func()) { job = f }
	if w.Practice(); w.desk.Bench != nil {
		t.Error("it is looked for where the window waits for it")
	}
	w.desk.Jobs.Spawn = spawn
	job()
	dir := w.desk.Bench.Dir()
	w.Practice()
	if w.desk.Bench.Dir() != dir || w.desk.Notice.Card.Visible() {
		t.Errorf("a second time opens %s and says %q", w.desk.Bench.Dir(), w.desk.Notice.Text.Text)
	}
	w.Open(dir)
	if w.desk.Notice.Card.Visible() {
		t.Errorf("opening what is open says %q", w.desk.Notice.Text.Text)
	}
	other := newWindow(fyne.CurrentApp(), &capture.Replay{Source: quiet{}}, func(f func()) { f() })
	defer other.put(nil)
	other.Practice()
	if other.desk.Bench == nil || other.desk.Bench.Dir() == dir {
		t.Errorf("a second window says %q", other.desk.Notice.Text.Text)
	}
}

func TestLeftOverRecordingIsOffered(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir := w.desk.Bench.Dir()
	w.closeMachine()
	data := must.Get(os.ReadFile(recording(t, "crank.wav")))(t)
	must.Do(t, os.WriteFile(filepath.Join(dir, "take-001.wav"), data, 0o600))
	w.Open(dir)
	if w.desk.Win.Canvas().Overlays().Top() == nil {
		t.Error("a recording without a take is not offered")
	}
}

// A take that a crash broke off is offered by the welcome, with its machine, and one press
// leads to it.
func TestBrokenTakeIsOfferedByTheWelcome(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	dir, name := w.desk.Bench.Dir(), w.desk.Machine().Build.Name
	w.closeMachine()
	if w.welcome.Broken.Visible() {
		t.Error("offered where nothing broke off")
	}
	recordingOf(t, filepath.Join(dir, "take-001.part.wav"), 20)
	next := newWindow(fyne.CurrentApp(), w.desk.Sound, func(f func()) { f() })
	t.Cleanup(func() { next.put(nil) })
	offer := next.welcome.Broken
	if !offer.Visible() || !strings.Contains(offer.Text, kit.Short(name)) {
		t.Fatalf("the welcome says %q", offer.Text)
	}
	if row := rowOf(t, next, name); !strings.HasPrefix(row.How.Text, "A take was not finished") {
		t.Errorf("its row says %q", row.How.Text)
	}
	test.Tap(offer)
	if next.desk.Bench == nil || next.desk.Bench.Dir() != dir {
		t.Fatal("its machine does not open")
	}
	pressIn(t, next, "Measure")
	if n := len(next.desk.Machine().Takes); n != 1 {
		t.Errorf("%d takes", n)
	}
	if next.closeMachine(); next.welcome.Broken.Visible() {
		t.Error("measured, it is still offered")
	}
}

func TestFigureIsSavedByItsName(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	dir := t.TempDir()
	for _, c := range []struct{ asked, written string }{
		{"curve.png", "curve.png"}, {"curve.svg", "curve.svg"}, {"curve", "curve.png"},
	} {
		asked := filepath.Join(dir, c.asked)
		w.export.Write(asked, w.export.Curve())
		if info, err := os.Stat(filepath.Join(dir, c.written)); err != nil || info.Size() < 1000 {
			t.Errorf("%s: %v", c.asked, err)
		}
	}
	w.export.Write(filepath.Join(dir, "curve.gif"), w.export.Curve())
	if !strings.Contains(w.desk.Notice.Text.Text, ".svg") {
		t.Errorf("a format that is not there says %q", w.desk.Notice.Text.Text)
	}
}

// A wrong value that is being typed carries no tick and is not confirmed.
func TestWrongValueWhileTyped(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.loop.AskTarget()
	tempo := inDialog[*kit.Field](t, w)[0]
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
	keep := inDialog[*kit.Button](t, w)[1]
	test.Type(tempo, "72")
	if keep.Text != "Set the tempo" || keep.Disabled() || !ticked() {
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

func TestNewMachineFromTheForm(t *testing.T) {
	m := shelf.NewMachine(" Sluice bench ", "drum, , bar ", 92, 4)
	if m.Build.Name != "Sluice bench" || len(m.Build.Voices) != 2 || m.Build.Voices[1] != "bar" || m.Target.Voice != "drum" || m.ToleranceMS != 4 {
		t.Errorf("machine %+v", m)
	}
	w := testWindow(t)
	w.welcome.Create(m)
	if w.desk.Bench == nil || !w.loop.PlayTake.Visible() || w.loop.PlayTake.Text != w.loop.Do.Text || !w.loop.OpenTake.Visible() {
		t.Errorf("to %q a machine of one's own offers %q", w.loop.Do.Text, w.loop.PlayTake.Text)
	}
	// A machine that cannot be made says why and changes nothing.
	w.welcome.Create(shelf.NewMachine("", "", 92, 4))
	if !w.desk.Notice.Card.Visible() || w.desk.Machine().Build.Name != "Sluice bench" {
		t.Errorf("an impossible machine says %q", w.desk.Notice.Text.Text)
	}
}

// A new machine can be begun once every field is right, in whatever order they are filled
// in; before that Enter does nothing, and what was typed stays.
func TestNewMachineWaitsForEveryField(t *testing.T) {
	w := testWindow(t)
	w.welcome.AskMachine()
	f := w.welcome.Begin
	_, buttons := dialogIn(t, w)
	for _, c := range []struct {
		field *kit.Field
		typed string
		done  bool
	}{{f.Name, "Barn organ", false}, {f.Voices, "drum, drum", false}, {f.Tempo, "92", false}, {f.Voices, "drum, bar", true}, {f.Tempo, "", false}, {f.Tempo, "92", true}} {
		c.field.SetText("")
		test.Type(c.field, c.typed)
		if buttons["Begin"].(*kit.Button).Disabled() == c.done {
			t.Errorf("after %q Begin can be pressed: %t, want %t", c.typed, !c.done, c.done)
		}
		if !c.done {
			c.field.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
		}
	}
	why := func() (said string) {
		for _, l := range inDialog[*widget.Label](t, w) {
			if l.Importance == widget.DangerImportance {
				said = l.Text
			}
		}
		return said
	}
	if got := why(); got != "" {
		t.Errorf("all is right, and the form says %q", got)
	}
	f.Tempo.SetText("x")
	if got := why(); !strings.HasPrefix(got, "Tempo: a number from") {
		t.Errorf("why it cannot be pressed: %q", got)
	}
	if w.desk.Bench != nil || f.Name.Text != "Barn organ" {
		t.Fatalf("begun too early, or the name is %q now", f.Name.Text)
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
	if items := w.record.Commands(true); slices.ContainsFunc(items, func(i *fyne.MenuItem) bool { return i.Label == "Play a take hands-free" }) {
		t.Error("two commands play a take of one's own machine in the same way")
	}
	if !find("Play a take").Disabled || find("Simulated machine").Disabled {
		t.Error("without a machine, playing is offered or the simulated machine is not")
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

// A take far from its tempo shows in large figures what was played, as the fan does, not what
// the law makes of it.
func TestFarTakeShowsWhatWasPlayed(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	path := filepath.Join(t.TempDir(), "fast.wav")
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 110, Seed: 9, Rate: quickRate})
	must.Do(t, take.Write(context.Background(), path, recording, nil))
	w.record.OpenRecording(path, false)
	v := w.desk.View()
	r := v.Last.Reading
	if want := fmt.Sprintf("%.1f", math.Abs(r.LagMS)); v.Number == nil || v.Last.Outcome != loop.TooFar || w.loop.Lag.Text != want || !strings.Contains(w.loop.Whose.Text, fmt.Sprintf("%.4g BPM", r.TempoBPM)) {
		t.Errorf("outcome %v: it shows %q, %q; want %s", v.Last.Outcome, w.loop.Lag.Text, w.loop.Whose.Text, want)
	}
}
