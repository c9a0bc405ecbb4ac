package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
)

// What a channel of a recording may carry besides a voice.
const (
	carriesNothing   = "nothing"
	carriesReference = "the reference"
)

// channelChoice asks of each channel of a recording what it carries.
type channelChoice struct {
	form     *widget.Form
	channels []*choice     // by channel, from 0
	wrong    *widget.Label // what cannot be about the choice; empty where nothing
	aimedAt  string
	done     func(ok bool)
}

func newChannelChoice(channels int, likely bench.Channels, voices []string, aimedAt string) *channelChoice {
	c := &channelChoice{form: widget.NewForm(), wrong: widget.NewLabel(""), aimedAt: aimedAt}
	c.wrong.Wrapping, c.wrong.Importance = fyne.TextWrapWord, widget.WarningImportance
	options := append([]string{carriesReference}, voices...)
	options = append(options, carriesNothing)
	for i := range channels {
		s := newChoice(options, nil)
		s.Selected = carried(i+1, likely, aimedAt)
		s.OnChanged = func(string) { c.check() }
		c.channels = append(c.channels, s)
		c.form.Append(fmt.Sprintf("Channel %d", i+1), s)
	}
	c.check()
	return c
}

// carried is what a channel carries, as the window says it.
func carried(channel int, ch bench.Channels, aimedAt string) string {
	switch channel {
	case ch.Reference:
		return carriesReference
	case ch.Voice:
		return aimedAt
	}
	for voice, at := range ch.Others {
		if at == channel {
			return voice
		}
	}
	return carriesNothing
}

// check says what cannot be about the choice.
func (c *channelChoice) check() {
	c.wrong.SetText("")
	seen := map[string]bool{}
	for _, s := range c.channels {
		if s.Selected != carriesNothing && seen[s.Selected] {
			c.wrong.SetText(asSentence(named(s.Selected) + " is on two channels: choose one"))
			return
		}
		seen[s.Selected] = true
	}
	switch {
	case !seen[carriesReference]:
		c.wrong.SetText("No channel carries the reference, the microphone on what is locked to the crank.")
	case !seen[c.aimedAt]:
		c.wrong.SetText(asSentence("no channel carries the " + c.aimedAt + ", which the loop aims at: choose it, or cancel and aim at another voice first"))
	}
}

// named says what a channel carries inside a sentence.
func named(carried string) string {
	if carried == carriesReference {
		return carried
	}
	return "the " + carried
}

// chosen returns the choice; it is not ok while something cannot be.
func (c *channelChoice) chosen() (ch bench.Channels, ok bool) {
	ch.Others = map[string]int{}
	for i, s := range c.channels {
		switch s.Selected {
		case carriesReference:
			ch.Reference = i + 1
		case c.aimedAt:
			ch.Voice = i + 1
		case carriesNothing:
		default:
			ch.Others[s.Selected] = i + 1
		}
	}
	return ch, c.wrong.Text == ""
}

// askChannels asks which channel of a recording is which, then adds it. What is
// returned answers for the person.
func (w *Window) askChannels(path string, channels int) *channelChoice {
	s := w.session()
	c := newChannelChoice(channels, w.bench.Channels(channels), s.Machine.Voices, s.Target.Voice)
	const lines = 56 // room for what is wrong, so that nothing jumps when it comes
	body := container.NewBorder(nil, container.NewStack(gap(lines), c.wrong), nil, nil, container.NewVScroll(c.form))
	d := dialog.NewCustomWithoutButtons("Which channel is which?", body, w.win)
	c.done = func(ok bool) {
		ch, right := c.chosen()
		if ok && !right {
			return // what is wrong stands there
		}
		d.Hide()
		if ok {
			w.addRecording(path, ch)
		}
	}
	measure := newButton("Measure", func() { c.done(true) })
	measure.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Cancel", func() { c.done(false) }), measure})
	const around = 130 + lines // title, what is wrong, buttons
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(w.room(560, 0).Width, min(c.form.MinSize().Height+around, size.Height*0.9)))
	d.Show()
	w.win.Canvas().Focus(measure)
	return c
}
