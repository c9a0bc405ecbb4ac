package ui

import (
	"context"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
)

// playAll plays a take with microphones on all voices.
func playAll(t *testing.T) *Window {
	t.Helper()
	w := testWindow(t)
	w.Practice()
	if w.loop.all.Checked || !w.loop.all.Visible() {
		t.Fatal("a new user is not offered all voices, or has them at once")
	}
	test.Tap(w.loop.all)
	test.Tap(w.loop.playTake)
	return w
}

// One take shows every voice that has a microphone: trace, fan, interval and
// list follow the voice chosen.
func TestAllVoicesOfATakeAreSeen(t *testing.T) {
	w := playAll(t)
	if !w.take.voice.Visible() || w.take.voice.Selected != "tub drum" || w.take.aim.Visible() {
		t.Fatalf("voice %q, visible %v", w.take.voice.Selected, w.take.voice.Visible())
	}
	if want := []string{"tub drum", "elm block", "brass bar"}; !slices.Equal(w.take.voice.Options, want) {
		t.Errorf("offers %q", w.take.voice.Options)
	}
	heads := map[string]bool{}
	for _, voice := range w.take.voice.Options {
		w.take.voice.SetSelected(voice)
		t1, ok := w.inSight()
		if !ok || t1.Voice != voice || w.voice != voice {
			t.Fatalf("%s: in sight is the %s", voice, t1.Voice)
		}
		lag := practice.Default().LagMS(voice, t1.Reading.Drift().PeriodMS, 0)
		if math.Abs(t1.Reading.LagMS-lag) > 1.5 {
			t.Errorf("%s: %.2f ms, the law says %.2f", voice, t1.Reading.LagMS, lag)
		}
		heads[w.take.head.Text] = true
		if w.take.aim.Visible() != (voice != "tub drum") {
			t.Errorf("%s: aiming at it is offered: %v", voice, w.take.aim.Visible())
		}
		chosen := slices.IndexFunc(w.record.taken, func(r loop.Result) bool { return r.Voice == voice })
		if row := w.record.takeRow(chosen); !strings.Contains(row, voice) {
			t.Errorf("%s: its row says %q", voice, row)
		}
	}
	if len(heads) != 3 || len(w.record.taken) != 3 {
		t.Errorf("%d heads, %d rows for three voices", len(heads), len(w.record.taken))
	}
	w.record.takes.Select(slices.IndexFunc(w.record.taken, func(r loop.Result) bool { return r.Voice == "brass bar" }))
	if w.voice != "brass bar" || w.take.voice.Selected != "brass bar" {
		t.Errorf("choosing the bar's row shows the %s", w.voice)
	}
	w.nextVoice()
	if w.voice != "tub drum" {
		t.Errorf("the next voice is the %s", w.voice)
	}
}

// The loop takes up the voice in sight from the same take.
func TestAimAtTheVoiceInSight(t *testing.T) {
	w := playAll(t)
	w.take.voice.SetSelected("elm block")
	if c := command(t, w, "Aim at the elm block"); c.Disabled {
		t.Error("the menu does not offer it")
	}
	test.Tap(w.take.aim)
	at := w.view()
	if at.Session.Target.Voice != "elm block" || at.Stage != loop.AwaitMove || w.take.aim.Visible() {
		t.Errorf("aimed at %+v: %s", at.Session.Target, at.Do)
	}
	if !strings.Contains(w.loop.where.text, "elm block") || !strings.HasPrefix(w.loop.do.text, "Turn the programme ") {
		t.Errorf("the loop says %q, %q", w.loop.where.text, w.loop.do.text)
	}
	w.aim(session.Target{TempoBPM: 84, Voice: "brass bar"}) // as by the dialog: the take follows
	if w.voice != "brass bar" || w.take.voice.Selected != "brass bar" {
		t.Errorf("aimed at the bar, in sight is the %s", w.voice)
	}
	dir := w.bench.Dir()
	w.closeSession()
	w.OpenSession(dir)
	if w.voice != "brass bar" {
		t.Errorf("reopened, in sight is the %s", w.voice)
	}
}

// Hits by hand are those of the voice in sight.
func TestHitsByHandOfTheVoiceInSight(t *testing.T) {
	w := playAll(t)
	w.take.voice.SetSelected("elm block")
	before, _ := w.inSight()
	i := slices.IndexFunc(before.Reading.Pairs, func(p calib.Pair) bool { return p.Used })
	w.editHit(session.StrikeOut(session.VoiceChannel, before.Reading.Pairs[i].VoiceS))
	after, _ := w.inSight()
	if w.voice != "elm block" || after.Reading.Used() != before.Reading.Used()-1 || !strings.Contains(w.take.head.Text, "1 hit changed by hand") {
		t.Fatalf("the %s has %d pairs, %d before: %s", w.voice, after.Reading.Used(), before.Reading.Used(), w.take.head.Text)
	}
	w.take.voice.SetSelected("tub drum")
	if strings.Contains(w.take.head.Text, "by hand") {
		t.Errorf("the drum's hits were changed: %s", w.take.head.Text)
	}
	w.take.voice.SetSelected("elm block")
	w.undo()
	if got, _ := w.inSight(); got.Reading.Used() != before.Reading.Used() || command(t, w, "Redo").Disabled {
		t.Errorf("undone it has %d pairs, %d before", got.Reading.Used(), before.Reading.Used())
	}
	w.redo()
	if got, _ := w.inSight(); got.Reading.Used() != after.Reading.Used() {
		t.Errorf("made again it has %d pairs", got.Reading.Used())
	}
}

// A recording with more than two channels asks which is which, and the next one
// knows; one with two does not ask.
func TestWhichChannelIsWhich(t *testing.T) {
	w := testWindow(t)
	s := newSession("Barn machine", "tub drum, elm block, brass bar", 84, 5, time.Now())
	w.create(s)
	recording, _ := practice.Default().Play(practice.Play{TempoBPM: 84, Seed: 5, Others: []string{"elm block", "brass bar"}, Rate: quickRate})
	path := filepath.Join(t.TempDir(), "barn.wav")
	if err := take.Write(context.Background(), path, recording, nil); err != nil {
		t.Fatal(err)
	}
	w.openRecording(path, false)
	if w.win.Canvas().Overlays().Top() == nil || len(w.session().Takes) != 0 {
		t.Fatal("four channels are taken without a question")
	}
	w.win.Canvas().Overlays().Remove(w.win.Canvas().Overlays().Top())

	c := w.askChannels(path, 4)
	if got := chosen(c); !slices.Equal(got, []string{carriesReference, "tub drum", "elm block", "brass bar"}) {
		t.Errorf("at first it proposes %q", got)
	}
	for _, wrong := range []struct {
		channel int
		carries string
		says    string
	}{
		{0, carriesNothing, "No channel carries the reference"},
		{1, "brass bar", "The brass bar is on two channels"},
		{1, carriesNothing, "No channel carries the tub drum"},
		{3, carriesReference, "The reference is on two channels"},
	} {
		was := c.channels[wrong.channel].Selected
		c.channels[wrong.channel].SetSelected(wrong.carries)
		c.done(true)
		if !strings.Contains(c.wrong.Text, wrong.says) || len(w.session().Takes) != 0 {
			t.Errorf("channel %d as %q: says %q", wrong.channel+1, wrong.carries, c.wrong.Text)
		}
		c.channels[wrong.channel].SetSelected(was)
	}
	c.channels[2].SetSelected(carriesNothing)
	c.done(true)
	taken := w.session().Takes
	if len(taken) != 1 || !slices.Equal(taken[0].Voices(), []string{"tub drum", "brass bar"}) || taken[0].Channels != 4 {
		t.Fatalf("takes: %+v", taken)
	}
	if w.win.Canvas().Overlays().Top() != nil || !w.take.voice.Visible() {
		t.Error("the dialog stays, or the voices are not offered")
	}
	c = w.askChannels(path, 4)
	if got := chosen(c); !slices.Equal(got, []string{carriesReference, "tub drum", carriesNothing, "brass bar"}) {
		t.Errorf("the second time it proposes %q", got)
	}
	c.done(false)
	if len(w.session().Takes) != 1 || w.win.Canvas().Overlays().Top() != nil {
		t.Error("cancelled, it measures or stays")
	}
}

func chosen(c *channelChoice) (all []string) {
	for _, s := range c.channels {
		all = append(all, s.Selected)
	}
	return all
}

// Sixteen channels fit into a small window.
func TestManyChannelsFit(t *testing.T) {
	w := testWindow(t)
	w.Practice()
	w.win.Resize(fyne.NewSize(1000, 600))
	c := w.askChannels("shop.wav", 16)
	d := w.win.Canvas().Overlays().Top()
	if size := d.MinSize(); size.Height > 600 || size.Width > 1000 || len(c.channels) != 16 {
		t.Errorf("%d channels need %v", len(c.channels), size)
	}
}
