package takes

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// EditHit changes a hit of the voice in sight by hand; reading and curve follow.
func (p *Pane) EditHit(e machine.Edit) {
	if p.d.Ready() && p.Showing != 0 {
		p.d.Do("", p.d.Bench.Edit(p.Showing, p.Voice, e))
	}
}

// StrikeOut strikes out the hit selected in the trace, or puts it back.
func (p *Pane) StrikeOut() {
	if p.d.MayChange() {
		p.Trace.StrikeOut()
	}
}

// AddHit adds a hit at the trace's cursor.
func (p *Pane) AddHit() {
	if p.d.MayChange() {
		p.Trace.AddHit()
	}
}

// readOther reads the take in sight by the other sound of its voice: the builder
// knows which is the gate and which the strike.
func (p *Pane) readOther() {
	if p.Showing == 0 || !p.d.MayChange() {
		return
	}
	other, err := p.d.Bench.ReadOther(p.Showing, p.Voice)
	p.d.Do(otherSaid(p.Showing, other), err)
}

// OtherWords is the command that readOther answers to; nil is no take.
func OtherWords(h *machine.Heard) string {
	if h != nil {
		if other, ok := bench.OtherSound(*h); ok {
			return i18n.Way(other.GapMS, "Use the later sound (%.0f ms)", "Use the earlier sound (%.0f ms)")
		}
	}
	return i18n.L("Use the other sound")
}

// otherSaid says that a take is read by the other sound now.
func otherSaid(take int, other bench.Other) string {
	if other.GapMS < 0 {
		return i18n.F("Take %d now uses the sound that comes %.0f ms earlier. Undo takes that back.", take, -other.GapMS)
	}
	return i18n.F("Take %d now uses the sound that comes %.0f ms later. Undo takes that back.", take, other.GapMS)
}

// hitSelected keeps the menu's commands on hits in step with the trace.
func (p *Pane) hitSelected() {
	h, ok := p.Trace.Hit()
	if now := (hitMenu{ok, h.Struck}); now != p.hitMenu {
		p.hitMenu = now
		p.d.MenuChanged()
	}
}

// hitMenu is what the menu says about the selected hit.
type hitMenu struct{ any, struck bool }

// changedWords counts the hits of a take that were changed by hand.
func changedWords(t loop.Result) string {
	n := t.Changed()
	return i18n.N(n, "1 hit changed by hand", "%d hits changed by hand", n)
}

// AskCorrect asks where the plate stood at the take in sight, what it was played for and
// which voices it heard. Setting 0 is where it stood at the first one, so there it is not asked for.
func (p *Pane) AskCorrect() {
	t, ok := p.InSight()
	if !ok || !p.d.MayChange() {
		return
	}
	m, id, target := p.d.Machine(), t.Take.ID, t.Take.Target
	at := slices.IndexFunc(m.Takes, func(t machine.Take) bool { return t.ID == id })
	setting := kit.NewCount(strconv.Itoa(m.SettingAt(at)), -mostSetting, mostSetting, false)
	tempo := kit.NewNumber(kit.Digits(target.TempoBPM), machine.MinTempoBPM, machine.MaxTempoBPM, false)
	song := kit.NewField(target.Song)
	first, hint := setting, i18n.L("in steps; all later takes shift with it")
	if at == 0 {
		setting.Disable()
		first, hint = tempo, i18n.L("0 is where it stood at the first take")
	}
	heard := t.Take.Voices()
	var voices []*widget.FormItem
	for i, h := range t.Take.Heard {
		choice := kit.NewChoice(m.Build.Voices, h.Voice, func(voice string) { heard[i] = voice })
		voices = append(voices, kit.Item(i18n.F("Channel %d", h.Channel), i18n.L("the voice that it heard"), choice))
	}
	options := []string{strconv.Itoa(t.Take.Reference)}
	for _, h := range t.Take.Heard {
		options = append(options, strconv.Itoa(h.Channel))
	}
	slices.SortFunc(options, func(a, b string) int { return cmp.Or(len(a)-len(b), strings.Compare(a, b)) }) // as numbers
	reference := kit.NewChoice(options, strconv.Itoa(t.Take.Reference), nil)
	voices = append(voices, kit.Item(i18n.L("Reference"), i18n.L("the channel that heard it; another one swaps the two"), reference))
	p.d.Form(i18n.F("Correct take %d", id), i18n.L("Keep"), append([]*widget.FormItem{
		kit.Item(i18n.L("Plate at"), hint, setting),
		kit.Item(i18n.L("Tempo"), i18n.L("in BPM, as intended"), tempo),
		kit.Item(i18n.L("Song"), i18n.L("may be left empty"), song),
	}, voices...), func() {
		channel, _ := strconv.Atoi(reference.Selected)
		err := p.d.Bench.Correct(id, bench.Correction{
			Setting: int(kit.ValueOf(setting)), Song: strings.TrimSpace(song.Text), TempoBPM: kit.ValueOf(tempo), Voices: heard, Reference: channel,
		})
		p.d.Do(desk.Undoable(i18n.F("Take %d is corrected.", id)), err)
	})
	p.d.Focus(first)
}

// LeaveOut leaves the take in sight out of law and settings, or counts it again.
func (p *Pane) LeaveOut() {
	if p.Showing == 0 || !p.d.MayChange() {
		return
	}
	id, out := p.Showing, !p.leftOut()
	p.d.Do("", p.d.Bench.LeaveOut(id, out))
}

// leftOut reports whether the take in sight is left out.
func (p *Pane) leftOut() bool {
	t, ok := p.InSight()
	return ok && t.Take.LeftOut
}

// mostSetting is as far as anybody turns a plate from where it stood first, in steps.
const mostSetting = 10000

// NoteTake asks for notes on the take in sight.
func (p *Pane) NoteTake() {
	t, ok := p.InSight()
	if !ok || !p.d.MayChange() {
		return
	}
	p.d.AskWords(i18n.F("Notes on take %d", t.Take.ID), t.Take.Notes, func(words string) {
		p.d.Do(desk.Undoable(i18n.F("The notes on take %d are kept.", t.Take.ID)), p.d.Bench.NoteTake(t.Take.ID, words, t.Take.Conditions))
	})
}

// OfHits change the hits of the take in sight.
func (p *Pane) OfHits(ready bool) []*fyne.MenuItem {
	t, ok := p.InSight()
	return kit.Apart(
		kit.Entry(i18n.Either(p.hitMenu.struck, "Put hit back", "Strike out hit"), kit.Ctrl(fyne.KeyDelete), ready && p.hitMenu.any, p.StrikeOut),
		kit.Entry(i18n.L("Add hit"), kit.Ctrl(fyne.KeyI), ready && ok, p.AddHit),
		kit.Entry(OtherWords(t.Heard), kit.Ctrl(fyne.KeyJ), ready && ok, p.readOther),
	)
}
