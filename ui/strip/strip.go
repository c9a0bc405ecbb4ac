// Package strip shows how far a sweep has come: a field for each band of tempos from slow
// on the left to fast on the right, which fills as hits fall into it, ticks under the
// songs' tempos, and a pointer at the tempo that is played.
package strip

import (
	"fmt"
	"image/color"
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Strip is the widget. All its methods belong to the UI goroutine.
type Strip struct {
	ink.Drawing

	songs []float64 // tempos, BPM
	bands []handsfree.Band
	bpm   float64 // played now; 0 = not known
}

// New returns a strip without bands.
func New() *Strip {
	s := &Strip{}
	s.Begin(s, leastSize, s.draw)
	return s
}

// Songs gives the songs' tempos, in BPM.
func (s *Strip) Songs(bpm []float64) { s.songs = bpm }

// Set shows bands, the slowest first, and the tempo that is played in BPM; 0 = not known.
func (s *Strip) Set(bands []handsfree.Band, bpm float64) {
	if bpm != s.bpm || !slices.Equal(bands, s.bands) {
		s.bands, s.bpm = bands, bpm
		s.Refresh()
	}
}

// AccessibilityLabel says how many tempos are covered.
func (s *Strip) AccessibilityLabel() string {
	covered := 0
	for _, b := range s.bands {
		if b.Covered() {
			covered++
		}
	}
	return i18n.F("%.0f BPM; %d of %d tempos are covered.", s.bpm, covered, len(s.bands))
}

const (
	rowHeight  = 62.0
	fieldTop   = 16.0
	fieldHigh  = 22.0
	leastWidth = 240.0
)

// place returns where a tempo lies from 0 to 1, by the ratio of tempos.
func (s *Strip) place(bpm float64) float64 {
	from, to := s.bands[0].FromBPM, s.bands[len(s.bands)-1].ToBPM
	return math.Max(math.Min(math.Log(bpm/from)/math.Log(to/from), 1), 0)
}

// draw draws the strip on its board.
func (s *Strip) draw(p *ink.Pen) {
	inks := look.Inks(s.Theme())
	p.Clear(color.Transparent)
	if len(s.bands) == 0 {
		return
	}
	wide, _ := p.Size()
	times := float64(look.Times(s.Theme()))
	small := float64(s.Theme().Size(theme.SizeNameCaptionText))
	left, right := 24*times, wide-24*times
	x := func(bpm float64) float64 { return left + s.place(bpm)*(right-left) }
	top, bottom := fieldTop*times, (fieldTop+fieldHigh)*times
	for _, b := range s.bands {
		x0, x1 := x(b.FromBPM)+1, x(b.ToBPM)-1
		p.Box(inks.Grid, x0, top, x1, bottom)
		fill := inks.Mark
		if b.Covered() {
			fill = inks.Tight
		}
		if b.Hits > 0 {
			p.Box(fill, x0, bottom-(bottom-top)*b.Share(), x1, bottom)
		}
	}
	for _, bpm := range s.songs {
		p.Upright(inks.Text, x(bpm), bottom+2*times, bottom+7*times, 1.5)
	}
	for _, bpm := range []float64{s.bands[0].FromBPM, s.bands[len(s.bands)-1].ToBPM} {
		p.Text(inks.Quiet, x(bpm), bottom+15*times, sketch.Centre, small, false, fmt.Sprintf("%.0f", bpm))
	}
	if s.bpm > 0 {
		at := x(s.bpm)
		p.Shape(inks.Reference, []sketch.Pt{{X: at - 6*times, Y: top - 11*times}, {X: at + 6*times, Y: top - 11*times}, {X: at, Y: top - 2*times}})
	}
}

func leastSize(times float32) fyne.Size { return fyne.NewSize(leastWidth, rowHeight*times) }
