package ui

import (
	"context"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/ui/kit"
	"lagwright/ui/shelf"
)

// playAll plays a take with microphones on all voices.
func playAll(t *testing.T) *Window {
	t.Helper()
	w := testWindow(t)
	w.Practice()
	all := command(t, w, "Microphones on all voices")
	if all.Checked || all.Disabled {
		t.Fatal("a new user is not offered all voices, or has them at once")
	}
	all.Action()
	test.Tap(w.loop.PlayTake)
	return w
}

// Where all voices have a microphone, the set list and the take under way say so: the next
// take as the microphones are now, not as the last one was.
func TestAllVoicesAreSaid(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.listSongs()
	for _, one := range []machine.Song{song("Mill Waltz", 72), song("Weir Reel", 132)} {
		w.desk.Do("", w.desk.Bench.EditSongs(machine.AddSong(0, one)))
	}
	test.Tap(w.loop.PlayTake)
	for _, all := range []bool{false, true, false} {
		w.record.HearAll(all)
		if next := w.desk.View().Next; next == nil || strings.Contains(next.Do, "record all voices") != all || command(t, w, "Microphones on all voices").Checked != all {
			t.Errorf("all voices %v: the set list asks for %+v", all, next)
		}
		w.loop.ShowLive(live.Moment{}, w.desk.Machine().Target)
		if strings.Contains(w.loop.Where.Text, "all voices") != all {
			t.Errorf("all voices %v: %q", all, w.loop.Where.Text)
		}
		w.desk.Refresh()
	}
}

// One take shows every voice that has a microphone: trace, fan, interval and
// list follow the voice chosen.
func TestAllVoicesOfATakeAreSeen(t *testing.T) {
	w := playAll(t)
	if !w.take.Voices.Visible() || w.take.Voices.Selected != "tub drum" || w.take.Aim.Visible() {
		t.Fatalf("voice %q, visible %v", w.take.Voices.Selected, w.take.Voices.Visible())
	}
	if want := []string{"tub drum", "elm block", "brass bar"}; !slices.Equal(w.take.Voices.Options, want) {
		t.Errorf("offers %q", w.take.Voices.Options)
	}
	heads := map[string]bool{}
	for _, voice := range w.take.Voices.Options {
		w.take.Voices.SetSelected(voice)
		t1, ok := w.take.InSight()
		if !ok || t1.Voice != voice || w.take.Voice != voice {
			t.Fatalf("%s: in sight is the %s", voice, t1.Voice)
		}
		lag := practice.Default().LagMS(voice, t1.Reading.Law.PeriodMS, 0)
		if math.Abs(t1.Reading.LagMS-lag) > 1.5 {
			t.Errorf("%s: %.2f ms, the law says %.2f", voice, t1.Reading.LagMS, lag)
		}
		heads[w.take.Head.Text] = true
		if w.take.Aim.Visible() != (voice != "tub drum") {
			t.Errorf("%s: aiming at it is offered: %v", voice, w.take.Aim.Visible())
		}
		chosen := slices.IndexFunc(w.history.Taken, func(r loop.Result) bool { return r.Voice == voice })
		if row := w.history.TakeRow(chosen); !strings.Contains(row, voice) {
			t.Errorf("%s: its row says %q", voice, row)
		}
	}
	if len(heads) != 3 || len(w.history.Taken) != 3 {
		t.Errorf("%d heads, %d rows for three voices", len(heads), len(w.history.Taken))
	}
	w.history.Takes.Select(slices.IndexFunc(w.history.Taken, func(r loop.Result) bool { return r.Voice == "brass bar" }))
	if w.take.Voice != "brass bar" || w.take.Voices.Selected != "brass bar" {
		t.Errorf("choosing the bar's row shows the %s", w.take.Voice)
	}
	w.take.NextVoice()
	if w.take.Voice != "tub drum" {
		t.Errorf("the next voice is the %s", w.take.Voice)
	}
}

// The loop takes up the voice in sight from the same take.
func TestAimAtTheVoiceInSight(t *testing.T) {
	w := playAll(t)
	w.take.Voices.SetSelected("elm block")
	if c := command(t, w, "Work on this voice"); c.Disabled {
		t.Error("the menu does not offer it")
	}
	test.Tap(w.take.Aim)
	at := w.desk.View()
	if at.Machine.Target.Voice != "elm block" || at.Stage != loop.AwaitMove || w.take.Aim.Visible() {
		t.Errorf("aimed at %+v: %s", at.Machine.Target, at.Do)
	}
	if !strings.Contains(w.loop.Where.Text, "elm block") || !strings.HasPrefix(w.loop.Do.Text, "Stop the crank, then turn the plate ") {
		t.Errorf("the loop says %q, %q", w.loop.Where.Text, w.loop.Do.Text)
	}
	w.desk.Aim(machine.Target{TempoBPM: 84, Voice: "brass bar"}) // as by the dialog: the take follows
	if w.take.Voice != "brass bar" || w.take.Voices.Selected != "brass bar" {
		t.Errorf("aimed at the bar, in sight is the %s", w.take.Voice)
	}
	dir := w.desk.Bench.Dir()
	w.closeMachine()
	w.Open(dir)
	if w.take.Voice != "brass bar" {
		t.Errorf("reopened, in sight is the %s", w.take.Voice)
	}
}

// Hits by hand are those of the voice in sight.
func TestHitsByHandOfTheVoiceInSight(t *testing.T) {
	w := playAll(t)
	w.take.Voices.SetSelected("elm block")
	before, _ := w.take.InSight()
	i := slices.IndexFunc(before.Reading.Pairs, func(p calib.Pair) bool { return p.Used })
	w.take.EditHit(machine.StrikeOut(machine.VoiceChannel, before.Reading.Pairs[i].VoiceS))
	after, _ := w.take.InSight()
	if w.take.Voice != "elm block" || after.Reading.Used() != before.Reading.Used()-1 || !strings.Contains(w.take.Head.Text, "1 hit changed by hand") {
		t.Fatalf("the %s has %d pairs, %d before: %s", w.take.Voice, after.Reading.Used(), before.Reading.Used(), w.take.Head.Text)
	}
	w.take.Voices.SetSelected("tub drum")
	if strings.Contains(w.take.Head.Text, "by hand") {
		t.Errorf("the drum's hits were changed: %s", w.take.Head.Text)
	}
	w.take.Voices.SetSelected("elm block")
	w.undo()
	if got, _ := w.take.InSight(); got.Reading.Used() != before.Reading.Used() || command(t, w, "Redo").Disabled {
		t.Errorf("undone it has %d pairs, %d before", got.Reading.Used(), before.Reading.Used())
	}
	w.redo()
	if got, _ := w.take.InSight(); got.Reading.Used() != after.Reading.Used() {
		t.Errorf("made again it has %d pairs", got.Reading.Used())
	}
}

// A recording with more than two channels asks which is which, and the next one
// knows; one with two does not ask.
func TestWhichChannelIsWhich(t *testing.T) {
	w := testWindow(t)
	m := shelf.NewMachine("Barn machine", "tub drum, elm block, brass bar", 84, 5)
	w.welcome.Create(m)
	recording, _ := practice.Default().Play(practice.Play{TempoBPM: 84, Seed: 5, Others: []string{"elm block", "brass bar"}, Rate: quickRate})
	path := filepath.Join(t.TempDir(), "barn.wav")
	must.Do(t, take.Write(context.Background(), path, recording, nil))
	w.record.OpenRecording(path, false)
	if w.desk.Win.Canvas().Overlays().Top() == nil || len(w.desk.Machine().Takes) != 0 {
		t.Fatal("four channels are taken without a question")
	}
	w.desk.Win.Canvas().Overlays().Remove(w.desk.Win.Canvas().Overlays().Top())

	c := w.record.AskChannels(path, 4)
	if got := chosen(c); !slices.Equal(got, []string{machine.ReferenceRole(), "tub drum", "elm block", "brass bar"}) {
		t.Errorf("at first it proposes %q", got)
	}
	for _, wrong := range []struct {
		channel int
		carries string
		says    string
	}{
		{0, machine.NoRole(), "Say which channel hears the reference"},
		{1, "brass bar", "cannot both be the brass bar"},
		{1, machine.NoRole(), "No channel carries the tub drum"},
		{3, machine.ReferenceRole(), "cannot both be the reference"},
	} {
		was := c[wrong.channel].Selected
		c[wrong.channel].SetSelected(wrong.carries)
		said, buttons := dialogIn(t, w)
		if test.Tap(buttons["Measure"]); !strings.Contains(said, wrong.says) || len(w.desk.Machine().Takes) != 0 {
			t.Errorf("channel %d as %q: says %q", wrong.channel+1, wrong.carries, said)
		}
		c[wrong.channel].SetSelected(was)
	}
	c[2].SetSelected(machine.NoRole())
	_, buttons := dialogIn(t, w)
	test.Tap(buttons["Measure"])
	taken := w.desk.Machine().Takes
	if len(taken) != 1 || !slices.Equal(taken[0].Voices(), []string{"tub drum", "brass bar"}) || taken[0].Channels != 4 {
		t.Fatalf("takes: %+v", taken)
	}
	if w.desk.Win.Canvas().Overlays().Top() != nil || !w.take.Voices.Visible() {
		t.Error("the dialog stays, or the voices are not offered")
	}
	c = w.record.AskChannels(path, 4)
	if got := chosen(c); !slices.Equal(got, []string{machine.ReferenceRole(), "tub drum", machine.NoRole(), "brass bar"}) {
		t.Errorf("the second time it proposes %q", got)
	}
	w.desk.Dismiss()
	if len(w.desk.Machine().Takes) != 1 || w.desk.Win.Canvas().Overlays().Top() != nil {
		t.Error("cancelled, it measures or stays")
	}
}

func chosen(carries []*kit.Choice) (all []string) {
	for _, s := range carries {
		all = append(all, s.Selected)
	}
	return all
}

// With text twice the size four channels are all in sight where the window has room.
func TestLargeChannelsAreInSight(t *testing.T) {
	w := windowToWalk(t, 200)
	w.Practice()
	w.desk.Win.Resize(fyne.NewSize(1280, 900))
	w.record.AskChannels("crank.wav", 4)
	for _, s := range scrollsIn(shownDialog(t, w).(*widget.PopUp)) {
		if s.Size().Height < s.Content.MinSize().Height {
			t.Errorf("%g of %g are in sight", s.Size().Height, s.Content.MinSize().Height)
		}
	}
}

// Sixteen channels fit into a small window.
func TestManyChannelsFit(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.desk.Win.Resize(fyne.NewSize(1000, 600))
	c := w.record.AskChannels("shop.wav", 16)
	d := w.desk.Win.Canvas().Overlays().Top()
	if size := d.MinSize(); size.Height > 600 || size.Width > 1000 || len(c) != 16 {
		t.Errorf("%d channels need %v", len(c), size)
	}
}
