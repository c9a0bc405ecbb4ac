package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
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

	nothing, reference string // carriesNothing and carriesReference, as they are shown
	done               func(ok bool)
}

func newChannelChoice(channels int, likely bench.Channels, voices []string, aimedAt string) *channelChoice {
	c := &channelChoice{form: widget.NewForm(), wrong: widget.NewLabel(""), aimedAt: aimedAt,
		nothing: i18n.L(carriesNothing), reference: i18n.L(carriesReference)}
	c.wrong.Wrapping, c.wrong.Importance = fyne.TextWrapWord, widget.WarningImportance
	options := append([]string{c.reference}, voices...)
	options = append(options, c.nothing)
	for i := range channels {
		s := newChoice(options, nil)
		s.Selected = c.carried(i+1, likely)
		s.OnChanged = func(string) { c.check() }
		c.channels = append(c.channels, s)
		c.form.Append(i18n.F("Channel %d", i+1), s)
	}
	c.check()
	return c
}

// carried is what a channel carries, as the window says it.
func (c *channelChoice) carried(channel int, ch bench.Channels) string {
	switch channel {
	case ch.Reference:
		return c.reference
	case ch.Voice:
		return c.aimedAt
	}
	for voice, at := range ch.Others {
		if at == channel {
			return voice
		}
	}
	return c.nothing
}

// check says what cannot be about the choice.
func (c *channelChoice) check() {
	c.wrong.SetText("")
	seen := map[string]bool{}
	for _, s := range c.channels {
		if s.Selected != c.nothing && seen[s.Selected] {
			c.wrong.SetText(asSentence(c.twice(s.Selected)))
			return
		}
		seen[s.Selected] = true
	}
	switch {
	case !seen[c.reference]:
		c.wrong.SetText(i18n.L("No channel carries the reference, the microphone on what is locked to the crank."))
	case !seen[c.aimedAt]:
		c.wrong.SetText(asSentence(i18n.F("no channel carries the %s, which the loop aims at: choose it, or cancel and aim at another voice first", c.aimedAt)))
	}
}

// twice says that two channels carry one thing.
func (c *channelChoice) twice(carried string) string {
	if carried == c.reference {
		return i18n.L("the reference is on two channels: choose one")
	}
	return i18n.F("the %s is on two channels: choose one", carried)
}

// chosen returns the choice; it is not ok while something cannot be.
func (c *channelChoice) chosen() (ch bench.Channels, ok bool) {
	ch.Others = map[string]int{}
	for i, s := range c.channels {
		switch s.Selected {
		case c.reference:
			ch.Reference = i + 1
		case c.aimedAt:
			ch.Voice = i + 1
		case c.nothing:
		default:
			ch.Others[s.Selected] = i + 1
		}
	}
	return ch, c.wrong.Text == ""
}

// askChannels asks which channel of a recording is which, then adds it. What is
// returned answers for the person.
func (p *recorder) askChannels(path string, channels int) *channelChoice {
	s := p.d.Session()
	c := newChannelChoice(channels, p.d.Bench.Channels(channels), s.Machine.Voices, s.Target.Voice)
	const lines = 56 // room for what is wrong, so that nothing jumps when it comes
	body := container.NewBorder(nil, container.NewStack(gap(lines), c.wrong), nil, nil, container.NewVScroll(c.form))
	d := dialog.NewCustomWithoutButtons(i18n.L("Which channel is which?"), body, p.d.Win)
	c.done = func(ok bool) {
		ch, right := c.chosen()
		if ok && !right {
			return // what is wrong stands there
		}
		d.Hide()
		if ok {
			p.addRecording(path, ch)
		} else {
			p.offerStrays()
		}
	}
	measure := newButton(i18n.L("Measure"), func() { c.done(true) })
	measure.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{newButton(i18n.L("Cancel"), func() { c.done(false) }), measure})
	const around = 130 + lines // title, what is wrong, buttons
	size := p.d.Win.Canvas().Size()
	d.Resize(fyne.NewSize(p.d.Room(560, 0).Width, min(c.form.MinSize().Height+around, size.Height*0.9)))
	d.Show()
	p.d.Focus(measure)
	return c
}
