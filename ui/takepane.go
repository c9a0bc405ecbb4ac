package ui

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
	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/ui/fan"
	"lagwright/ui/look"
	"lagwright/ui/trace"
)

// takePane shows one take: both waveforms as a mirror trace, every pair as a
// hit fan, and what was read from them.
type takePane struct {
	d       *Desk
	arrival func()     // the take in sight is another now
	showing int        // id of the take in sight; 0 = none
	voice   string     // which of its voices
	file    *take.File // its recording; nil = none
	known   *loop.View // what was shown of it last
	hitMenu hitMenu    // as the menu has it

	root     *fyne.Container
	trace    *trace.Trace
	fan      *fan.Fan
	head     *widget.Label
	voices   *choice // which of the take's voices is in sight; hidden where there is one
	aim      *button // aims the loop at that voice
	listen   *button
	sure     *button // beside the interval: what it is made of
	warnings *sign
	notes    *widget.Label   // the builder's own words; hidden where there are none
	live     livePart        // what is shown beside while a take is played
	bar      *fyne.Container // head, voices and tools
	tools    fyne.CanvasObject
	split    *container.Split // trace and fan
}

// newTakePane returns a pane with a row below its head for what listens to the take;
// listen begins to. arrival is told when another take is in sight.
func newTakePane(d *Desk, listening fyne.CanvasObject, listen, arrival func()) *takePane {
	p := &takePane{d: d, arrival: arrival, trace: trace.New(), fan: fan.New(), head: widget.NewLabel("")}
	p.sure = newButton(i18n.L("How sure?"), p.howSure)
	p.sure.Importance = widget.LowImportance
	p.listen = newButtonWithIcon(i18n.L("Listen"), theme.VolumeUpIcon(), listen)
	p.listen.Importance = widget.LowImportance
	p.voices = newChoice(nil, p.showVoice)
	p.aim = newButton(i18n.L("Aim at it"), p.aimAtVoice)
	p.aim.Importance = widget.LowImportance
	p.head.Truncation = fyne.TextTruncateEllipsis
	p.warnings = newSign(14, 11, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200)
	p.warnings.Hide()
	p.notes = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Italic: true})
	p.notes.Truncation = fyne.TextTruncateEllipsis
	p.live = newLivePart()
	p.split = container.NewHSplit(p.trace, container.NewStack(p.fan, p.live.moment))
	p.tools, p.bar = p.trace.Tools(), container.NewStack()
	top := container.NewVBox(p.bar, p.notes, p.warnings, p.live.levels, listening)
	p.root = border(top, nil, nil, nil, p.split)
	p.trace.OnFocus, p.trace.OnEdit, p.trace.OnHit = reveal, p.editHit, p.hitSelected
	p.trace.SetHint(i18n.L(traceHint))
	p.arrange(false)
	p.put(nil, nil)
	return p
}

// arrange lays the pane out for text of the usual size, or for large text.
func (p *takePane) arrange(large bool) {
	p.head.Truncation, p.head.Wrapping = fyne.TextTruncateEllipsis, fyne.TextWrapOff
	line := container.NewBorder(nil, nil, container.NewHBox(p.voices, p.aim), container.NewHBox(p.listen, p.sure, p.tools), p.head)
	if large {
		p.head.Truncation, p.head.Wrapping = fyne.TextTruncateOff, fyne.TextWrapWord
		line = container.NewVBox(p.head, newFlow(p.voices, p.aim, p.listen, p.sure, p.tools))
	}
	p.bar.Objects = []fyne.CanvasObject{line}
	p.split.Horizontal = !large
	if !p.root.Size().IsZero() { // nothing of it is drawn before
		p.root.Refresh()
	}
}

// put shows a take and its waveforms; nil shows that there is none yet.
func (p *takePane) put(t *loop.Result, waves *trace.Take) {
	p.trace.SetTake(waves)
	if t == nil {
		p.head.SetText("")
		p.sure.Hide()
		p.listen.Hide()
		p.voices.Hide()
		p.aim.Hide()
		p.warnings.Hide()
		p.notes.Hide()
		p.fan.Clear()
		return
	}
	p.say(t)
}

// follow brings the pane up to a take in sight whose hits were changed.
func (p *takePane) follow(t loop.Result) {
	p.trace.SetReading(t.Reading, t.Hits(session.ReferenceChannel), t.Hits(session.VoiceChannel))
	p.say(&t)
}

// say writes what was read from a take.
func (p *takePane) say(t *loop.Result) {
	p.head.SetText(takeHead(*t))
	p.sure.Show()
	p.listen.Show()
	p.fan.Set(t.Reading, t.LimitMS, 0)
	p.warnings.set(warningWords(t.Reading.Warnings), look.Warn)
	p.warnings.Hidden = len(t.Reading.Warnings) == 0
	p.notes.SetText("“" + firstLine(t.Take.Notes) + "”")
	show(p.notes, t.Take.Notes != "")
	p.root.Refresh()
}

// refresh brings the pane up to what the session says of the take in sight.
func (p *takePane) refresh(v *loop.View) {
	t, ok := p.inSight()
	if !ok {
		return
	}
	if p.voice = t.Voice; v != p.known {
		p.known = v
		p.follow(t)
	}
	p.offer(t, v.Session)
}

// offer lists the voices of a take in the machine's order, with the one in sight chosen, and offers to aim
// the loop at it where it aims at another.
func (p *takePane) offer(t loop.Result, s session.Session) {
	heard := t.Take.Voices()
	p.voices.Options = slices.DeleteFunc(slices.Clone(s.Machine.Voices), func(v string) bool { return !slices.Contains(heard, v) })
	p.voices.Selected = t.Voice // not by SetSelected, which would ask to show it
	p.voices.Refresh()
	p.voices.Hidden = len(heard) == 1
	p.aim.Hidden = p.voices.Hidden || t.Voice == s.Target.Voice
	p.root.Refresh()
}

// showVoice shows the take in sight as another of its voices has it.
func (p *takePane) showVoice(voice string) {
	if p.showing == 0 || voice == p.voice {
		return
	}
	if t, ok := p.d.View().Result(p.showing, voice); ok {
		p.openTake(t)
	}
}

// nextVoice shows the next voice of the take in sight.
func (p *takePane) nextVoice() {
	if options := p.voices.Options; len(options) > 0 {
		p.showVoice(options[(slices.Index(options, p.voice)+1)%len(options)])
	}
}

// aimAtVoice aims the loop at the voice in sight, for the take's song and tempo.
func (p *takePane) aimAtVoice() {
	if t, ok := p.inSight(); ok && p.d.Ready() {
		p.d.Aim(t.Target())
	}
}

func (p *takePane) aimVoiceWords() string {
	if p.voice == "" {
		return i18n.L("Aim at the voice in sight")
	}
	return i18n.F("Aim at the %s", p.voice)
}

// takeHead says a take in one line, first what changes with its hits, as a narrow
// window cuts the end; which voice it is of is said where it heard no other, else
// beside it.
func takeHead(t loop.Result) string {
	r := t.Reading
	parts := []string{i18n.F("Take %d", t.Take.ID)}
	if len(t.Take.Heard) == 1 {
		parts = append(parts, t.Voice)
	}
	if t.Take.LeftOut {
		parts = append(parts, i18n.L("left out"))
	}
	read := r.Used() >= calib.MinPairs
	if read {
		parts = append(parts, i18n.F("%s ± %.1f", look.Lag(r.LagMS), r.HalfWidthMS()))
	}
	parts = append(parts, pairWords(r))
	if t.ByHand != nil {
		parts = append(parts, changedWords(t))
	}
	parts = append(parts, i18n.F("plate at %s", look.Setting(t.Setting)))
	if r.TempoBPM > 0 {
		parts = append(parts, i18n.F("played at %.1f BPM", r.TempoBPM))
	}
	if read {
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

func warningWords(warnings []calib.Warning) string {
	var texts []string
	for _, w := range warnings {
		texts = append(texts, asSentence(w.Words()))
	}
	return strings.Join(texts, " ")
}

// commands are those on the take in sight.
func (p *takePane) commands(ready bool) []*fyne.MenuItem {
	_, ok := p.inSight()
	ok = ok && ready
	return []*fyne.MenuItem{
		Entry(i18n.L("How sure?"), Ctrl(fyne.KeyU), ok, p.howSure),
		Entry(p.leaveOutWords(), Ctrl(fyne.KeyBackspace), ok, p.leaveOut),
		Entry(i18n.L("Notes on this take…"), Ctrl(fyne.KeyK), ok, p.noteTake),
		Entry(i18n.L("Correct plate and tempo…"), nil, ok, p.askCorrect),
	}
}

// ofVoices go from voice to voice of it.
func (p *takePane) ofVoices(ready bool) []*fyne.MenuItem {
	t, ok := p.inSight()
	several := ready && ok && len(t.Take.Heard) > 1
	return Apart(
		Entry(i18n.L("Show the next voice"), CtrlShift(fyne.KeyRight), several, p.nextVoice),
		Entry(p.aimVoiceWords(), CtrlShift(fyne.KeyU), several && p.voice != p.d.Session().Target.Voice, p.aimAtVoice),
	)
}

// ofTrace are those of the trace.
func (p *takePane) ofTrace(open bool) []*fyne.MenuItem {
	return []*fyne.MenuItem{
		Entry(i18n.L("Whole take"), Ctrl(fyne.Key0), open, p.trace.ShowAll),
		Entry(i18n.L("Zoom in"), Ctrl(fyne.KeyUp), open, p.trace.ZoomIn),
		Entry(i18n.L("Zoom out"), Ctrl(fyne.KeyDown), open, p.trace.ZoomOut),
		Entry(i18n.L("Next pair"), Ctrl(fyne.KeyRight), open, p.trace.NextPair),
		Entry(i18n.L("Previous pair"), Ctrl(fyne.KeyLeft), open, p.trace.PrevPair),
	}
}
