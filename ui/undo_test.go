package ui

import (
	"image"
	"image/draw"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
)

// twoTakes plays two takes and shows the second.
func twoTakes(t *testing.T) *Window {
	t.Helper()
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	test.Tap(w.loop.Turned)
	test.Tap(w.loop.PlayTake)
	if w.take.Showing != 2 {
		t.Fatalf("take %d is in sight", w.take.Showing)
	}
	return w
}

// What was changed last of the machine can be taken back whichever take is in sight,
// as the notice says.
func TestUndoOfTheMachineFromAnotherTake(t *testing.T) {
	w := twoTakes(t)
	was := w.desk.Machine().Build.Name
	w.welcome.Reword(w.desk.Bench.Dir(), "The machine is called Spring now.", func(b *bench.Bench) error { return b.Rename("Spring") })
	w.take.OpenTake(w.desk.View().Results[0][0])
	if w.take.Showing != 1 || command(t, w, "Undo").Disabled {
		t.Fatalf("with take %d in sight Undo is off", w.take.Showing)
	}
	w.undo()
	if got := w.desk.Machine().Build.Name; got != was {
		t.Errorf("undone, the machine is called %q, was %q", got, was)
	}
	if command(t, w, "Redo").Disabled {
		t.Error("Redo is off")
	}
	w.take.OpenTake(w.desk.View().Results[1][0])
	w.redo()
	if got := w.desk.Machine().Build.Name; got != "Spring" {
		t.Errorf("made again, the machine is called %q", got)
	}
}

// Changes of hits and of the machine are taken back latest first, and said, as they
// may be out of sight.
func TestUndoGoesFromHitsToTheMachine(t *testing.T) {
	w := twoTakes(t)
	was := w.desk.Machine().Build.Name
	w.welcome.Reword(w.desk.Bench.Dir(), "", func(b *bench.Bench) error { return b.Rename("Spring") })
	second, _ := w.take.InSight()
	w.take.EditHit(machine.StrikeOut(machine.VoiceChannel, second.Reading.Pairs[1].VoiceS))
	w.undo()
	if got, _ := w.take.InSight(); got.ByHand != nil || w.desk.Machine().Build.Name != "Spring" {
		t.Fatalf("the hit was changed last; undone, hits by hand %v, name %q", got.ByHand, w.desk.Machine().Build.Name)
	}
	w.undo()
	if got := w.desk.Machine().Build.Name; got != was {
		t.Errorf("undone twice, the machine is called %q", got)
	}
	if got := command(t, w, "Undo").Label; !strings.HasPrefix(got, "Undo: take 2 ") {
		t.Errorf("take 2 is offered as %q", got)
	}
	w.take.EditHit(machine.StrikeOut(machine.VoiceChannel, second.Reading.Pairs[1].VoiceS))
	w.take.OpenTake(w.desk.View().Results[0][0])
	w.undo()
	if got, _ := w.desk.View().Result(2, second.Voice); got.ByHand != nil || !strings.Contains(w.desk.Notice.Text.Text, "Undone: hit struck out") {
		t.Errorf("out of sight %d hits are changed still, and the window says %q", got.Changed(), w.desk.Notice.Text.Text)
	}
}

// A move told by mistake is taken back: the plate stands where it stood.
func TestMoveToldIsTakenBack(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	asked := *w.desk.View()
	test.Tap(w.loop.Turned)
	if w.desk.View().Setting != asked.Steps || command(t, w, "Undo").Disabled {
		t.Fatalf("turned, the plate stands at %d", w.desk.View().Setting)
	}
	w.undo()
	if got := w.desk.View(); got.Setting != 0 || got.Steps != asked.Steps || got.Do != asked.Do {
		t.Errorf("taken back, the plate stands at %d: %s", got.Setting, got.Do)
	}
	w.redo()
	if got := w.desk.View(); got.Setting != asked.Steps {
		t.Errorf("made again, the plate stands at %d", got.Setting)
	}
}

// A take is a change like any other: a wrong recording is taken back, the take before it comes
// in sight, and the recording stays.
func TestTakeIsTakenBack(t *testing.T) {
	w := twoTakes(t)
	before, path := *w.desk.View(), filepath.Join(t.TempDir(), "wrong.wav")
	recordingOf(t, path, 20)
	w.record.OpenRecording(path, false)
	if got := command(t, w, "Undo").Label; w.take.Showing != 3 || !strings.HasPrefix(got, "Undo: take 3 ") {
		t.Fatalf("take %d is in sight, offered is %q", w.take.Showing, got)
	}
	w.undo()
	if now := w.desk.View(); !reflect.DeepEqual(now.Machine, before.Machine) || now.Do != before.Do || w.take.Showing != 2 || !strings.HasPrefix(w.take.Head.Text, "Take 2") {
		t.Errorf("taken back, there are %d takes, and in sight is %q", len(now.Machine.Takes), w.take.Head.Text)
	}
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("just undone, it is offered again at once")
	}
	w.redo()
	m := w.desk.Machine()
	if len(m.Takes) != 3 || w.take.Showing != 3 {
		t.Errorf("made again, there are %d takes, and take %d is in sight", len(m.Takes), w.take.Showing)
	}
	if _, err := os.Stat(w.desk.Bench.TakePath(m.Takes[2])); err != nil {
		t.Error(err)
	}
	for range 3 {
		w.undo()
	}
	if w.undo(); len(w.desk.Machine().Takes) != 0 || w.take.Showing != 0 || w.take.Head.Text != "" {
		t.Errorf("all taken back, %q is in sight", w.take.Head.Text)
	}
}

// A take is corrected by hand: the plate of a later one shifts it and all after it, and
// what stands at the first one is setting 0 whatever anybody types.
func TestCorrectATake(t *testing.T) {
	w := twoTakes(t)
	before := *w.desk.View()
	told := before.Machine.Takes[0].Moved.Steps
	undo, _ := w.desk.Bench.Undoable()
	command(t, w, "Correct this take…").Action()
	pressIn(t, w, "Keep")
	if now, _ := w.desk.Bench.Undoable(); now != undo || strings.Contains(w.desk.Notice.Text.Text, "corrected") {
		t.Errorf("nothing was corrected: says %q, undo is of %q", w.desk.Notice.Text.Text, now)
	}
	correct := func(setting string, bpm string) {
		t.Helper()
		command(t, w, "Correct this take…").Action()
		f := inDialog[*kit.Field](t, w)
		if f[0].Disabled() != (setting == "") {
			t.Errorf("take %d: the plate may be typed: %v", w.take.Showing, !f[0].Disabled())
		}
		if setting != "" {
			f[0].SetText(setting)
		}
		f[1].SetText(bpm)
		pressIn(t, w, "Keep")
	}
	correct(strconv.Itoa(told+2), "85")
	if m := w.desk.Machine(); m.SettingAt(1) != told+2 || m.Takes[1].Target.TempoBPM != 85 || !strings.Contains(w.desk.Notice.Text.Text, "Take 2 is corrected. Undo") {
		t.Errorf("take 2 at %d and %g BPM; says %q", m.SettingAt(1), m.Takes[1].Target.TempoBPM, w.desk.Notice.Text.Text)
	}
	w.take.OpenTake(w.desk.View().Results[0][0])
	correct("", "83")
	if m := w.desk.Machine(); m.SettingAt(1) != told+2 || m.Takes[0].Target.TempoBPM != 83 {
		t.Errorf("take 1 at %g BPM, take 2 at %d", m.Takes[0].Target.TempoBPM, m.SettingAt(1))
	}
	command(t, w, "Correct this take…").Action()
	inDialog[*kit.Choice](t, w)[0].SetSelected("elm block")
	pressIn(t, w, "Keep")
	if t1 := w.desk.Machine().Takes[0]; t1.Heard[0].Voice != "elm block" || t1.Target.Voice != "elm block" {
		t.Errorf("take 1 is of %s", t1.Heard[0].Voice)
	}
	command(t, w, "Correct this take…").Action()
	inDialog[*kit.Choice](t, w)[1].SetSelected("2")
	pressIn(t, w, "Keep")
	if t1 := w.desk.Machine().Takes[0]; t1.Reference != 2 || t1.Heard[0].Channel != 1 {
		t.Errorf("take 1 has its reference on channel %d and the voice on %d", t1.Reference, t1.Heard[0].Channel)
	}
	w.undo()
	w.undo()
	w.undo()
	w.undo()
	if got := w.desk.View(); !reflect.DeepEqual(got.Machine, before.Machine) || got.Do != before.Do {
		t.Errorf("undone, the plate stands at %d: %s", got.Setting, got.Do)
	}
}

// A take whose reference is corrected, or is put back, is drawn as when it is opened anew.
func TestCorrectedChannelsAreDrawn(t *testing.T) {
	w := twoTakes(t)
	drawn := func() image.Image {
		w.desk.Notice.Clear() // which would go by itself, and leave its room to the trace
		settle(w.desk.Win.Content())
		at := fyne.CurrentApp().Driver().AbsolutePositionForObject(w.take.Trace)
		size := w.take.Trace.Size()
		trace := image.NewNRGBA(image.Rect(0, 0, int(size.Width), int(size.Height))) // a copy: a part of an image holds what lies beside it too
		draw.Draw(trace, trace.Rect, w.desk.Win.Canvas().Capture(), image.Pt(int(at.X), int(at.Y)), draw.Src)
		return trace
	}
	anew := func() image.Image {
		r := w.desk.View().Results
		w.take.OpenTake(r[0][0])
		w.take.OpenTake(r[1][0])
		return drawn()
	}
	was := anew()
	command(t, w, "Correct this take…").Action()
	inDialog[*kit.Choice](t, w)[1].SetSelected("2")
	pressIn(t, w, "Keep")
	if got := drawn(); reflect.DeepEqual(got, was) || !reflect.DeepEqual(got, anew()) {
		t.Error("corrected, it is not drawn as when it is opened anew")
	}
	if w.undo(); !reflect.DeepEqual(drawn(), was) {
		t.Error("put back, it is not drawn as before")
	}
}

// What was entered wrong is put right from the set list as well, which asks for it; the take
// comes in sight.
func TestTakeIsCorrectedFromTheSetList(t *testing.T) {
	w := twoTakes(t)
	for _, label := range []string{"Correct this take…", "Notes on this take…", "How sure?"} {
		command(t, w, "Show the set list").Action()
		c := command(t, w, label)
		if c.Action(); c.Disabled || w.songs.InSight || w.desk.Win.Canvas().Overlays().Top() == nil {
			t.Errorf("%q is grey: %v; the set list is in sight: %v", label, c.Disabled, w.songs.InSight)
		}
		w.closeTop()
	}
}

// Recordings left over are offered once the last take is there, the next once one is a take,
// until one is not wanted.
func TestStraysAreOfferedUntilOneIsNotWanted(t *testing.T) {
	w := twoTakes(t)
	dir := w.desk.Bench.Dir()
	w.closeMachine()
	for i, name := range []string{"left-a.wav", "left-b.wav", "left-c.wav"} {
		recordingOf(t, filepath.Join(dir, name), 20+uint64(i))
	}
	var wait []func()
	w.desk.Jobs.Spawn = func(f func()) { wait = append(wait, f) }
	settled := func() {
		for len(wait) > 0 {
			f := wait[0]
			wait = wait[1:]
			f()
		}
	}
	w.Open(dir)
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("asked while the last take still opens: a yes would be lost")
	}
	settled()
	answer := func(words string) {
		t.Helper()
		for _, b := range inDialog[*kit.Button](t, w) {
			if b.Text == words {
				test.Tap(b)
				settled()
				return
			}
		}
		t.Fatalf("no %q", words)
	}
	answer("Measure")
	if n := len(w.desk.Machine().Takes); n != 3 {
		t.Fatalf("%d takes after yes", n)
	}
	if b, ok := w.desk.Win.Canvas().Focused().(*kit.Button); !ok || b.Text != "Not now" {
		t.Error("the enter key measures it, at whatever setting stands there now")
	}
	answer("Not now")
	if w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("not wanted, and the next is offered at once")
	}
	if got := strings.Join(w.desk.Bench.Strays(), " "); !strings.Contains(got, "left-b") || !strings.Contains(got, "left-c") || strings.Contains(got, "left-a") {
		t.Errorf("left over: %s", got)
	}
}

// Both lists of the record are reached from the keyboard, and an old take is opened.
func TestListsOfTheRecordByKeyboard(t *testing.T) {
	w := twoTakes(t)
	was := w.take.Showing
	press := func(label string) fyne.Focusable {
		t.Helper()
		command(t, w, label).Action()
		return w.desk.Win.Canvas().Focused()
	}
	list := press("Show the list of takes")
	if list != w.history.Takes || w.history.Listed != 1 {
		t.Fatalf("the keyboard is on %T, list %d in sight", list, w.history.Listed)
	}
	list.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDown})
	list.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if w.take.Showing == was {
		t.Errorf("take %d is in sight still", was)
	}
	if list := press("Show the plate settings"); list != w.history.Settings || w.history.Listed != 0 {
		t.Errorf("the keyboard is on %T, list %d in sight", list, w.history.Listed)
	}
	w.listSongs()
	if list := press("Show the plate settings"); list != w.history.Settings || w.songs.InSight {
		t.Errorf("from the set list the keyboard is on %T", list)
	}
}

// The newest take is in sight when the list of takes is opened.
func TestNewestTakeIsInSight(t *testing.T) {
	w := twoTakes(t)
	w.desk.Win.Resize(small)
	for range 6 {
		w.record.PlayTake()
	}
	w.history.List(1)
	settle(w.desk.Win.Content())
	if at := w.history.Takes.GetScrollOffset(); at > slack || w.history.Taken[0].Take.ID != w.take.Showing {
		t.Errorf("take %d is in sight, the list is %g down", w.take.Showing, at)
	}
}

// A click on a take's point in the curve shows that take.
func TestCurveShowsTheTake(t *testing.T) {
	w := drawnWindow(t)
	w.Practice()
	test.Tap(w.loop.PlayTake)
	w.loop.Move(w.desk.View().Steps, "")
	test.Tap(w.loop.PlayTake)
	curve := w.history.Curve
	size := curve.Picture.Image.Bounds().Size()
	for _, want := range []int{1, 2} {
		for y := 2; y < size.Y && w.take.Showing != want; y += 8 {
			for x := 2; x < size.X && w.take.Showing != want; x += 8 {
				if near := curve.Shown.Near(size.X, size.Y, float64(curve.Scale), float64(x), float64(y)); near.Take == want {
					test.TapAt(curve, fyne.NewPos(float32(x)/curve.Scale, float32(y)/curve.Scale))
				}
			}
		}
		if w.take.Showing != want {
			t.Errorf("take %d is shown by no click on the curve, but take %d", want, w.take.Showing)
		}
	}
}
