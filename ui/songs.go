package ui

import (
	"cmp"
	"path/filepath"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// onSongs reports whether a command on the set list may run, and on which of its
// songs; what is being typed there is kept first.
func (p *songsPane) onSongs() (at int, ok bool) {
	if !p.inSight || !p.d.MayChange() {
		return 0, false
	}
	p.d.Commit()
	return p.at, true
}

// onSong is onSongs for a command that needs a song.
func (p *songsPane) onSong() (at int, song session.Song, ok bool) {
	at, ok = p.onSongs()
	if !ok || at >= len(p.d.Session().Songs) {
		return at, session.Song{}, false
	}
	return at, p.d.Session().Songs[at], true
}

// songsChanged makes edits of the set list and goes on at a song of it.
func (p *songsPane) songsChanged(at int, edits ...session.SongEdit) {
	err := p.d.Bench.EditSongs(edits...)
	if err == nil {
		p.at = at
	}
	p.d.Do("", err)
}

// addSong puts a song after the one in hand, to be named and timed in place.
func (p *songsPane) addSong() {
	at, ok := p.onSongs()
	if !ok {
		return
	}
	s := p.d.Session()
	at = min(at+1, len(s.Songs))
	p.songsChanged(at, session.AddSong(at, session.Song{Name: i18n.F("Song %d", len(s.Songs)+1), TempoBPM: s.Target.TempoBPM}))
	p.focus(at, nameColumn)
}

// removeSong takes the song in hand off the list.
func (p *songsPane) removeSong() {
	if at, _, ok := p.onSong(); ok {
		p.songsChanged(max(0, min(at, len(p.d.Session().Songs)-2)), session.RemoveSong(at))
		p.focus(p.at, nameColumn)
	}
}

// moveSong plays the song in hand earlier or later by so many places.
func (p *songsPane) moveSong(by int) {
	if at, _, ok := p.onSong(); ok {
		to := max(0, min(at+by, len(p.d.Session().Songs)-1))
		p.songsChanged(to, session.MoveSong(at, by))
		p.focus(to, nameColumn)
	}
}

// aimAtSong points the loop at the song in hand.
func (p *songsPane) aimAtSong() {
	if _, song, ok := p.onSong(); ok {
		p.d.Aim(targetOf(song, p.d.Session()))
	}
}

// targetOf is the loop's target for a song: the voice of now where the song uses
// it, else the song's first.
func targetOf(song session.Song, s session.Session) session.Target {
	voice := s.Target.Voice
	if len(song.Voices) > 0 && !slices.Contains(song.Voices, voice) {
		voice = song.Voices[0]
	}
	return session.Target{Song: song.Name, TempoBPM: song.TempoBPM, Voice: voice}
}

// aimAtNext points the loop at the take that the plan asks for.
func (p *songsPane) aimAtNext() {
	if _, ok := p.onSongs(); ok && p.d.View().Next != nil {
		p.d.Aim(p.d.View().Next.Target)
	}
}

// askSong asks for the voices and the importance of the song in hand.
func (p *songsPane) askSong() {
	at, song, ok := p.onSong()
	if !ok {
		return
	}
	voices := container.NewVBox()
	for _, name := range p.d.Session().Machine.Voices {
		voice := newTick(name, nil)
		voice.Checked = slices.Contains(song.Voices, name)
		voices.Add(voice)
	}
	importance := number(figure(cmp.Or(song.Importance, 1)), 0.01, session.MostImportance, false)
	p.d.Form(song.Name, i18n.L("Keep"), []*widget.FormItem{
		item(i18n.L("Voices"), i18n.L("that it uses; none chosen means all"), voices),
		item(i18n.L("Importance"), i18n.L("1 as any other, 2 counts double"), importance),
	}, func() {
		song.Voices, song.Importance = ticked(voices.Objects), value(importance)
		p.songsChanged(at, session.ChangeSong(at, song))
	})
}

// ticked returns what the ticked of some ticks say.
func ticked(ticks []fyne.CanvasObject) (chosen []string) {
	for _, o := range ticks {
		if t := o.(*tick); t.Checked {
			chosen = append(chosen, t.Text)
		}
	}
	return chosen
}

// chooseSongs asks for a CSV file and makes it the set list.
func (p *songsPane) chooseSongs() {
	if _, ok := p.onSongs(); !ok {
		return
	}
	p.d.ChooseFile(p.d.Bench.Dir(), []string{".csv", ".CSV", ".txt"}, p.importSongs)
}

func (p *songsPane) importSongs(path string) {
	err := p.d.Bench.ImportSongs(path)
	if err == nil {
		p.at = 0
	}
	p.d.Do(Undoable(i18n.F("The set list is now that of %s.", filepath.Base(path))), err)
}

// saveSongs asks where to save the set list as CSV.
func (p *songsPane) saveSongs() {
	if _, ok := p.onSongs(); !ok {
		return
	}
	p.d.AskPath(i18n.L("Save the set list"), i18n.L("as .csv"), p.d.Bench.Dir(), "set-list.csv", p.exportSongs)
}

// exportSongs saves the set list.
func (p *songsPane) exportSongs(path string) {
	target := path
	if filepath.Ext(path) == "" {
		target += ".csv"
	}
	p.d.Do(i18n.F("Saved %s.", target), p.d.Bench.ExportSongs(target))
}

// commands are those on the set list.
func (p *songsPane) commands(ready bool) []*fyne.MenuItem {
	listed := ready && p.inSight
	some := listed && len(p.d.Session().Songs) > 0
	return slices.Concat(Apart(
		Entry(i18n.L("Aim at this song"), Ctrl(fyne.KeyG), some, p.aimAtSong),
		Entry(i18n.L("Aim at the next take"), CtrlShift(fyne.KeyG), some, p.aimAtNext),
	), Apart(
		Entry(i18n.L("Add song"), CtrlShift(fyne.KeyI), listed, p.addSong),
		Entry(i18n.L("Voices and importance…"), CtrlShift(fyne.KeyV), some, p.askSong),
		Entry(i18n.L("Play it earlier"), CtrlShift(fyne.KeyUp), some && p.inOrder(), func() { p.moveSong(-1) }),
		Entry(i18n.L("Play it later"), CtrlShift(fyne.KeyDown), some && p.inOrder(), func() { p.moveSong(1) }),
		Entry(i18n.L("Remove song"), CtrlShift(fyne.KeyDelete), some, p.removeSong),
		Checked(i18n.L("Sorted by tempo"), listed, p.byTempo.Checked, func() { p.byTempo.SetChecked(!p.byTempo.Checked) }),
	), Apart(
		Entry(i18n.L("Import…"), nil, listed, p.chooseSongs),
		Entry(i18n.L("Export…"), nil, some, p.saveSongs),
	))
}
