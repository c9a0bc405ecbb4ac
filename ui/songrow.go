package ui

import (
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

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

func newCellLabel(text string, bold bool) *widget.Label {
	l := widget.NewLabelWithStyle(text, fyne.TextAlignLeading, fyne.TextStyle{Bold: bold})
	l.Truncation = fyne.TextTruncateEllipsis
	return l
}

// songRow is a song of the set list: two cells to type into and what the plan
// says.
type songRow struct {
	root  *fyne.Container
	back  *canvas.Rectangle // shown while the song is in hand
	cells [2]*cell
	said  [5]*widget.Label

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

// inFont replaces the minus sign, which Fyne's font has not got.
func inFont(text string) string { return strings.ReplaceAll(text, "−", "–") }

// cell is an entry of the set list. What is typed is kept when it is left.
type cell struct {
	widget.Entry
	was  string // what it shows while nothing is typed
	held func()
	kept func()
	step func(rows int)
}

func newCell(held, kept func(), step func(rows int)) *cell {
	c := &cell{held: held, kept: kept, step: step}
	c.ExtendBaseWidget(c)
	c.OnSubmitted = func(string) { c.done() }
	return c
}

// show shows a value, unless it is shown already and something is being typed.
func (c *cell) show(value string) {
	if value != c.was {
		c.was = value
		c.SetText(value)
	}
}

func (c *cell) changed() bool { return c.Text != c.was }

// forget lets the next show put its value over what was typed.
func (c *cell) forget() {
	if c.changed() {
		c.was = c.Text
	}
}

func (c *cell) done() { c.kept() }

// FocusGained makes the cell's song the one in hand.
func (c *cell) FocusGained() {
	c.Entry.FocusGained()
	c.held()
	reveal(c)
}

// FocusLost keeps what was typed.
func (c *cell) FocusLost() {
	c.Entry.FocusLost()
	c.done()
}

// TypedKey goes to the row above or below with the arrow keys.
func (c *cell) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyUp:
		c.step(-1)
	case fyne.KeyDown:
		c.step(1)
	default:
		if !escaped(c, k) {
			c.Entry.TypedKey(k)
		}
	}
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
