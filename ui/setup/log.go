package setup

import (
	"strings"
	"time"

	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// AskLog shows the machine's log and asks for another entry.
func (p *Setup) AskLog() {
	if !p.d.MayChange() {
		return
	}
	p.d.Commit()
	m := p.d.Session().Machine
	var parts []string
	for _, p := range session.Parts {
		parts = append(parts, session.PartWords(p))
	}
	part := kit.NewChoice(parts, parts[0], nil)
	var of []*kit.Tick
	voices := kit.NewFlow()
	for _, v := range m.Voices {
		of = append(of, kit.NewTick(v, false, nil))
		voices.Add(of[len(of)-1])
	}
	day, words := kit.NewField(time.Now().Format(time.DateOnly)), kit.NewField("")
	day.Validator = func(s string) error { _, err := dayOf(s); return err }
	before := kit.NewTick(i18n.L("before that day's takes"), false, nil)
	items := []*widget.FormItem{
		kit.Item(i18n.L("What was changed"), i18n.L("Stop the crank, wait for rest and isolate a motor before you change anything."), part),
		kit.Item(i18n.L("Of which voices"), i18n.L("None ticked: all voices."), voices),
		kit.Item(i18n.L("On which day"), i18n.L("For example 2026-05-03."), day),
		kit.Item(i18n.L("When"), "", before),
		kit.Item(i18n.L("In your words"), "", words),
	}
	if len(m.Log) > 0 {
		past := kit.Wrapped(strings.Join(logLines(m.Log), "\n"))
		scroll := container.NewVScroll(past)
		scroll.SetMinSize(kit.Wrapped("\n\n\n").MinSize())
		items = append([]*widget.FormItem{kit.Item(i18n.L("So far"), "", scroll)}, items...)
	}
	p.d.Form(i18n.L("The machine's log"), i18n.L("Write down"), items, func() {
		at, _ := dayOf(day.Text) // valid, or the form would not have closed
		if before.Checked {
			at = at.Local()
			at = time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.Local)
		}
		w := session.Work{At: at, Part: session.Parts[part.SelectedIndex()], Words: words.Text}
		for i, tick := range of {
			if tick.Checked {
				w.Voices = append(w.Voices, m.Voices[i])
			}
		}
		said := i18n.L("Written into the machine's log: what it touches is learnt anew from then on.")
		if w.Part == session.Other {
			said = i18n.L("Written into the machine's log.")
		}
		p.d.Do(desk.Undoable(said), p.d.Bench.Log(w))
	})
}

// dayOf reads a day. Today's work is done by now; of another day nobody knows the hour,
// and it counts as its end unless somebody says otherwise.
func dayOf(text string) (time.Time, error) {
	at, err := time.ParseInLocation(time.DateOnly, strings.TrimSpace(text), time.Local)
	now := time.Now()
	switch end := at.AddDate(0, 0, 1).Add(-time.Second); {
	case err != nil:
		return at, i18n.Errorf("a day, for example 2026-05-03")
	case at.After(now):
		return at, i18n.Errorf("a day that has been")
	case end.After(now):
		return now, nil
	default:
		return end, nil
	}
}

// logLines says the log, the latest first.
func logLines(log []session.Work) (lines []string) {
	for i := len(log) - 1; i >= 0; i-- {
		w := log[i]
		line := w.At.Local().Format(i18n.L("2 Jan 2006")) + ": " + session.PartWords(w.Part)
		if len(w.Voices) > 0 {
			line += " (" + strings.Join(w.Voices, ", ") + ")"
		}
		if w.Words != "" {
			line += ", " + w.Words
		}
		lines = append(lines, line)
	}
	return lines
}
