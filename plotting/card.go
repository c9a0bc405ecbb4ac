package plotting

import (
	"fmt"
	"math"
	"time"
)

// Settled is one line of the setting card: what the plate must stand at for a
// song's tempo.
type Settled struct {
	Song         string
	TempoBPM     float64
	Voice        string
	SettingSteps int        // positive = voice earlier
	MoveSteps    int        // from the line before
	WindowBPM    [2]float64 // tempos between which the lag stays inaudible; 0, 0 = unknown
	LagMS        float64    // what is left of the lag; not finite = unknown
	Date         time.Time  // when it was verified; zero = unknown
}

// Card is the page that hangs on the machine: a setting in large digits for
// every tempo of the set list, to be read from two metres.
type Card struct {
	Machine, Session string
	Date             time.Time
	NotchesPerTurn   int // of the index plate; 0 = unknown
	ToleranceMS      float64
	Lines            []Settled
}

// caution stands at the foot of every card. Stored energy in a flywheel:
// 29 CFR 1910.147 (lockout) and ISO 14120 (guards) as good practice.
var caution = []string{
	"Stop the crank, wait until everything is at rest, then reach in.",
	"Guards, local codes and licensed practice come first.",
}

// longCard is the number of lines from which the page stands upright.
const longCard = 6

// Figure lays the card out on one A5 page: on its side for a short set list,
// upright for a long one, in columns and smaller digits where there is no end
// to it. A card without lines says how to begin. A tolerance that is negative
// or not a number is an error.
func (c Card) Figure() (*Figure, error) {
	if err := checkTolerance(c.ToleranceMS); err != nil {
		return nil, fmt.Errorf("cannot draw the setting card: %w", err)
	}
	v := c.view()
	f := &Figure{width: 210 * mm, height: 148 * mm, background: v.theme.Background, page: true, paint: v.paint}
	if v.upright {
		f.width, f.height = f.height, f.width
	}
	return f, nil
}

// cardLine is a line of the card in words.
type cardLine struct {
	tempo, song   string
	details       []string // the most useful first
	setting, move int
}

type cardView struct {
	theme          Theme
	machine, under string
	notches        int
	upright        bool
	lines          []cardLine
}

func (c Card) view() *cardView {
	v := &cardView{
		theme:   Light(),
		machine: clean(c.Machine),
		under:   joined(clean(c.Session), day(c.Date), "tight: within ±"+compact(c.ToleranceMS)+" ms or half a step"),
		notches: max(c.NotchesPerTurn, 0),
		upright: len(c.Lines) >= longCard,
	}
	for _, line := range c.Lines {
		v.lines = append(v.lines, line.words(day(c.Date)))
	}
	return v
}

// words puts the line into words; the date only where it differs from the card's.
func (s Settled) words(cardDay string) cardLine {
	line := cardLine{tempo: "?", song: clean(s.Song), setting: s.SettingSteps, move: s.MoveSteps}
	if isTempo(s.TempoBPM) {
		line.tempo = compact(s.TempoBPM)
	}
	var window, left, date string
	if lo, hi := s.WindowBPM[0], s.WindowBPM[1]; isTempo(hi) && lo >= 0 && lo < hi {
		window = fmt.Sprintf("good %s to %s BPM", decimal(math.Ceil(lo), 0), decimal(math.Floor(hi), 0))
	}
	if isLag(s.LagMS) {
		left = lagWords(s.LagMS)
	}
	if d := day(s.Date); d != cardDay {
		date = d
	}
	for _, detail := range []string{clean(s.Voice), window, joined(left, date)} {
		if detail != "" {
			line.details = append(line.details, detail)
		}
	}
	return line
}

func day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2 Jan 2006")
}

// columns is how many columns suit the given room: one more only where it makes
// the digits a good deal larger, for it leaves the songs less room.
func columns(lines int, width, height float64) int {
	best, size := 1, 0.0
	for n := 1; n <= 12; n++ {
		rows := math.Ceil(float64(lines) / float64(n))
		if s := min(height/rows*settingShare, width/float64(n)*settingWidth/widestSetting); s > size*1.25 {
			best, size = n, s
		}
	}
	return best
}
