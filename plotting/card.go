package plotting

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"math"
	"slices"
	"strconv"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting/sketch"
)

// Settled is one line of the setting card: what the plate must stand at for a
// song's tempo.
type Settled struct {
	Song         string
	TempoBPM     float64
	Voice        string      // or voices, as they shall be read
	SettingSteps int         // positive = voice earlier
	MoveSteps    int         // from the line before; the first from where the plate stands at the start
	WindowBPM    [2]float64  // tempos between which the lag stays inaudible; 0 = none too slow, +Inf = none too fast; 0, 0 = unknown
	LagMS        float64     // what is left of the lag; not finite = unknown
	LagVoice     string      // whose lag that is, where Voice names several; else empty
	RestMS       float64     // half width of the 95 % interval of LagMS; 0 or not finite = unknown
	Rests        []VoiceRest // of each voice that a take has read, LagVoice among them
	Stands       loop.Standing
	Date         time.Time // when it needed no more takes; zero = unknown
}

// VoiceRest is what is left of one voice's lag.
type VoiceRest struct {
	Voice         string
	LagMS, RestMS float64 // as in Settled
}

// Card is the page that hangs on the machine: a setting in large digits for
// every tempo of the set list, to be read from two metres.
type Card struct {
	Machine, List  string
	Date           time.Time
	NotchesPerTurn int // of the index plate; 0 = unknown
	ToleranceMS    float64
	Lines          []Settled // in playing order
}

// caution stands at the foot of every page. Stored energy in a flywheel:
// 29 CFR 1910.147 (lockout) and ISO 14120 (guards) as good practice.
func caution() []string {
	return []string{
		i18n.L("Stop the crank and wait until everything is at rest. Only then reach in."),
		i18n.L("Wear eye and ear protection. Guards, local codes and licensed practice come first."),
	}
}

const (
	longCard = 6 // lines from which the page stands upright

	// legible is the least height of the digits of setting and tempo: read at two
	// metres, 200 times as far (and a hair more, for rounding). Common practice, no
	// published source. A tempo with tenths is as
	// high as its column lets it be, 7 mm.
	legible = 10.02 * mm

	settingShare = 1.0 // font size of the setting in row heights
	leastRow     = legible/capHeight/settingShare + 0.1
)

const margin = 9 * mm

// What stands above and below the rows, in points on A5.
const (
	besideHead  = 50.0  // machine and date, on a page on its side
	uprightHead = 103.0 // the same beside the plate
	columnHead  = 14.0
	foot        = 50.0 // the caution and the key above it

	cautionHeight = 36.0
)

// cardPage is one page of the card.
type cardPage struct {
	unit    float64 // 1 on A5, larger on larger paper
	upright bool
	machine string
	notches int
	about   []string // machine and date, tolerance, page
	column  string   // heads the column of songs
	lines   []cardLine
	rows    int // of the fullest page
}

// headHeight is the room above the rows' heading.
func (v cardPage) headHeight() float64 {
	if v.upright {
		return uprightHead * v.unit
	}
	return besideHead * v.unit
}

// Figure lays the card out: on a page on its side for a short set list, upright
// for a long one, dealt out evenly to as few pages as keep the digits legible from two
// metres. A card without lines says how to begin. Saved as .csv it is a table.
func (c Card) Figure(paper Paper) *Figure {
	all := cardPage{unit: paper.unit(), upright: len(c.Lines) >= longCard, machine: clean(c.Machine), notches: max(c.NotchesPerTurn, 0), column: c.column()}
	f := paper.onSide()
	if all.upright {
		f = paper.upright()
	}
	f.table = c.csv()
	room := f.height - 2*margin - all.headHeight() - (columnHead+foot)*all.unit
	n := max(ceil(len(c.Lines), max(int(room/leastRow), 1)), 1)
	all.rows = ceil(len(c.Lines), n)
	for i := range n {
		page, number := all, ""
		for _, line := range c.Lines[min(i*all.rows, len(c.Lines)):min((i+1)*all.rows, len(c.Lines))] {
			page.lines = append(page.lines, line.words(day(c.Date)))
		}
		if n > 1 {
			number = i18n.F("page %d of %d", i+1, n)
		}
		page.about = []string{joined(clean(c.List), day(c.Date)), joined(number, i18n.F("tight: within ±%s ms or half a step", compact(c.ToleranceMS)))}
		f.pages = append(f.pages, page.paint)
	}
	return f
}

// ceil is how many parts of a size hold n.
func ceil(n, size int) int { return (n + size - 1) / size }

// column says what tells the lines apart: their songs, or their voices where they are of
// none; and what stands below.
func (c Card) column() string {
	column := i18n.L("song or voice")
	switch {
	case !slices.ContainsFunc(c.Lines, func(s Settled) bool { return clean(s.Song) == "" }):
		column = i18n.L("song")
	case !slices.ContainsFunc(c.Lines, func(s Settled) bool { return clean(s.Song) != "" }):
		column = i18n.L("voice")
	}
	return i18n.F("%s; lag expected by all takes", column)
}

// cardLine is a line of the card in words.
type cardLine struct {
	tempo, song   string
	details       []string // the most useful first
	setting, move int
	stands        loop.Standing
}

// What a line says of a setting that is not sure.
func listenFirst() string { return i18n.L("not sure: listen first") }
func tooFarApart() string { return i18n.L("its voices do not come together") }

// words puts the line into words; the date only where it differs from the card's.
func (s Settled) words(cardDay string) cardLine {
	line := cardLine{tempo: "?", song: clean(s.Song), setting: s.SettingSteps, move: s.MoveSteps, stands: s.Stands}
	if isTempo(s.TempoBPM) {
		line.tempo = compact(s.TempoBPM)
	}
	voice := clean(s.Voice)
	if s.LagVoice != "" { // named beside its lag
		voice = ""
	}
	if line.song == "" { // then the voice is what tells lines apart
		line.song, voice = voice, ""
	}
	var doubt, date string
	switch s.Stands {
	case loop.Hopeless:
		doubt = tooFarApart()
	case loop.OnEdge:
		doubt = i18n.L("as near as the plate goes")
	case loop.Open:
		doubt = listenFirst()
	}
	if d := day(s.Date); d != cardDay {
		date = d
	}
	line.details = full(doubt, windowWords(s.WindowBPM, s.TempoBPM), joined(s.restWords(), voice, date))
	return line
}

// windowWords says between which tempos a setting is good, rounded inward, but not past
// the song's own: to whole beats a minute, or to tenths where nothing whole lies between.
// Where it is not good at the song's own tempo it says so.
func windowWords(window [2]float64, own float64) string {
	lo, hi := window[0], window[1]
	if !(lo >= 0 && lo < hi) {
		return ""
	}
	if isTempo(own) && (own < lo || own > hi) {
		return i18n.F("not tight at %s BPM", compact(own))
	}
	for _, unit := range []float64{1, 10} {
		low, high := math.Ceil(lo*unit)/unit, math.Floor(hi*unit)/unit
		if isTempo(own) {
			low, high = min(low, own), max(high, own)
		}
		switch {
		case low == 0 && high > maxTempo:
			return i18n.L("good at any tempo")
		case high > maxTempo && low <= maxTempo:
			return i18n.F("good from %s BPM", compact(low))
		case low == 0 && high > 0:
			return i18n.F("good up to %s BPM", compact(high))
		case low < high && high <= maxTempo:
			return i18n.F("good %s to %s BPM", compact(low), compact(high))
		}
	}
	return ""
}

// restWords says what is left of the lag: "2.9 ms late ± 1.4", after the voice
// where there are several.
func (s Settled) restWords() string {
	if !sketch.IsLag(s.LagMS) {
		return ""
	}
	words := calib.LateEarly(s.LagMS)
	if s.RestMS > 0 && sketch.IsLag(s.RestMS) {
		words += " ± " + decimal(s.RestMS, 1)
	}
	if whose := clean(s.LagVoice); whose != "" {
		words = whose + " " + words
	}
	return words
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(i18n.L("2 Jan 2006")) // other languages write the month as a number
}

// csv is the card as a table, a line a song under a heading, with a point in
// numbers whatever the country (RFC 4180). What is
// unknown is empty. After lag_voice, whose lag lag_ms is, each voice has two
// columns of its own.
func (c Card) csv() []byte {
	head := []string{"song", "tempo_bpm", "voice", "setting_steps", "move_steps",
		"window_low_bpm", "window_high_bpm", "lag_ms", "rest_ms", "sure", "verified", "on_edge", "date", "lag_voice"}
	voices := c.voices()
	for _, voice := range voices {
		head = append(head, clean(voice)+" lag_ms", clean(voice)+" rest_ms")
	}
	rows := [][]string{head}
	for _, line := range c.Lines {
		rows = append(rows, append(line.record(), line.restRecord(voices)...))
	}
	return table(rows, ',')
}

// table writes rows as RFC 4180 has them; with something else for a comma, lines end as Unix
// has it.
func table(rows [][]string, comma rune) []byte {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	w.Comma, w.UseCRLF = comma, comma == ','
	w.WriteAll(rows) // to a buffer, which takes everything
	return buf.Bytes()
}

// voices are the voices of which something is known, in the order of the lines.
func (c Card) voices() []string {
	var all []string
	for _, line := range c.Lines {
		for _, rest := range line.Rests {
			if !slices.Contains(all, rest.Voice) {
				all = append(all, rest.Voice)
			}
		}
	}
	return all
}

func (s Settled) record() []string {
	low, high := cell(s.WindowBPM[0], 1), cell(s.WindowBPM[1], 1)
	if s.WindowBPM == [2]float64{} {
		low, high = "", ""
	}
	date := ""
	if !s.Date.IsZero() {
		date = s.Date.Format(time.DateOnly)
	}
	whose := cmp.Or(s.LagVoice, s.Voice)
	if !finite(s.LagMS) {
		whose = ""
	}
	return []string{clean(s.Song), cell(s.TempoBPM, -1), clean(s.Voice), strconv.Itoa(s.SettingSteps), strconv.Itoa(s.MoveSteps),
		low, high, cell(s.LagMS, 2), halfCell(s.RestMS), strconv.FormatBool(s.Stands >= loop.Sure), strconv.FormatBool(s.Stands == loop.Verified), strconv.FormatBool(s.Stands == loop.OnEdge), date, clean(whose)}
}

// restRecord is what is left of each of the voices, empty where it is unknown.
func (s Settled) restRecord(voices []string) []string {
	var cells []string
	for _, voice := range voices {
		lag, rest := "", ""
		for _, one := range s.Rests {
			if one.Voice == voice {
				lag, rest = cell(one.LagMS, 2), halfCell(one.RestMS)
			}
		}
		cells = append(cells, lag, rest)
	}
	return cells
}

// halfCell writes half an interval; none is unknown.
func halfCell(v float64) string {
	if v > 0 {
		return cell(v, 2)
	}
	return ""
}

// cell writes a number with so many decimals, -1 for as many as it takes.
func cell(v float64, decimals int) string {
	if !finite(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
