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
	"lagwright/ui/trace"
)

// listenBar listens to the take in sight: whole or round one hit, slowed, against
// the take before it. It belongs to Fyne's goroutine.
type listenBar struct {
	d       *Desk
	inSight func() (loop.Result, bool)
	trace   *trace.Trace
	spoken  *live.Speaker // the output, once it was needed

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

// newListenBar returns a bar that listens to nothing until it is told by follow what
// is in sight.
func newListenBar(d *Desk) *listenBar {
	b := &listenBar{d: d}
	b.where = newChoice([]string{i18n.L("the whole take"), i18n.L("this hit")}, func(string) { b.place() })
	b.speed = newChoice([]string{i18n.L("at full speed"), i18n.L("at half speed"), i18n.L("at a quarter")}, func(string) { b.apply() })
	b.ears = newChoice([]string{i18n.L("reference left, voice right"), i18n.L("both on both ears")}, func(string) { b.apply() })
	for _, s := range []*choice{b.where, b.speed, b.ears} {
		s.Selected = s.Options[0]
	}
	b.which = newButton("", b.swap)
	b.loud = newSlider(i18n.L("Loudness"), playback.QuietVolume, 0.02, func(float64) { b.apply() })
	stop := newButtonWithIcon(i18n.L("Stop"), theme.MediaStopIcon(), b.hush)
	b.root = newFlow(stop, wide(160, b.where), wide(160, b.speed), wide(262, b.ears),
		widget.NewIcon(theme.VolumeUpIcon()), wide(110, b.loud), b.which)
	b.root.Hide()
	return b
}

// follow tells the bar which take is in sight, and on which trace.
func (b *listenBar) follow(inSight func() (loop.Result, bool), trace *trace.Trace) {
	b.inSight, b.trace = inSight, trace
}

// listen plays the take in sight, or ends it.
func (b *listenBar) listen() {
	t, ok := b.inSight()
	if !ok || !b.d.Ready() {
		return
	}
	if b.play != nil {
		b.hush()
		return
	}
	b.d.Tell(b.begin(t))
}

// hush ends what is listened to.
func (b *listenBar) hush() {
	if b.play == nil {
		return
	}
	b.spoken.Silence()
	for _, f := range b.files {
		f.Close()
	}
	b.play, b.files = nil, nil
	b.trace.Heard(-1)
	b.root.Hide()
	b.d.Refresh()
}

// begin opens the takes and plays.
func (b *listenBar) begin(t loop.Result) error {
	speaker, err := b.speaker()
	if err != nil {
		return err
	}
	one, err := b.open(t)
	if err != nil {
		return err
	}
	b.take, b.other = t, earlier(b.d.View(), t)
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
				b.hush()
				b.d.Tell(err)
			}
		})
	})
	b.root.Show()
	b.d.Refresh()
	b.roll(playing)
	return nil
}

// rollEvery is how often the ball on the trace is moved.
const rollEvery = 50 * time.Millisecond

// roll moves a ball along the trace to what is heard, from a goroutine of its own,
// for as long as it plays.
func (b *listenBar) roll(playing *playback.Listening) {
	b.d.Jobs.spawn(func() {
		tick := time.NewTicker(rollEvery)
		defer tick.Stop()
		for on := true; on; {
			<-tick.C
			fyne.DoAndWait(func() {
				if on = b.play == playing; on {
					b.trace.Heard(b.heardS())
				}
			})
		}
	})
}

// heardS returns what is heard of the take in sight, in s of it; negative where it
// is another take, or nothing.
func (b *listenBar) heardS() float64 {
	t, ok := b.inSight()
	if b.play == nil || b.play.Which() == 1 || !ok || b.take.Take.ID != t.Take.ID {
		return -1
	}
	return b.play.AtS()
}

// open opens a take's recording to be listened to.
func (b *listenBar) open(t loop.Result) (playback.Take, error) {
	f, err := b.d.Bench.OpenTake(*t.Take)
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
	i := max(b.trace.Selected(), 0)
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

// whichWords says which of the two is heard.
func (b *listenBar) whichWords() string {
	if b.play.Which() == 1 {
		return i18n.F("Before: take %d (B)", b.other.Take.ID)
	}
	return i18n.F("Now: take %d (B)", b.take.Take.ID)
}

// speaker returns the output, which is opened when it is first needed.
func (b *listenBar) speaker() (*live.Speaker, error) {
	if b.spoken != nil && !b.spoken.Gone() {
		return b.spoken, nil
	}
	outputs, err := b.d.Sound.Outputs()
	if err != nil {
		return nil, err
	}
	if len(outputs) == 0 {
		return nil, i18n.Errorf("nothing is there to play on: plug in headphones or a loudspeaker")
	}
	d := outputs[0]
	chosen := b.d.Prefs.Output()
	for _, o := range outputs {
		if o.Name == chosen || chosen == "" && o.Default {
			d = o
		}
	}
	b.hush() // of one that is gone
	b.unplug()
	if b.spoken, err = live.NewSpeaker(b.d.Sound, d); err != nil {
		b.spoken = nil
		return nil, err
	}
	return b.spoken, nil
}

// stopClick ends the guide click.
func (b *listenBar) stopClick() {
	if b.spoken != nil {
		b.spoken.StopClick()
	}
}

// unplug gives the output back.
func (b *listenBar) unplug() {
	if b.spoken != nil {
		b.spoken.Close()
		b.spoken = nil
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

func (b *listenBar) listenWords() string {
	if b.play != nil {
		return i18n.L("Stop listening")
	}
	return i18n.L("Listen")
}

// commands are those of listening.
func (b *listenBar) commands(on bool) []*fyne.MenuItem {
	return Apart(
		Entry(b.listenWords(), CtrlShift(fyne.KeyL), on, b.listen),
		Entry(i18n.L("Hear before or after"), Ctrl(fyne.KeyB), b.play != nil, b.swap),
	)
}
