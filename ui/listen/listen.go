// Package listen plays takes, tones and the guide click.
package listen

import (
	"math"
	"slices"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/playback"
	"lagwright/calib/take"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
	"lagwright/ui/trace"
)

// Bar listens to the take in sight: whole or round one hit, slowed, against
// the take before it. It belongs to Fyne's goroutine.
type Bar struct {
	d       *desk.Desk
	inSight func() (loop.Result, bool)
	trace   *trace.Trace
	spoken  *live.Speaker // the output, once it was needed

	Root  *fyne.Container
	Play  *playback.Listening // nil while nothing is listened to
	files []*take.File
	take  loop.Result
	other loop.Result // what it is compared with; nil Take = nothing

	which *kit.Button
	Where *kit.Choice
	Speed *kit.Choice
	ears  *kit.Choice
	loud  *kit.Slider
}

// ThisHit is the second of what the bar offers to listen to.
const ThisHit = 1

// New returns a bar that listens to nothing until it is told by follow what
// is in sight.
func New(d *desk.Desk) *Bar {
	b := &Bar{d: d}
	first := func(changed func(), options ...string) *kit.Choice {
		return kit.NewChoice(options, options[0], func(string) { changed() })
	}
	b.Where = first(b.place, i18n.L("the whole take"), i18n.L("this hit"))
	b.Speed = first(b.apply, i18n.L("at full speed"), i18n.L("at half speed"), i18n.L("at a quarter"))
	b.ears = first(b.apply, i18n.L("reference left, voice right"), i18n.L("both on both ears"))
	b.which = kit.NewButton("", b.Swap)
	b.loud = kit.NewSlider(i18n.L("Loudness"), math.Sqrt(playback.QuietVolume), 0.02, func(float64) { b.apply() })
	stop := kit.NewButtonWithIcon(i18n.L("Stop"), theme.MediaStopIcon(), b.Hush)
	b.Root = kit.NewFlow(stop, kit.Wide(160, b.Where), kit.Wide(160, b.Speed), kit.Wide(262, b.ears),
		widget.NewIcon(theme.VolumeUpIcon()), kit.Wide(110, b.loud), b.which)
	b.Root.Hide()
	return b
}

// Follow tells the bar which take is in sight, and on which trace.
func (b *Bar) Follow(inSight func() (loop.Result, bool), trace *trace.Trace) {
	b.inSight, b.trace = inSight, trace
}

// Listen plays the take in sight, or ends it.
func (b *Bar) Listen() {
	t, ok := b.inSight()
	if !ok || !b.d.Ready() {
		return
	}
	if b.Play != nil {
		b.Hush()
		return
	}
	b.d.Tell(b.begin(t))
}

// Hush ends what is listened to.
func (b *Bar) Hush() {
	if b.Play == nil {
		return
	}
	b.spoken.Silence()
	for _, f := range b.files {
		f.Close()
	}
	b.Play, b.files = nil, nil
	b.trace.Heard(-1)
	b.Root.Hide()
	b.d.Refresh()
}

// begin opens the takes and plays.
func (b *Bar) begin(t loop.Result) error {
	speaker, err := b.Speaker()
	if err != nil {
		return err
	}
	one, err := b.open(t)
	if err != nil {
		return err
	}
	b.take, b.other = t, earlier(b.d.View(), t)
	b.Play = playback.NewListening(speaker.Rate(), one)
	b.which.Hide()
	if b.other.Take != nil {
		if two, err := b.open(b.other); err == nil {
			b.Play.Compare(two)
			b.which.SetText(b.whichWords())
			b.which.Show()
		} else { // a take before that is gone is no reason not to hear this one
			b.other = loop.Result{}
		}
	}
	b.place()
	playing := b.Play
	speaker.Listen(playing, func(err error) {
		fyne.Do(func() {
			if b.Play == playing { // and nobody began another
				b.Hush()
				b.d.Tell(err)
			}
		})
	})
	b.Root.Show()
	b.d.Refresh()
	b.d.Jobs.Watch(rollEvery, func() bool {
		if b.Play == playing {
			b.trace.Heard(b.HeardS())
		}
		return b.Play == playing
	})
	return nil
}

// rollEvery is how often the ball on the trace is moved.
const rollEvery = 50 * time.Millisecond

// HeardS returns what is heard of the take in sight, in s of it; negative where it
// is another take, or nothing.
func (b *Bar) HeardS() float64 {
	t, ok := b.inSight()
	if b.Play == nil || b.Play.Which() == 1 || !ok || b.take.Take.ID != t.Take.ID {
		return -1
	}
	return b.Play.AtS()
}

// open opens a take's recording to be listened to.
func (b *Bar) open(t loop.Result) (playback.Take, error) {
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
func (b *Bar) place() {
	if b.Play == nil {
		return
	}
	const beforeS, afterS = 0.15, 0.45
	pairs := b.take.Reading.Pairs
	i := max(b.trace.Selected(), 0)
	if b.Where.SelectedIndex() == ThisHit && i < len(pairs) {
		n, _ := slices.BinarySearch(b.take.Reading.ReferenceHitsS, pairs[i].ReferenceS)
		late := max(pairs[i].VoiceS-pairs[i].ReferenceS, 0)
		early := max(pairs[i].ReferenceS-pairs[i].VoiceS, 0)
		b.Play.LoopHit(n, beforeS+early, afterS+late)
	} else {
		b.Play.Whole()
	}
	b.apply()
}

// apply sets speed, ears and volume.
func (b *Bar) apply() {
	if b.Play == nil {
		return
	}
	b.Play.Speed(1 / float64(int(1)<<max(b.Speed.SelectedIndex(), 0)))
	b.Play.Ears([]playback.Ears{playback.Split, playback.Mixed}[max(b.ears.SelectedIndex(), 0)])
	b.Play.SetVolume(b.loud.Value * b.loud.Value) // the ear is not linear
}

// Swap changes between the take and the one before it.
func (b *Bar) Swap() {
	if b.Play != nil && b.other.Take != nil {
		b.Play.Switch()
		b.which.SetText(b.whichWords())
	}
}

// whichWords says which of the two is heard.
func (b *Bar) whichWords() string {
	if b.Play.Which() == 1 {
		return i18n.F("Before: take %d (B)", b.other.Take.ID)
	}
	return i18n.F("Now: take %d (B)", b.take.Take.ID)
}

// Speaker returns the output, which is opened when it is needed.
func (b *Bar) Speaker() (*live.Speaker, error) {
	if b.spoken != nil && !b.spoken.Gone() {
		return b.spoken, nil
	}
	outputs, err := b.d.Sound.Outputs()
	if err != nil {
		return nil, err
	}
	if len(outputs) == 0 {
		return nil, i18n.Errorf("no loudspeaker was found: plug in headphones or a loudspeaker")
	}
	d := outputs[0]
	chosen := b.d.Prefs.String(prefs.KeyOutput)
	for _, o := range outputs {
		if o.Name == chosen || chosen == "" && o.Default {
			d = o
		}
	}
	b.Hush() // of one that is gone
	b.Unplug()
	s, err := live.NewSpeaker(b.d.Sound, d)
	if err != nil {
		return nil, err
	}
	b.spoken = s
	b.d.Jobs.Watch(time.Second, func() bool { return b.keeps(s) })
	return s, nil
}

// StopClick ends the guide click.
func (b *Bar) StopClick() {
	if b.spoken != nil {
		b.spoken.StopClick()
	}
}

// restS is for how long nothing sounds before the output is given back, s.
const restS = 2

// keeps gives the output back once nothing sounds, and reports whether it is still kept: a
// computer with an open one never comes to rest. While a take is played its tones may come at
// any moment, and one that is listened to is over first.
func (b *Bar) keeps(s *live.Speaker) bool {
	if b.spoken == s && b.Play == nil && !b.d.Playing && (s.Gone() || s.QuietS() > restS) {
		b.Unplug()
	}
	return b.spoken == s
}

// Unplug gives the output back.
func (b *Bar) Unplug() {
	if b.spoken != nil {
		b.spoken.Close()
		b.spoken = nil
	}
}

// Commands are those of listening.
func (b *Bar) Commands(on bool) []*fyne.MenuItem {
	return kit.Apart(
		kit.Entry(i18n.Either(b.Play != nil, "Stop listening", "Listen"), kit.CtrlShift(fyne.KeyL), on, b.Listen),
		kit.Entry(i18n.L("Compare before and after"), kit.Ctrl(fyne.KeyB), b.Play != nil, b.Swap),
	)
}
