package record

import (
	"slices"

	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
)

// AskChannels asks of each channel of a recording what it carries, then adds it. What is
// returned has the answers, by channel from 0.
func (p *Recorder) AskChannels(path string, channels int) (carries []*kit.Choice) {
	m, likely := p.d.Machine(), p.d.Bench.Channels(channels)
	options := slices.Concat([]string{machine.ReferenceRole()}, m.Build.Voices, []string{machine.NoRole()})
	var items []*widget.FormItem
	for i := range channels {
		carries = append(carries, kit.NewChoice(options, likely.Role(i+1), nil))
		items = append(items, kit.Item(i18n.F("Channel %d", i+1), "", carries[i]))
	}
	measure := p.d.ShowForm(kit.Form{
		Title: i18n.L("Which channel is which?"), Confirm: i18n.L("Measure"), Items: items,
		Wrong: func() error { _, err := chosen(carries, m.Target.Voice); return err },
		Leave: func(away func()) { away(); p.OfferStrays() },
		Done: func() {
			ch, _ := chosen(carries, m.Target.Voice) // which the form found right
			p.AddRecording(path, ch)
		},
	})
	p.d.Focus(measure)
	return carries
}

// chosen returns the microphones of some answers, or what cannot be about them.
func chosen(carries []*kit.Choice, aimedAt string) (ch machine.Microphones, err error) {
	var roles []string
	for _, s := range carries {
		roles = append(roles, s.Selected)
	}
	if ch, err = machine.OnChannels(roles); err != nil {
		return ch, err
	}
	if _, ok := ch.Of(aimedAt); !ok {
		return ch, i18n.Errorf("no channel carries the %s, which you are working on: choose it, or work on another voice first", aimedAt)
	}
	return ch, nil
}
