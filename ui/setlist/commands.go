package setlist

import (
	"cmp"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/choose"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// onSongs reports whether a command on the set list may run, and on which of its
// songs; what is being typed there is kept first.
func (p *Pane) onSongs() (at int, ok bool) {
	if !p.InSight || !p.d.MayChange() {
		return 0, false
	}
	p.d.Commit()
	return p.At, true
}

// onSong is onSongs for a command that needs a song.
func (p *Pane) onSong() (at int, song machine.Song, ok bool) {
	at, ok = p.onSongs()
	if !ok || at >= len(p.songs) {
		return at, machine.Song{}, false
	}
	return at, p.songs[at], true
}

// songsChanged makes edits of the set list, goes on at a song of it and says what was done.
func (p *Pane) songsChanged(at int, said string, edits ...machine.SongEdit) {
	err := p.d.Bench.EditSongs(edits...)
	if err == nil {
		p.At = at
	}
	p.d.Do(said, err)
}

// AddSong puts a song after the one in hand, to be named and timed in place.
func (p *Pane) AddSong() {
	at, ok := p.onSongs()
	if !ok {
		return
	}
	m := p.d.Machine()
	at = min(at+1, len(p.songs))
	p.songsChanged(at, "", machine.AddSong(at, machine.Song{Name: i18n.F("Song %d", len(m.Songs)+1), TempoBPM: m.Target.TempoBPM}))
	p.Focus(at, NameColumn)
}

// removeSong takes the song in hand off the list, and says what nobody sees there: that
// the machine still has a song taken off a concert's list, or from which lists one that it
// has no more is gone.
func (p *Pane) removeSong() {
	if at, song, ok := p.onSong(); ok {
		said, m := "", p.d.Machine()
		if lists := m.ListsOf(song.ID); m.CurrentList != "" {
			said = desk.Undoable(i18n.F("%s stays among all songs.", song.Name))
		} else if len(lists) > 0 {
			said = desk.Undoable(i18n.F("%s is removed from all songs, and so from these set lists: %s.", song.Name, strings.Join(lists, ", ")))
		}
		p.songsChanged(max(0, min(at, len(p.songs)-2)), said, machine.RemoveSong(at))
		p.Hold(p.At)
	}
}

// moveSong plays the song in hand earlier or later by so many places.
func (p *Pane) moveSong(by int) {
	if at, _, ok := p.onSong(); ok {
		to := max(0, min(at+by, len(p.songs)-1))
		p.songsChanged(to, "", machine.MoveSong(at, by))
		p.Hold(to)
	}
}

// aimAtSong points the loop at the song in hand.
func (p *Pane) aimAtSong() {
	if at, _, ok := p.onSong(); ok {
		p.aimAt(at)
	}
}

// aimAt points the loop at a song.
func (p *Pane) aimAt(song int) {
	if p.d.MayChange() {
		p.d.Aim(TargetOf(p.songs[song], p.d.Machine()))
	}
}

// TargetOf is the loop's target for a song: the voice of now where the song uses
// it, else the song's first.
func TargetOf(song machine.Song, m machine.Machine) machine.Target {
	voice := m.Target.Voice
	if len(song.Voices) > 0 && !slices.Contains(song.Voices, voice) {
		voice = song.Voices[0]
	}
	return machine.Target{Song: song.Name, TempoBPM: song.TempoBPM, Voice: voice}
}

// Following returns the target of the song after the one aimed at, or of the first where
// that is none; zero after the last.
func (p *Pane) Following() (target machine.Target) {
	if i := p.aimed() + 1; i < len(p.songs) {
		target = TargetOf(p.songs[i], p.d.Machine())
	}
	return target
}

// aimAtNext points the loop at the take that the plan asks for.
func (p *Pane) aimAtNext() {
	if p.d.MayChange() && p.d.View().Next != nil {
		p.d.Commit()
		p.d.Aim(p.d.View().Next.Target)
	}
}

// askSong asks for the voices and the importance of the song in hand.
func (p *Pane) askSong() {
	at, song, ok := p.onSong()
	if !ok {
		return
	}
	voices := container.NewVBox()
	for _, name := range p.d.Machine().Build.Voices {
		voices.Add(kit.NewTick(name, slices.Contains(song.Voices, name), nil))
	}
	importance := kit.NewNumber(kit.Digits(cmp.Or(song.Importance, 1)), 0.01, machine.MostImportance, false)
	p.d.Form(song.Name, i18n.L("Keep"), []*widget.FormItem{
		kit.Item(i18n.L("Voices"), i18n.L("voices of this song; none ticked means all"), voices),
		kit.Item(i18n.L("Importance"), i18n.L("1 as any other, 2 counts double"), importance),
	}, func() {
		song.Voices, song.Importance = nil, kit.ValueOf(importance)
		for _, i := range ticked(voices) {
			song.Voices = append(song.Voices, p.d.Machine().Build.Voices[i])
		}
		p.songsChanged(at, "", machine.ChangeSong(at, song))
	})
}

// ticked returns which of some ticks are set.
func ticked(ticks *fyne.Container) (chosen []int) {
	for i, o := range ticks.Objects {
		if o.(*kit.Tick).Checked {
			chosen = append(chosen, i)
		}
	}
	return chosen
}

// saveSongs asks where to save the set list as CSV.
func (p *Pane) saveSongs() {
	if _, ok := p.onSongs(); !ok {
		return
	}
	choose.Path(p.d.Frame, i18n.L("Save the set list"), i18n.L("as .csv"), p.d.Bench.Dir(), "set-list.csv", p.ExportSongs)
}

// ExportSongs saves the set list.
func (p *Pane) ExportSongs(path string) {
	err := p.d.Bench.ExportSongs(path)
	if p.d.Do("", err); err == nil {
		p.d.Saved(i18n.F("Saved %s.", path), path)
	}
}

// Commands are those on the set list.
func (p *Pane) Commands(ready bool) []*fyne.MenuItem {
	listed := ready && p.InSight
	some, named := listed && len(p.songs) > 0, listed && p.d.Machine().CurrentList != ""
	return slices.Concat(kit.Apart(
		kit.Entry(i18n.L("Work on this song"), kit.Ctrl(fyne.KeyG), some, p.aimAtSong),
		kit.Entry(i18n.L("Set up the next take"), kit.CtrlShift(fyne.KeyG), some, p.aimAtNext),
	), kit.Apart(
		kit.Entry(i18n.L("Add song"), kit.CtrlShift(fyne.KeyI), listed, p.AddSong),
		kit.Entry(i18n.L("Voices and importance…"), kit.CtrlShift(fyne.KeyV), some, p.askSong),
		kit.Entry(i18n.L("Move song up"), kit.CtrlShift(fyne.KeyUp), some && p.inOrder(), func() { p.moveSong(-1) }),
		kit.Entry(i18n.L("Move song down"), kit.CtrlShift(fyne.KeyDown), some && p.inOrder(), func() { p.moveSong(1) }),
		kit.Entry(i18n.L("Remove song"), kit.CtrlShift(fyne.KeyDelete), some, p.removeSong),
	), kit.Apart(
		kit.Entry(i18n.L("New set list…"), kit.CtrlShift(fyne.KeyS), listed, func() { p.askList("") }),
		kit.Entry(i18n.L("Name and songs of this set list…"), kit.CtrlShift(fyne.KeyJ), named, func() { p.askList(p.d.Machine().CurrentList) }),
		kit.Entry(i18n.L("Remove this set list"), nil, named, p.dropList),
		kit.Entry(i18n.L("Next set list"), kit.CtrlShift(fyne.KeyPageDown), listed && p.Lists.Visible(), p.nextList),
		kit.Checked(i18n.L("Sorted by tempo"), listed, p.ByTempo.Checked, func() { p.ByTempo.SetChecked(!p.ByTempo.Checked) }),
	), kit.Apart(
		kit.Entry(i18n.L("Import…"), nil, ready, p.chooseSongs),
		kit.Entry(i18n.L("Export…"), nil, some, p.saveSongs),
	))
}
