package ui

import (
	"cmp"
	"path/filepath"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// listSongs shows the set list in place of take and record, or these again.
func (w *Window) listSongs() {
	if !w.ready() {
		return
	}
	w.songs.leave()
	w.listing = !w.listing
	w.lay()
	w.refresh()
	if w.listing {
		w.intoSight(w.songs.root)
		w.songs.focus(w.songs.at, nameColumn)
	}
}

func (w *Window) listSongsWords() string {
	if w.listing {
		return i18n.L("Back to the takes")
	}
	return i18n.L("Show the set list")
}

// onSongs reports whether a command on the set list may run, and on which of its
// songs; what is being typed there is kept first.
func (w *Window) onSongs() (at int, ok bool) {
	if !w.listing || !w.mayChange() {
		return 0, false
	}
	w.songs.commit()
	return w.songs.at, true
}

// onSong is onSongs for a command that needs a song.
func (w *Window) onSong() (at int, song session.Song, ok bool) {
	at, ok = w.onSongs()
	if !ok || at >= len(w.session().Songs) {
		return at, session.Song{}, false
	}
	return at, w.session().Songs[at], true
}

// songsChanged makes edits of the set list and goes on at a song of it.
func (w *Window) songsChanged(at int, edits ...session.SongEdit) {
	err := w.bench.EditSongs(edits...)
	if err == nil {
		w.songs.at = at
	}
	w.changed("", err)
}

// addSong puts a song after the one in hand, to be named and timed in place.
func (w *Window) addSong() {
	at, ok := w.onSongs()
	if !ok {
		return
	}
	s := w.session()
	at = min(at+1, len(s.Songs))
	w.songsChanged(at, session.AddSong(at, session.Song{Name: i18n.F("Song %d", len(s.Songs)+1), TempoBPM: s.Target.TempoBPM}))
	w.songs.focus(at, nameColumn)
}

// removeSong takes the song in hand off the list.
func (w *Window) removeSong() {
	if at, _, ok := w.onSong(); ok {
		w.songsChanged(max(0, min(at, len(w.session().Songs)-2)), session.RemoveSong(at))
		w.songs.focus(w.songs.at, nameColumn)
	}
}

// moveSong plays the song in hand earlier or later by so many places.
func (w *Window) moveSong(by int) {
	if at, _, ok := w.onSong(); ok {
		to := max(0, min(at+by, len(w.session().Songs)-1))
		w.songsChanged(to, session.MoveSong(at, by))
		w.songs.focus(to, nameColumn)
	}
}

// aimAtSong points the loop at the song in hand.
func (w *Window) aimAtSong() {
	if _, song, ok := w.onSong(); ok {
		w.aim(targetOf(song, w.session()))
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
func (w *Window) aimAtNext() {
	if _, ok := w.onSongs(); ok && w.view().Next != nil {
		w.aim(w.view().Next.Target)
	}
}

// askSong asks for the voices and the importance of the song in hand.
func (w *Window) askSong() {
	at, song, ok := w.onSong()
	if !ok {
		return
	}
	voices := container.NewVBox()
	for _, name := range w.session().Machine.Voices {
		voice := newTick(name, nil)
		voice.Checked = slices.Contains(song.Voices, name)
		voices.Add(voice)
	}
	importance := number(figure(cmp.Or(song.Importance, 1)), 0.01, session.MostImportance, false)
	w.form(song.Name, i18n.L("Keep"), []*widget.FormItem{
		item(i18n.L("Voices"), i18n.L("that it uses; none chosen means all"), voices),
		item(i18n.L("Importance"), i18n.L("1 as any other, 2 counts double"), importance),
	}, func() {
		song.Voices, song.Importance = ticked(voices.Objects), value(importance)
		w.songsChanged(at, session.ChangeSong(at, song))
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
func (w *Window) chooseSongs() {
	if _, ok := w.onSongs(); !ok {
		return
	}
	d := dialog.NewFileOpen(func(file fyne.URIReadCloser, err error) {
		if err != nil || file == nil {
			w.tell(err)
			return
		}
		path := file.URI().Path()
		file.Close()
		w.importSongs(path)
	}, w.win)
	from(d, w.bench.Dir())
	d.SetFilter(storage.NewExtensionFileFilter([]string{".csv", ".CSV", ".txt"}))
	w.showLarge(d)
}

func (w *Window) importSongs(path string) {
	err := w.bench.ImportSongs(path)
	if err == nil {
		w.songs.at = 0
	}
	w.changed(undoable(i18n.F("The set list is now that of %s.", filepath.Base(path))), err)
}

// saveSongs asks where to save the set list as CSV.
func (w *Window) saveSongs() {
	if _, ok := w.onSongs(); !ok {
		return
	}
	w.askPath(i18n.L("Save the set list"), i18n.L("as .csv"), w.bench.Dir(), "set-list.csv", w.exportSongs)
}

// exportSongs saves the set list.
func (w *Window) exportSongs(path string) {
	target := path
	if filepath.Ext(path) == "" {
		target += ".csv"
	}
	w.notice.clear()
	err := w.bench.ExportSongs(target)
	w.tell(err)
	if err == nil {
		w.notice.say(i18n.F("Saved %s.", target), false)
	}
}
