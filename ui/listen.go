package ui

import (
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/playback"
	"lagwright/calib/take"
)

// listenBar listens to the take in sight: whole or round one hit, slowed, against
// the take before it. It belongs to Fyne's goroutine.
type listenBar struct {
	w     *Window
	root  *fyne.Container
	play  *playback.Listening // nil while nothing is listened to
	files []*take.File
	take  loop.Result
	other loop.Result // what it is compared with; nil Take = nothing

	which *button
	where *choice
	speed *choice
	ears  *choice
	loud  *slider
}

// thisHit is the second of what the bar offers to listen to.
const thisHit = 1

func newListenBar(w *Window) *listenBar {
	b := &listenBar{w: w}
	b.where = newChoice([]string{i18n.L("the whole take"), i18n.L("this hit")}, func(string) { b.place() })
	b.speed = newChoice([]string{i18n.L("at full speed"), i18n.L("at half speed"), i18n.L("at a quarter")}, func(string) { b.apply() })
	b.ears = newChoice([]string{i18n.L("reference left, voice right"), i18n.L("both on both ears")}, func(string) { b.apply() })
	for _, s := range []*choice{b.where, b.speed, b.ears} {
		s.Selected = s.Options[0]
	}
	b.which = newButton("", b.swap)
	b.loud = newSlider(i18n.L("Loudness"), playback.QuietVolume, 0.02, func(float64) { b.apply() })
	stop := newButtonWithIcon(i18n.L("Stop"), theme.MediaStopIcon(), w.hush)
	b.root = newFlow(stop, wide(160, b.where), wide(160, b.speed), wide(262, b.ears),
		widget.NewIcon(theme.VolumeUpIcon()), wide(110, b.loud), b.which)
	b.root.Hide()
	return b
}

// listen plays the take in sight, or ends it.
func (w *Window) listen() {
	t, ok := w.inSight()
	if !ok || !w.ready() || w.live != nil {
		return
	}
	if w.listening.play != nil {
		w.hush()
		return
	}
	w.tell(w.listening.begin(t))
}

// hush ends what is listened to.
func (w *Window) hush() {
	b := w.listening
	if b.play == nil {
		return
	}
	w.spoken.Silence()
	for _, f := range b.files {
		f.Close()
	}
	b.play, b.files = nil, nil
	w.take.trace.Heard(-1)
	b.root.Hide()
	w.refresh()
}

// begin opens the takes and plays.
func (b *listenBar) begin(t loop.Result) error {
	speaker, err := b.w.speaker()
	if err != nil {
		return err
	}
	one, err := b.open(t)
	if err != nil {
		return err
	}
	b.take, b.other = t, earlier(b.w.view(), t)
	b.play = playback.NewListening(speaker.Rate(), one)
	b.which.Hide()
	if b.other.Take != nil {
		if two, err := b.open(b.other); err == nil {
			b.play.Compare(two)
			b.which.SetText(b.whichWords())
			b.which.Show()
		} else { // a take before that is gone is no reason not to hear this one
			b.other = loop.Result{}
		}
	}
	b.place()
	playing := b.play
	speaker.Listen(playing, func(err error) {
		fyne.Do(func() {
			if b.play == playing { // and nobody began another
				b.w.hush()
				b.w.tell(err)
			}
		})
	})
	b.root.Show()
	b.w.refresh()
	b.roll(playing)
	return nil
}

// rollEvery is how often the ball on the trace is moved.
const rollEvery = 50 * time.Millisecond

// roll moves a ball along the trace to what is heard, from a goroutine of its own,
// for as long as it plays.
func (b *listenBar) roll(playing *playback.Listening) {
	b.w.spawn(func() {
		tick := time.NewTicker(rollEvery)
		defer tick.Stop()
		for on := true; on; {
			<-tick.C
			fyne.DoAndWait(func() {
				if on = b.play == playing; on {
					b.w.take.trace.Heard(b.heardS())
				}
			})
		}
	})
}

// heardS returns what is heard of the take in sight, in s of it; negative where it
// is another take, or nothing.
func (b *listenBar) heardS() float64 {
	if b.play == nil || b.play.Which() == 1 || b.take.Take.ID != b.w.showing {
		return -1
	}
	return b.play.AtS()
}

// open opens a take's recording to be listened to.
func (b *listenBar) open(t loop.Result) (playback.Take, error) {
	f, err := b.w.bench.OpenTake(*t.Take)
	if err != nil {
		return playback.Take{}, err
	}
	b.files = append(b.files, f)
	return playback.Take{Source: f, Reference: t.Take.Reference, Voice: t.Channel, HitsS: t.Reading.ReferenceHitsS}, nil
}

// earlier returns the take to compare one with: the first at the same target, which
// is what it sounded like before; else the one before it.
func earlier(v *loop.View, t loop.Result) loop.Result {
	var before loop.Result
	for _, results := range v.Results {
		if results[0].Take.ID == t.Take.ID {
			break
		}
		for _, r := range results {
			switch {
			case r.Voice != t.Voice:
			case r.Target() == t.Target() && !r.Take.LeftOut:
				return r
			default:
				before = r
			}
		}
	}
	return before
}

// place plays the whole take or round the selected pair.
func (b *listenBar) place() {
	if b.play == nil {
		return
	}
	const beforeS, afterS = 0.15, 0.45
	pairs := b.take.Reading.Pairs
	i := max(b.w.take.trace.Selected(), 0)
	if b.where.SelectedIndex() == thisHit && i < len(pairs) {
		n, _ := slices.BinarySearch(b.take.Reading.ReferenceHitsS, pairs[i].ReferenceS)
		late := max(pairs[i].VoiceS-pairs[i].ReferenceS, 0)
		early := max(pairs[i].ReferenceS-pairs[i].VoiceS, 0)
		b.play.LoopHit(n, beforeS+early, afterS+late)
	} else {
		b.play.Whole()
	}
	b.apply()
}

// apply sets speed, ears and volume.
func (b *listenBar) apply() {
	if b.play == nil {
		return
	}
	b.play.Speed(1 / float64(int(1)<<max(b.speed.SelectedIndex(), 0)))
	b.play.Ears([]playback.Ears{playback.Split, playback.Mixed}[max(b.ears.SelectedIndex(), 0)])
	b.play.SetVolume(b.loud.Value * b.loud.Value) // the ear is not linear
}

// swap changes between the take and the one before it.
func (b *listenBar) swap() {
	if b.play != nil && b.other.Take != nil {
		b.play.Switch()
		b.which.SetText(b.whichWords())
	}
}

// typedRune hears the letters that no part of the window took.
func (w *Window) typedRune(r rune) {
	switch {
	case w.bench == nil:
		w.welcome.typed(r)
	case r == 'b' || r == 'B':
		w.listening.swap()
	}
}

// whichWords says which of the two is heard.
func (b *listenBar) whichWords() string {
	if b.play.Which() == 1 {
		return i18n.F("Before: take %d (B)", b.other.Take.ID)
	}
	return i18n.F("Now: take %d (B)", b.take.Take.ID)
}

// speaker returns the output, which is opened when it is first needed.
func (w *Window) speaker() (*live.Speaker, error) {
	if w.spoken != nil && !w.spoken.Gone() {
		return w.spoken, nil
	}
	outputs, err := w.sound.Outputs()
	if err != nil {
		return nil, err
	}
	if len(outputs) == 0 {
		return nil, i18n.Errorf("nothing is there to play on: plug in headphones or a loudspeaker")
	}
	d := outputs[0]
	chosen := w.app.Preferences().String(prefOutput)
	for _, o := range outputs {
		if o.Name == chosen || chosen == "" && o.Default {
			d = o
		}
	}
	w.hush() // of one that is gone
	w.unplug()
	if w.spoken, err = live.NewSpeaker(w.sound, d); err != nil {
		w.spoken = nil
		return nil, err
	}
	return w.spoken, nil
}

// unplug gives the output back.
func (w *Window) unplug() {
	if w.spoken != nil {
		w.spoken.Close()
		w.spoken = nil
	}
}

// outputNames lists what there is to play on.
func outputNames(sound capture.Sound) []string {
	outputs, err := sound.Outputs()
	if err != nil {
		return nil
	}
	var names []string
	for _, o := range outputs {
		names = append(names, o.Name)
	}
	return names
}

func (w *Window) listenWords() string {
	if w.listening.play != nil {
		return i18n.L("Stop listening")
	}
	return i18n.L("Listen")
}
