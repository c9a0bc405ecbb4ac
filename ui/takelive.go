package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/ui/rail"
	"lagwright/ui/trace"
)

// livePart is what the take pane shows besides the trace while a take is played:
// how loud each microphone is, and a picture of the moment at which a cable gave
// trouble.
type livePart struct {
	levels *fyne.Container
	rows   *fyne.Container // in levels: the rails
	rails  []*rail.Rail    // by channel; nil for a channel that carries nothing

	moment *fyne.Container
	said   *widget.Label
	near   *trace.Trace
}

func newLivePart() livePart {
	p := livePart{rows: container.NewVBox(), said: widget.NewLabel(""), near: trace.New()}
	p.levels = container.NewPadded(p.rows)
	p.levels.Hide()
	p.said.Wrapping = fyne.TextWrapWord
	p.said.TextStyle.Bold = true
	p.moment = container.NewBorder(p.said, nil, nil, nil, p.near)
	p.moment.Hide()
	return p
}

// beginLive makes room for a take that is played.
func (p *takePane) beginLive(take *live.Take) {
	l := &p.live
	l.rails, l.rows.Objects = nil, nil
	for i, name := range take.Names() {
		if name == "" {
			l.rails = append(l.rails, nil)
			continue
		}
		inked := name
		if i+1 == take.Reference() {
			inked = i18n.L(onReference)
		}
		r := rail.New(name, inkOf(inked), handsfree.QuietDBFS, handsfree.HotDBFS)
		l.rails = append(l.rails, r)
		l.rows.Add(r)
	}
	l.levels.Show()
	p.trace.SetHint(i18n.L("Turn the crank: both microphones appear here as they hear it."))
}

// endLive clears that room.
func (p *takePane) endLive() {
	p.live.levels.Hide()
	p.live.moment.Hide()
	p.fan.Show()
	p.live.near.SetTake(nil)
	p.trace.SetHint(i18n.L(traceHint))
}

// traceHint is what the empty trace says.
const traceHint = "Play a take or open a recording, and both channels appear here."

// showLevels shows how loud each microphone is.
func (p *takePane) showLevels(m live.Moment) {
	for i, level := range m.Levels {
		if i < len(p.live.rails) && p.live.rails[i] != nil {
			p.live.rails[i].Set(railLevel(level, gradeOf(level, 0)))
		}
	}
}

// aroundS is how much is shown before and after a trouble, s.
const aroundS = 0.3

// showTrouble shows the moment of a trouble in place of the fan, beside the trace
// that moves on.
func (p *takePane) showTrouble(t handsfree.Trouble, waves *trace.Take) {
	l := &p.live
	p.fan.Hide()
	l.said.SetText(asSentence(t.Text))
	still := *waves
	l.near.SetTake(&still)
	l.near.ZoomTo(t.FromS-aroundS, t.ToS+aroundS)
	l.moment.Show()
}
