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
	voice    *choice // which of the take's voices is in sight; hidden where there is one
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

func newTakePane(w *Window) *takePane {
	p := &takePane{trace: trace.New(), fan: fan.New(), head: widget.NewLabel("")}
	p.sure = newButton(i18n.L("How sure?"), w.howSure)
	p.sure.Importance = widget.LowImportance
	p.listen = newButtonWithIcon(i18n.L("Listen"), theme.VolumeUpIcon(), w.listen)
	p.listen.Importance = widget.LowImportance
	p.voice = newChoice(nil, w.showVoice)
	p.aim = newButton(i18n.L("Aim at it"), w.aimAtVoice)
	p.aim.Importance = widget.LowImportance
	p.head.Truncation = fyne.TextTruncateEllipsis
	p.warnings = newSign(14, 11, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 200)
	p.warnings.Hide()
	p.notes = widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Italic: true})
	p.notes.Truncation = fyne.TextTruncateEllipsis
	p.live = newLivePart()
	p.split = container.NewHSplit(p.trace, container.NewStack(p.fan, p.live.moment))
	p.tools, p.bar = p.trace.Tools(), container.NewStack()
	top := container.NewVBox(p.bar, p.notes, p.warnings, p.live.levels, w.listening.root)
	p.root = border(top, nil, nil, nil, p.split)
	p.trace.OnFocus = reveal
	p.arrange(false)
	p.show(nil, nil)
	return p
}

// arrange lays the pane out for text of the usual size, or for large text.
func (p *takePane) arrange(large bool) {
	p.head.Truncation, p.head.Wrapping = fyne.TextTruncateEllipsis, fyne.TextWrapOff
	line := container.NewBorder(nil, nil, container.NewHBox(p.voice, p.aim), container.NewHBox(p.listen, p.sure, p.tools), p.head)
	if large {
		p.head.Truncation, p.head.Wrapping = fyne.TextTruncateOff, fyne.TextWrapWord
		line = container.NewVBox(p.head, newFlow(p.voice, p.aim, p.listen, p.sure, p.tools))
	}
	p.bar.Objects = []fyne.CanvasObject{line}
	p.split.Horizontal = !large
	if !p.root.Size().IsZero() { // nothing of it is drawn before
		p.root.Refresh()
	}
}

// show shows a take and its waveforms; nil shows that there is none yet.
func (p *takePane) show(t *loop.Result, waves *trace.Take) {
	p.trace.SetTake(waves)
	if t == nil {
		p.head.SetText("")
		p.sure.Hide()
		p.listen.Hide()
		p.voice.Hide()
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

// offer lists the voices of a take in the machine's order, with the one in sight chosen, and offers to aim
// the loop at it where it aims at another.
func (p *takePane) offer(t loop.Result, s session.Session) {
	heard := t.Take.Voices()
	p.voice.Options = slices.DeleteFunc(slices.Clone(s.Machine.Voices), func(v string) bool { return !slices.Contains(heard, v) })
	p.voice.Selected = t.Voice // not by SetSelected, which would ask to show it
	p.voice.Refresh()
	p.voice.Hidden = len(heard) == 1
	p.aim.Hidden = p.voice.Hidden || t.Voice == s.Target.Voice
	p.root.Refresh()
}

// showVoice shows the take in sight as another of its voices has it.
func (w *Window) showVoice(voice string) {
	if w.showing == 0 || voice == w.voice {
		return
	}
	if t, ok := w.view().Result(w.showing, voice); ok {
		w.openTake(t)
	}
}

// nextVoice shows the next voice of the take in sight.
func (w *Window) nextVoice() {
	if options := w.take.voice.Options; len(options) > 0 {
		w.showVoice(options[(slices.Index(options, w.voice)+1)%len(options)])
	}
}

// aimAtVoice aims the loop at the voice in sight, for the take's song and tempo.
func (w *Window) aimAtVoice() {
	if t, ok := w.inSight(); ok && w.ready() {
		w.aim(t.Target())
	}
}

func (w *Window) aimVoiceWords() string {
	if w.voice == "" {
		return i18n.L("Aim at the voice in sight")
	}
	return i18n.F("Aim at the %s", w.voice)
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

// firstLine is the beginning of notes, for where one line has room.
func firstLine(notes string) string {
	first, _, more := strings.Cut(notes, "\n")
	if more {
		first += " …"
	}
	return first
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
