package setlist

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/table"
)

// Columns of the set list: two are typed into, the last says whether a song is sure.
const (
	NameColumn = iota
	TempoColumn
	SureColumn = 6
)

// SongColumns are those of the set list. The lag expected has room for its interval
// in the smallest window: cut off, "± 10.2" would pass for less. With large text each song
// has two lines, so that all columns are in sight.
func SongColumns() table.Lines {
	all := table.Columns{
		Titles: []string{i18n.L("Song"), i18n.L("BPM"), i18n.L("Setting"), i18n.L("Move"), i18n.L("Tempo window"), i18n.L("Expected"), i18n.L("Sure?")},
		Usual:  []string{NameColumn: "mmmmmm", SureColumn: longest(strings.Fields(i18n.L("Verified") + " " + i18n.L("Sure") + " " + i18n.L("Nothing fits") + " " + i18n.L("On the edge") + " " + i18n.L("Not yet")))},
		Shares: []float32{0.25, 0.07, 0.09, 0.08, 0.16, 0.22, 0.13},
		Held:   5,
	}
	if !kit.LargeText() {
		return table.Lines{all}
	}
	const second = 4 // where the second line begins
	return table.Lines{
		{Titles: all.Titles[:second], Usual: all.Usual[:second], Shares: []float32{0.5, 0.15, 0.18, 0.17}, Held: -1},
		{Titles: all.Titles[second:], Usual: all.Usual[second:], Shares: []float32{0.35, 0.4, 0.25}, Held: -1},
	}
}

// longest returns the widest of some words.
func longest(words []string) string {
	wide := func(word string) float32 { return fyne.MeasureText(word, theme.TextSize(), fyne.TextStyle{}).Width }
	return slices.MaxFunc(words, func(a, b string) int { return cmp.Compare(wide(a), wide(b)) })
}

// songRow is a song of the set list: two cells to type into and what the plan
// says.
type songRow struct {
	Root  *fyne.Container
	back  *canvas.Rectangle // shown while the song is in hand
	Cells [2]*table.Cell
	Said  [5]*table.Label

	song  int // index
	value machine.Song
}

func (p *Pane) newRow() *songRow {
	r := &songRow{back: canvas.NewRectangle(theme.Color(theme.ColorNameSelection))}
	var cells []fyne.CanvasObject
	for column := range r.Cells {
		r.Cells[column] = table.NewCell(func() { p.hold(r.song); kit.Reveal(r.Root) }, func() { r.keep(p) }, func(by int) { p.step(r.song, column, by) })
		cells = append(cells, r.Cells[column])
	}
	for i := range r.Said {
		r.Said[i] = table.NewLabel("", false)
		r.Said[i].OnTapped = func() { p.Hold(r.song) }
		cells = append(cells, r.Said[i])
	}
	r.Root = container.NewStack(r.back, SongColumns().Row(cells...))
	return r
}

// show brings the row up to a song; known is nil before there is anything to
// say about it.
func (r *songRow) show(index int, song machine.Song, known *loop.Song) {
	r.back.FillColor = theme.Color(theme.ColorNameSelection) // the theme may have changed
	r.song, r.value = index, song
	r.Cells[NameColumn].Put(song.Name)
	r.Cells[TempoColumn].Put(i18n.F("%.6g", song.TempoBPM))
	said := [5]string{4: i18n.L("Play a take first.")}
	if known != nil {
		said = songWords(*known, index == 0)
	}
	for i, text := range said {
		r.Said[i].SetText(text)
	}
}

// keep keeps what was typed into the row, or shows again what was there.
func (r *songRow) keep(p *Pane) {
	name, tempo := r.Cells[NameColumn], r.Cells[TempoColumn]
	if !name.Changed() && !tempo.Changed() {
		return
	}
	song := r.value
	song.Name = name.Text
	if tempo.Changed() {
		var err error
		if song.TempoBPM, err = kit.ParseNumber(tempo.Text); err != nil {
			err = i18n.Errorf("“%s” is no number: the tempo stays as it was", tempo.Text)
			tempo.Forget()
			p.d.Do("", err)
			return
		}
	}
	name.Forget()
	tempo.Forget()
	if p.d.Bench != nil {
		said := ""
		if slices.ContainsFunc(slices.Delete(slices.Clone(p.songs), r.song, r.song+1), func(one machine.Song) bool { return one.Name == song.Name && one.TempoBPM == song.TempoBPM }) {
			said = i18n.F("%s at %.4g BPM is in the list twice now: a take of one counts for both.", song.Name, song.TempoBPM)
		}
		p.songsChanged(p.At, said, machine.ChangeSong(r.song, song))
	}
}

// songWords says what the plan knows of a song: setting, move, tempo window, what is
// expected of its worst voice, which the line below names, and whether it is sure.
func songWords(s loop.Song, first bool) [5]string {
	worst := s.Worst()
	move, expected := look.Setting(s.Move), i18n.F("%s ± %.1f", calib.LateEarly(worst.LagMS), worst.HalfMS)
	if first {
		move = ""
	}
	return [5]string{look.Setting(s.Setting), move, windowWords(s), expected, sureWords(s)}
}

// sureWords says in short whether a song is sure; why, is said of the one in hand.
func sureWords(s loop.Song) string {
	switch s.Stands {
	case loop.Verified:
		return i18n.L("Verified")
	case loop.Sure:
		return i18n.L("Sure")
	case loop.OnEdge:
		return i18n.L("On the edge")
	case loop.Hopeless:
		return i18n.L("Nothing fits")
	}
	return i18n.L("Not yet")
}

// partWords says of a song what is expected of each of its voices.
func partWords(s loop.Song) string {
	var parts []string
	for _, r := range s.Parts {
		if r.Unheard {
			parts = append(parts, i18n.F("%s not heard yet", r.Voice))
			continue
		}
		parts = append(parts, i18n.F("%s %s ± %.1f", r.Voice, calib.LateEarly(r.LagMS), r.HalfMS))
	}
	return i18n.F("%s at %s: %s.", s.Name, look.Setting(s.Setting), strings.Join(parts, ", "))
}

// windowWords says at which tempos, in BPM, a song's setting holds.
func windowWords(s loop.Song) string {
	switch {
	case slices.ContainsFunc(s.Parts, func(r loop.Residual) bool { return r.Unheard }):
		return i18n.L("not known")
	case s.HighBPM == 0:
		return i18n.L("no tempo")
	case s.TempoBPM < s.LowBPM || s.TempoBPM > s.HighBPM:
		return i18n.F("not tight at %s BPM", kit.Digits(s.TempoBPM))
	case s.LowBPM == 0 && math.IsInf(s.HighBPM, 1):
		return i18n.L("any tempo")
	case math.IsInf(s.HighBPM, 1):
		return i18n.F("from %.1f", s.LowBPM)
	case s.LowBPM == 0:
		return i18n.F("up to %.1f", s.HighBPM)
	}
	return i18n.F("%.1f to %.1f", s.LowBPM, s.HighBPM)
}

// NextWords says which take the set list asks for next and why. What to do is said at the
// top, for what the loop aims at: here stands only where else it could go.
func NextWords(p *loop.View) string {
	switch {
	case p.Err != nil:
		return kit.AsSentence(p.Err.Error())
	case len(p.Songs) == 0:
		return "" // the middle of the pane says what to do
	case p.Next == nil && p.CureOpen() != "":
		return p.CureOpen()
	case p.Next == nil:
		return p.EnoughWords()
	}
	next, voice := p.Next.Target, p.Next.Target.Voice
	if p.Next.All {
		voice = i18n.L("all voices")
	}
	switch {
	case next == p.Aim && p.Next.ToBPM > 0 && (p.Sweep.None() || p.Stage == loop.AwaitMove):
		first := p.Do
		if p.Stage == loop.AwaitMove {
			first = calib.TurnAtRest(p.Steps)
		}
		return i18n.F("%s. Then sweep from %.4g to %.4g BPM. %s", first, next.TempoBPM, p.Next.ToBPM, p.Next.Why)
	case next == p.Aim:
		return i18n.F("This is the take that the set list asks for. %s", p.Next.Why)
	case p.Next.ToBPM > 0:
		return i18n.F("Next for the set list: a sweep from %.4g to %.4g BPM (%s). %s Until then, do what the line at the top says.", next.TempoBPM, p.Next.ToBPM, voice, p.Next.Why)
	}
	return i18n.F("Next for the set list: %s at %.4g BPM (%s). %s Until then, do what the line at the top says.", next.Song, next.TempoBPM, voice, p.Next.Why)
}
