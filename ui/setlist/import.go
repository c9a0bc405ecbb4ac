package setlist

import (
	"path/filepath"
	"strings"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/choose"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// chooseSongs asks for a CSV file and shows what songs are in it.
func (p *Pane) chooseSongs() {
	if !p.InSight && p.d.MayChange() {
		p.change() // what comes in is to be seen
	}
	if _, ok := p.onSongs(); !ok {
		return
	}
	choose.File(p.d.Frame, p.d.Bench.Dir(), []string{".csv", ".CSV", ".txt"}, p.ImportSongs)
}

// ImportSongs shows what was understood of a CSV file, and what was not, before anything
// is changed, and asks whether its songs are added or take the place of the set list.
func (p *Pane) ImportSongs(path string) {
	if !p.d.MayChange() {
		return
	}
	read, err := p.read(path)
	if err != nil {
		p.d.Do("", err)
		return
	}
	name, replace := filepath.Base(path), machine.ReplaceSongs(read.Songs)
	answers := []kit.Answer{{Words: i18n.L("Cancel")}}
	offer := func(words, said string, edits ...machine.SongEdit) {
		answers = append(answers, kit.Answer{Words: words, Do: func() { p.songsChanged(0, desk.Undoable(said), edits...) }})
	}
	var add []machine.SongEdit
	for i, song := range read.Songs {
		add = append(add, machine.AddSong(len(p.songs)+i, song))
	}
	if len(add) > 0 && len(p.songs) > 0 {
		offer(i18n.L("Replace the set list"), i18n.F("The set list now has the songs of %s.", name), replace)
	}
	if len(add) > 0 {
		offer(i18n.L("Add to the set list"), i18n.F("The songs of %s are added.", name), add...)
	}
	p.d.Ask(i18n.F("Songs in %s", name), readWords(read)+leavingWords(p.d.Machine(), replace), len(answers)-1, answers...)
}

// read reads a CSV file.
func (p *Pane) read(path string) (machine.SongsRead, error) {
	f, _, err := atomicfile.Open(path)
	if err != nil {
		return machine.SongsRead{}, i18n.Errorf("the set list %s cannot be opened: %w", path, err)
	}
	defer f.Close()
	read, err := machine.ReadSongs(f, p.d.Machine().Build.Voices)
	if err != nil {
		return machine.SongsRead{}, i18n.Errorf("the set list %s was not imported: %w", path, err)
	}
	return read, nil
}

// leavingWords says of each set list but the one in hand how many songs it would lose.
func leavingWords(m machine.Machine, replace machine.SongEdit) (words string) {
	lists := m.Lists
	if m.EditSongs(replace) != nil {
		return "" // which the button says
	}
	for i, l := range m.Lists {
		if lost := len(lists[i].Songs) - len(l.Songs); lost > 0 && l.Name != m.CurrentList {
			words += "\n\n" + i18n.N(lost, "Replacing removes 1 song from the set list %[2]s.", "Replacing removes %d songs from the set list %s.", lost, l.Name)
		}
	}
	return words
}

// readWords lists what was understood, and each line that was not.
func readWords(read machine.SongsRead) string {
	lines := []string{i18n.F("Songs understood: %d", len(read.Songs))}
	for _, s := range read.Songs {
		voices := i18n.L("all voices")
		if len(s.Voices) > 0 {
			voices = strings.Join(s.Voices, ", ")
		}
		lines = append(lines, "    "+i18n.F("%s · %.4g BPM · %s", s.Name, s.TempoBPM, voices))
	}
	if wrong := len(read.Wrong) + read.More; wrong > 0 {
		lines = append(lines, "", i18n.F("Lines not understood, and left out: %d", wrong))
		for _, err := range read.Wrong {
			lines = append(lines, "    "+kit.InFont(err.Error()))
		}
	}
	if len(read.Ignored) > 0 {
		lines = append(lines, "", i18n.F("Columns ignored: %s", strings.Join(read.Ignored, ", ")))
	}
	return strings.Join(lines, "\n")
}
