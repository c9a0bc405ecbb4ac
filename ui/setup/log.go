package setup

import (
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// AskLog shows the machine's log, and asks for another entry or what one of it should say.
func (p *Setup) AskLog() {
	if !p.d.MayChange() {
		return
	}
	p.d.Commit()
	b := p.d.Machine().Build
	var parts []string
	for _, p := range machine.Parts {
		parts = append(parts, machine.PartWords(p))
	}
	part := kit.NewChoice(parts, "", nil)
	var of []*kit.Tick
	voices := kit.NewFlow()
	for _, v := range b.Voices {
		of = append(of, kit.NewTick(v, false, nil))
		voices.Add(of[len(of)-1])
	}
	day, words := kit.NewField(""), kit.NewField("")
	day.Validator = func(s string) error { _, err := dayOf(s); return err }
	before := kit.NewTick(i18n.L("before that day's takes"), false, nil)
	out := kit.NewTick(i18n.L("remove this entry from the log"), false, nil)
	fresh := machine.LogEntry{At: time.Now(), Part: machine.Parts[0]}
	at, entry := -1, fresh // which of the log, and what it says; -1 is a new one
	fill := func() {
		part.SetSelectedIndex(slices.Index(machine.Parts, entry.Part))
		for i, tick := range of {
			tick.SetChecked(slices.Contains(entry.Voices, b.Voices[i]))
		}
		day.SetText(entry.At.Local().Format(time.DateOnly))
		before.SetChecked(entry.At.Equal(dayBegins(entry.At)))
		words.SetText(entry.Words)
		out.SetChecked(false)
		kit.Show(out, at >= 0)
	}
	fill()
	lines := append([]string{i18n.L("a new entry")}, logLines(b.Log)...)
	past := kit.NewRows(i18n.L("So far"), func() int { return len(lines) }, func(i int) string { return lines[i] })
	past.OnSelected = func(i widget.ListItemID) {
		if at, entry = len(b.Log)-i, fresh; i == 0 {
			at = -1
		} else {
			entry = b.Log[at]
		}
		fill()
	}
	items := []*widget.FormItem{
		kit.Item(i18n.L("So far"), i18n.L("Choose an entry to change it."), kit.Sized(func() fyne.Size { return kit.Wrapped("\n\n\n").MinSize() }, past)),
		kit.Item(i18n.L("What was changed"), i18n.L("Stop the crank, wait for rest and isolate a motor before you change anything."), part),
		kit.Item(i18n.L("For which voices"), i18n.L("None ticked: all voices."), voices),
		kit.Item(i18n.L("On which day"), i18n.L("For example 2026-05-03."), day),
		kit.Item(i18n.L("When"), "", before),
		kit.Item(i18n.L("In your words"), "", words),
		kit.Item("", "", out),
	}
	if len(b.Log) == 0 {
		items = items[1 : len(items)-1]
	}
	p.d.Form(i18n.L("The machine's log"), i18n.L("Write down"), items, func() {
		w := machine.LogEntry{At: entry.At, Part: machine.Parts[part.SelectedIndex()], Words: words.Text}
		if day.Text != entry.At.Local().Format(time.DateOnly) || before.Checked != entry.At.Equal(dayBegins(entry.At)) {
			if w.At, _ = dayOf(day.Text); before.Checked { // valid, or the form would not have closed
				w.At = dayBegins(w.At)
			}
		}
		for i, tick := range of {
			if tick.Checked {
				w.Voices = append(w.Voices, b.Voices[i])
			}
		}
		log, said := slices.Clone(b.Log), i18n.L("Written into the machine's log: what it affects is learnt again from then on.")
		if w.Part == machine.Other {
			said = i18n.L("Written into the machine's log.")
		}
		switch {
		case out.Checked:
			log, said = slices.Delete(log, at, at+1), i18n.L("Removed from the machine's log.")
		case at >= 0:
			log[at] = w
		default:
			log = append(log, w)
		}
		p.d.Do(desk.Undoable(said), p.d.Bench.Log(log))
	})
}

// dayBegins is the first moment of a day.
func dayBegins(at time.Time) time.Time {
	at = at.Local()
	return time.Date(at.Year(), at.Month(), at.Day(), 0, 0, 0, 0, time.Local)
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
		return at, i18n.Errorf("today or an earlier day")
	case end.After(now):
		return now, nil
	default:
		return end, nil
	}
}

// logLines says the log, the latest first.
func logLines(log []machine.LogEntry) (lines []string) {
	for _, w := range slices.Backward(log) {
		line := w.At.Local().Format(i18n.L("2 Jan 2006")) + ": " + machine.PartWords(w.Part)
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
