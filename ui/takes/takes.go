// Package takes shows one take, and changes what it says: its hits, its notes, whether
// it counts.
package takes

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/take"
	"lagwright/ui/desk"
	"lagwright/ui/fan"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/sign"
	"lagwright/ui/trace"
)

// Pane shows one take: both waveforms as a mirror trace, every pair as a
// hit fan, and what was read from them.
type Pane struct {
	d       *desk.Desk
	arrival func()     // the take in sight is another now
	Showing int        // id of the take in sight; 0 = none
	Voice   string     // which of its voices
	file    *take.File // its recording; nil = none
	drawn   [2]int     // its channels whose waves are drawn: the reference's and the voice's
	known   *loop.View // what was shown of it last
	hitMenu hitMenu    // as the menu has it

	Root     *fyne.Container
	Trace    *trace.Trace
	Fan      *fan.Fan
	Head     *sign.Sign  // smaller, and in two lines, rather than cut
	Voices   *kit.Choice // which of the take's voices is in sight; hidden where there is one
	Aim      *kit.Button // aims the loop at that voice
	Listen   *kit.Button
	Sure     *kit.Button // beside the interval: what it is made of
	warnings *sign.Sign
	Notes    *widget.Label // the builder's own words; hidden where there are none
	Live     livePart      // what is shown beside while a take is played
	Tools    fyne.CanvasObject
	Split    *container.Split // trace and fan
}

// New returns a pane with a row below its head for what listens to the take;
// listen begins to. arrival is told when another take is in sight.
func New(d *desk.Desk, listening fyne.CanvasObject, listen, arrival func()) *Pane {
	p := &Pane{d: d, arrival: arrival, Trace: trace.New(), Fan: fan.New(), Head: sign.New(16, 12, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 200)}
	p.Sure = kit.NewButton(i18n.L("How sure?"), p.HowSure).Quiet()
	p.Listen = kit.NewButtonWithIcon(i18n.L("Listen"), theme.VolumeUpIcon(), listen)
	p.Listen.Importance = widget.LowImportance
	p.Voices = kit.NewChoice(nil, "", p.ShowVoice)
	p.Aim = kit.NewButton(i18n.L("Work on this voice"), p.aimAtVoice).Quiet()
	p.warnings = sign.New(14, 11, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200)
	p.warnings.Hide()
	p.Notes = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Italic: true})
	p.Notes.Truncation = fyne.TextTruncateEllipsis
	p.Live = newLivePart()
	p.Split = container.NewHSplit(p.Trace, container.NewStack(p.Fan, p.Live.moment))
	p.Tools = p.tools()
	bar := kit.Aside(container.NewBorder(nil, nil, container.NewHBox(p.Voices, p.Aim), nil, p.Head), p.Listen, p.Sure, p.Tools)
	top := container.NewVBox(bar, p.Notes, p.warnings, p.Live.Levels, listening)
	p.Root = kit.Border(top, nil, nil, nil, p.Split)
	p.Trace.OnEdit, p.Trace.OnHit = p.EditHit, p.hitSelected
	p.Trace.SetHint(i18n.L(traceHint))
	p.Arrange(false)
	p.put(nil, nil)
	return p
}

// Arrange lays the pane out for text of the usual size, or for large text.
func (p *Pane) Arrange(large bool) {
	p.Split.Horizontal = !large
	if !p.Root.Size().IsZero() { // nothing of it is drawn before
		p.Root.Refresh()
	}
}

// tools are buttons for what wheel and keys do in the trace, for those who have neither.
func (p *Pane) tools() fyne.CanvasObject {
	return container.NewHBox(
		kit.NewIconButton(i18n.L("Previous pair"), theme.NavigateBackIcon(), p.Trace.PrevPair),
		kit.NewIconButton(i18n.L("Next pair"), theme.NavigateNextIcon(), p.Trace.NextPair),
		kit.NewIconButton(i18n.L("Zoom out"), theme.ZoomOutIcon(), p.Trace.ZoomOut),
		kit.NewIconButton(i18n.L("Zoom in"), theme.ZoomInIcon(), p.Trace.ZoomIn),
		kit.NewIconButton(i18n.L("Whole take"), theme.ZoomFitIcon(), p.Trace.ShowAll),
	)
}

// put shows a take and its waveforms; nil shows that there is none yet.
func (p *Pane) put(t *loop.Result, waves *trace.Take) {
	p.Trace.SetTake(waves)
	if t != nil {
		p.say(t)
		return
	}
	p.Head.Set("", theme.ColorNameForeground)
	for _, o := range []fyne.CanvasObject{p.Sure, p.Listen, p.Voices, p.Aim, p.warnings, p.Notes} {
		o.Hide()
	}
	p.Fan.Clear()
}

// follow brings the pane up to a take in sight whose hits were changed.
func (p *Pane) follow(t loop.Result) {
	p.Trace.SetReading(t.Reading, t.Hits(machine.ReferenceChannel), t.Hits(machine.VoiceChannel))
	p.say(&t)
}

// say writes what was read from a take.
func (p *Pane) say(t *loop.Result) {
	p.Head.Set(HeadOf(*t), theme.ColorNameForeground)
	p.Sure.Show()
	p.Listen.Show()
	p.Fan.Set(t.Reading, t.LimitMS, p.d.Machine().SongsBPM()...)
	p.warnings.Set(p.warningWords(t), look.Warn)
	kit.Show(p.warnings, p.warnings.Text != "")
	p.Notes.SetText("“" + kit.FirstLine(t.Take.Notes) + "”")
	kit.Show(p.Notes, t.Take.Notes != "")
	p.Root.Refresh()
}

// Show brings the pane up to what the machine says of the take in sight.
func (p *Pane) Show(v *loop.View) {
	t, ok := p.InSight()
	if !ok {
		return
	}
	if on := channelsOf(t); on != p.drawn && p.d.Ready() { // they were corrected
		p.drawn = on
		p.Trace.SetTake(nil)
		p.open(t)
	}
	if p.Voice = t.Voice; v != p.known {
		p.known = v
		p.follow(t)
	}
	p.offer(t, v.Machine)
}

// offer lists the voices of a take in the machine's order, with the one in sight chosen, and offers to aim
// the loop at it where it aims at another.
func (p *Pane) offer(t loop.Result, m machine.Machine) {
	heard := t.Take.Voices()
	p.Voices.Options = slices.DeleteFunc(slices.Clone(m.Build.Voices), func(v string) bool { return !slices.Contains(heard, v) })
	p.Voices.Selected = t.Voice // not by SetSelected, which would ask to show it
	p.Voices.Refresh()
	p.Voices.Hidden = len(heard) == 1
	p.Aim.Hidden = p.Voices.Hidden || t.Voice == m.Target.Voice
	p.Root.Refresh()
}

// ShowVoice shows the take in sight as another of its voices has it.
func (p *Pane) ShowVoice(voice string) {
	if p.Showing == 0 || voice == p.Voice {
		return
	}
	if t, ok := p.d.View().Result(p.Showing, voice); ok {
		p.OpenTake(t)
	}
}

// NextVoice shows the next voice of the take in sight.
func (p *Pane) NextVoice() {
	if options := p.Voices.Options; len(options) > 0 {
		p.ShowVoice(options[(slices.Index(options, p.Voice)+1)%len(options)])
	}
}

// aimAtVoice aims the loop at the voice in sight, for the take's song and tempo.
func (p *Pane) aimAtVoice() {
	if t, ok := p.InSight(); ok && p.d.Ready() {
		p.d.Aim(t.Target())
	}
}

// HeadOf says a take in one line, but for its lag, which is in the fan beside it; which voice
// it is of is said where it heard no other, else beside it.
func HeadOf(t loop.Result) string {
	r := t.Reading
	parts := []string{i18n.F("Take %d", t.Take.ID)}
	if len(t.Take.Heard) == 1 {
		parts = append(parts, t.Voice)
	}
	if t.Take.LeftOut {
		parts = append(parts, i18n.L("left out"))
	}
	if r.TempoBPM > 0 {
		parts = append(parts, look.Played(r))
	}
	parts = append(parts, pairWords(r))
	if t.ByHand != nil {
		parts = append(parts, changedWords(t))
	}
	parts = append(parts, i18n.F("plate at %s", look.Setting(t.Setting)))
	if r.Used() >= calib.MinPairs {
		parts = append(parts, i18n.F("jitter %.1f ms", r.JitterMS))
	}
	return strings.Join(parts, " · ")
}

// pairWords counts the pairs, and the rejected ones by reason.
func pairWords(r calib.Reading) string {
	words := i18n.F("%d of %d pairs used", r.Used(), len(r.Pairs))
	rejected := r.Rejected()
	for _, reason := range slices.Sorted(maps.Keys(rejected)) {
		words += fmt.Sprintf(", %d × %s", rejected[reason], calib.ReasonWords(reason))
	}
	return words
}

// warningWords says the warnings of a take, but for what the top says.
func (p *Pane) warningWords(t *loop.Result) string {
	var texts []string
	for _, w := range t.Reading.Warnings {
		if !p.d.Says(t.Take.ID, w.Code) {
			texts = append(texts, kit.AsSentence(w.Words()))
		}
	}
	return strings.Join(texts, " ")
}

// Commands are those on the take in sight.
func (p *Pane) Commands(ready bool) []*fyne.MenuItem {
	_, ok := p.InSight()
	ok = ok && ready
	return []*fyne.MenuItem{
		kit.Entry(i18n.L("How sure?"), kit.Ctrl(fyne.KeyU), ok, p.HowSure),
		kit.Entry(i18n.Either(p.leftOut(), "Count this take again", "Leave this take out"), kit.Ctrl(fyne.KeyBackspace), ok, p.LeaveOut),
		kit.Entry(i18n.L("Temperature and humidity…"), nil, ok, p.AskAir),
		kit.Entry(i18n.L("Notes on this take…"), kit.Ctrl(fyne.KeyK), ok, p.NoteTake),
		kit.Entry(i18n.L("Correct this take…"), nil, ok, p.AskCorrect),
	}
}

// OfVoices go from voice to voice of it.
func (p *Pane) OfVoices(ready bool) []*fyne.MenuItem {
	t, ok := p.InSight()
	several := ready && ok && len(t.Take.Heard) > 1
	return kit.Apart(
		kit.Entry(i18n.L("Show the next voice"), kit.CtrlShift(fyne.KeyRight), several, p.NextVoice),
		kit.Entry(i18n.L("Work on this voice"), kit.CtrlShift(fyne.KeyU), several && p.Voice != p.d.Machine().Target.Voice, p.aimAtVoice),
	)
}

// OfTrace are those of the trace.
func (p *Pane) OfTrace(open bool) []*fyne.MenuItem {
	return []*fyne.MenuItem{
		kit.Entry(i18n.L("Whole take"), kit.Ctrl(fyne.Key0), open, p.Trace.ShowAll),
		kit.Entry(i18n.L("Zoom in"), kit.Ctrl(fyne.KeyUp), open, p.Trace.ZoomIn),
		kit.Entry(i18n.L("Zoom out"), kit.Ctrl(fyne.KeyDown), open, p.Trace.ZoomOut),
		kit.Entry(i18n.L("Next pair"), kit.Ctrl(fyne.KeyRight), open, p.Trace.NextPair),
		kit.Entry(i18n.L("Previous pair"), kit.Ctrl(fyne.KeyLeft), open, p.Trace.PrevPair),
	}
}
