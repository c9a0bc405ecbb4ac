package record

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// ChannelChoice asks of each channel of a recording what it carries.
type ChannelChoice struct {
	form     *widget.Form
	Scroll   *container.Scroll
	Channels []*kit.Choice // by channel, from 0
	Wrong    *widget.Label // what cannot be about the choice; empty where nothing
	aimedAt  string
	Done     func(ok bool)
}

func newChannelChoice(channels int, likely machine.Microphones, voices []string, aimedAt string) *ChannelChoice {
	c := &ChannelChoice{form: kit.NewForm(), Wrong: widget.NewLabel(""), aimedAt: aimedAt}
	c.Wrong.Wrapping, c.Wrong.Importance = fyne.TextWrapWord, widget.WarningImportance
	options := slices.Concat([]string{machine.ReferenceRole()}, voices, []string{machine.NoRole()})
	for i := range channels {
		s := kit.NewChoice(options, likely.Role(i+1), func(string) { c.check() })
		c.Channels = append(c.Channels, s)
		c.form.Append(i18n.F("Channel %d", i+1), s)
	}
	c.Scroll = container.NewVScroll(c.form)
	c.check()
	return c
}

// check says what cannot be about the choice.
func (c *ChannelChoice) check() {
	_, err := c.chosen()
	if c.Wrong.SetText(""); err != nil {
		c.Wrong.SetText(kit.AsSentence(err.Error()))
	}
}

// chosen returns the choice, or what cannot be about it.
func (c *ChannelChoice) chosen() (ch machine.Microphones, err error) {
	var roles []string
	for _, s := range c.Channels {
		roles = append(roles, s.Selected)
	}
	if ch, err = machine.OnChannels(roles); err != nil {
		return ch, err
	}
	if _, ok := ch.Of(c.aimedAt); !ok {
		return ch, i18n.Errorf("no channel carries the %s, which you are working on: choose it, or work on another voice first", c.aimedAt)
	}
	return ch, nil
}

// AskChannels asks which channel of a recording is which, then adds it. What is
// returned answers for the person.
func (p *Recorder) AskChannels(path string, channels int) *ChannelChoice {
	m := p.d.Machine()
	c := newChannelChoice(channels, p.d.Bench.Channels(channels), m.Build.Voices, m.Target.Voice)
	lines := 56 * look.Times(theme.Current()) // room for what is wrong, so that nothing jumps when it comes
	body := container.NewBorder(nil, container.NewStack(kit.Gap(lines), c.Wrong), nil, nil, c.Scroll)
	var d *kit.Dialog
	c.Done = func(ok bool) {
		ch, err := c.chosen()
		if ok && err != nil {
			return // what is wrong stands there
		}
		d.Hide()
		if ok {
			p.AddRecording(path, ch)
		} else {
			p.OfferStrays()
		}
	}
	measure := kit.NewButton(i18n.L("Measure"), func() { c.Done(true) }).Bright()
	d = p.d.Dialog(i18n.L("Which channel is which?"), body, 560, 0, kit.NewButton(i18n.L("Cancel"), func() { c.Done(false) }), measure)
	p.d.Fit(d, c.Scroll, 560)
	p.d.Focus(measure)
	return c
}
