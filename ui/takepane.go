package ui

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/session"
	"lagwright/ui/fan"
	"lagwright/ui/look"
	"lagwright/ui/trace"
)

// takePane shows one take: both waveforms as a mirror trace, every pair as a
// hit fan, and what was read from them.
type takePane struct {
	root     *fyne.Container
	trace    *trace.Trace
	fan      *fan.Fan
	head     *widget.Label
	sure     *widget.Button // beside the interval: what it is made of
	warnings *sign
}

func newTakePane(w *Window) *takePane {
	p := &takePane{trace: trace.New(), fan: fan.New(), head: widget.NewLabel("")}
	p.sure = widget.NewButton("How sure?", w.howSure)
	p.sure.Importance = widget.LowImportance
	p.head.Truncation = fyne.TextTruncateEllipsis
	p.warnings = newSign(14, 11, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200)
	p.warnings.Hide()
	split := container.NewHSplit(p.trace, p.fan)
	split.Offset = 0.72
	top := container.NewVBox(container.NewBorder(nil, nil, nil, container.NewHBox(p.sure, p.trace.Tools()), p.head), p.warnings)
	p.root = container.NewBorder(top, nil, nil, nil, split)
	p.show(nil, nil)
	return p
}

// show shows a take and its waveforms; nil shows that there is none yet.
func (p *takePane) show(t *session.Take, waves *trace.Take) {
	p.trace.SetTake(waves)
	if t == nil {
		p.head.SetText("")
		p.sure.Hide()
		p.warnings.Hide()
		p.fan.Clear()
		return
	}
	p.say(t)
}

// follow brings the pane up to a take in sight whose hits were changed.
func (p *takePane) follow(t session.Take) {
	p.trace.SetReading(t.Reading, t.Hits(session.ReferenceChannel), t.Hits(session.VoiceChannel))
	p.say(&t)
}

// say writes what was read from a take.
func (p *takePane) say(t *session.Take) {
	p.head.SetText(takeHead(*t))
	p.sure.Show()
	p.fan.Set(t.Reading, t.Advice.LimitMS, 0)
	p.warnings.set(warningWords(t.Reading.Warnings), look.Warn)
	p.warnings.Hidden = len(t.Reading.Warnings) == 0
	p.root.Refresh()
}

// takeHead says a take in one line.
func takeHead(t session.Take) string {
	r := t.Reading
	parts := []string{fmt.Sprintf("Take %d", t.ID), "plate at " + look.Setting(t.Setting)}
	if t.LeftOut {
		parts = append(parts, "left out")
	}
	if r.TempoBPM > 0 {
		parts = append(parts, fmt.Sprintf("played at %.1f BPM", r.TempoBPM))
	}
	if r.Used() >= calib.MinPairs {
		parts = append(parts, fmt.Sprintf("%s ± %.1f", look.Lag(r.LagMS), r.HalfWidthMS()), fmt.Sprintf("jitter %.1f ms", r.JitterMS))
	}
	parts = append(parts, pairWords(r))
	if t.ByHand != nil {
		parts = slices.Insert(parts, 1, changedWords(t))
	}
	return strings.Join(parts, " · ")
}

// pairWords counts the pairs, and the rejected ones by reason.
func pairWords(r calib.Reading) string {
	words := fmt.Sprintf("%d of %d pairs used", r.Used(), len(r.Pairs))
	rejected := r.Rejected()
	for _, reason := range slices.Sorted(maps.Keys(rejected)) {
		words += fmt.Sprintf(", %d × %s", rejected[reason], reason)
	}
	return words
}

func warningWords(warnings []calib.Warning) string {
	var texts []string
	for _, w := range warnings {
		texts = append(texts, asSentence(w.Text))
	}
	return strings.Join(texts, " ")
}
