package ui

import (
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// Columns of the set list that are typed into.
const (
	nameColumn = iota
	tempoColumn
)

// songColumns are those of the set list. The lag expected has room for its interval
// and chance in the smallest window: cut off, "± 10.2" would pass for less.
func songColumns() tableColumns {
	return tableColumns{
		titles: []string{i18n.L("Song"), i18n.L("BPM"), i18n.L("Setting"), i18n.L("Move"), i18n.L("Tempo window"), i18n.L("Expected"), i18n.L("Sure?")},
		shares: []float32{0.165, 0.07, 0.1, 0.08, 0.18, 0.27, 0.135},
		held:   5,
	}
}

// songRow is a song of the set list: two cells to type into and what the plan
// says.
type songRow struct {
	root  *fyne.Container
	back  *canvas.Rectangle // shown while the song is in hand
	cells [2]*cell
	said  [5]*cellLabel

	song  int // index
	value session.Song
}

func (p *songsPane) newRow() *songRow {
	r := &songRow{back: canvas.NewRectangle(theme.Color(theme.ColorNameSelection))}
	line := container.New(songColumns())
	for column := range r.cells {
		r.cells[column] = newCell(func() { p.hold(r.song) }, func() { r.keep(p) }, func(by int) { p.step(r.song, column, by) })
		line.Add(r.cells[column])
	}
	for i := range r.said {
		r.said[i] = newCellLabel("", false)
		r.said[i].tapped = func() { p.focus(r.song, nameColumn) } // which takes the song in hand
		line.Add(r.said[i])
	}
	r.root = container.NewStack(r.back, line)
	return r
}

// show brings the row up to a song; known is nil before there is anything to
// say about it.
func (r *songRow) show(index int, song session.Song, known *loop.Song) {
	r.back.FillColor = theme.Color(theme.ColorNameSelection) // the theme may have changed
	r.song, r.value = index, song
	r.cells[nameColumn].show(song.Name)
	r.cells[tempoColumn].show(i18n.F("%.6g", song.TempoBPM))
	said := [5]string{4: i18n.L("Play a take first.")}
	if known != nil {
		said = songWords(*known, index == 0)
	}
	for i, text := range said {
		r.said[i].SetText(text)
	}
}

// keep keeps what was typed into the row, or shows again what was there.
func (r *songRow) keep(p *songsPane) {
	name, tempo := r.cells[nameColumn], r.cells[tempoColumn]
	if !name.changed() && !tempo.changed() {
		return
	}
	song := r.value
	song.Name = name.Text
	if tempo.changed() {
		song.TempoBPM, _ = parseNumber(tempo.Text) // 0 is refused with a sentence
	}
	name.forget()
	tempo.forget()
	p.edit(r.song, song)
}

// songWords says what the plan knows of a song: setting, move, tempo window, what
// is expected and whether it is sure.
func songWords(s loop.Song, first bool) [5]string {
	worst := s.Worst()
	move, expected := look.Setting(s.Move), i18n.F("%s ± %.1f (%s)", look.Lag(worst.LagMS), worst.HalfMS, percent(s.Chance))
	if first {
		move = ""
	}
	if len(s.Parts) > 1 {
		expected += ", " + worst.Voice
	}
	return [5]string{look.Setting(s.Setting), move, windowWords(s), expected, inFont(s.Why)}
}

// partWords says of a song what is expected of each of its voices, and whether it
// is sure.
func partWords(s loop.Song) string {
	var parts []string
	for _, r := range s.Parts {
		if r.Unheard {
			parts = append(parts, i18n.F("%s not heard yet", r.Voice))
			continue
		}
		parts = append(parts, i18n.F("%s %s ± %.1f", r.Voice, look.Lag(r.LagMS), r.HalfMS))
	}
	return i18n.F("%s at %s: %s. %s", s.Name, look.Setting(s.Setting), strings.Join(parts, ", "), inFont(s.Why))
}

// windowWords says at which tempos, in BPM, a song's setting holds.
func windowWords(s loop.Song) string {
	switch {
	case s.HighBPM == 0:
		return i18n.L("no tempo")
	case s.LowBPM == 0 && math.IsInf(s.HighBPM, 1):
		return i18n.L("any tempo")
	case math.IsInf(s.HighBPM, 1):
		return i18n.F("from %.1f", s.LowBPM)
	case s.LowBPM == 0:
		return i18n.F("up to %.1f", s.HighBPM)
	}
	return i18n.F("%.1f to %.1f", s.LowBPM, s.HighBPM)
}

// nextWords says which take to play next and why.
func nextWords(p *loop.View) string {
	switch {
	case p.Err != nil:
		return asSentence(p.Err.Error())
	case len(p.Songs) == 0:
		return "" // the middle of the pane says what to do
	case p.Next == nil && p.CureOpen != "":
		return p.CureOpen
	case p.Next == nil:
		return i18n.L("No more takes needed.")
	}
	return i18n.F("Next: %s. %s", p.Next.Do, p.Next.Why)
}

// percent says a chance; none is certain, nor out of the question.
func percent(chance float64) string {
	switch {
	case chance > 0.995:
		return "> 99 %"
	case chance < 0.005:
		return "< 1 %"
	}
	return i18n.F("%.0f %%", 100*chance)
}
