// Package fan is the hit fan as a widget; sketch.Fan says what it shows and where.
package fan

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Fan is the hit fan widget. All its methods belong to the UI goroutine.
type Fan struct {
	ink.Drawing

	has bool
	fan sketch.Fan
}

// New returns an empty fan.
func New() *Fan {
	f := &Fan{}
	f.Begin(f, func(times float32) fyne.Size { return fyne.NewSize(220, 140*times) }, f.draw)
	return f
}

// Set shows a reading, a sweep with the songs' tempos. Lags within ± toleranceMS are tight; 0 draws no zone.
func (f *Fan) Set(reading calib.Reading, toleranceMS float64, songsBPM ...float64) {
	f.has, f.fan = true, sketch.FanOf(reading, toleranceMS, songsBPM...)
	f.Refresh()
}

// Clear shows that there is no reading.
func (f *Fan) Clear() {
	f.has, f.fan = false, sketch.Fan{}
	f.Refresh()
}

// sentence returns what an empty fan says.
func (f *Fan) sentence() string {
	return i18n.Either(f.has, "No pairs in this take: look at the trace to see what is missing.",
		"Each hit of the next take will fan out here: late to the right, early to the left.")
}

// draw draws the fan on its board.
func (f *Fan) draw(p *ink.Pen) {
	inks := look.Inks(f.Theme())
	p.Clear(inks.Paper)
	f.fan.Draw(p.Pen, inks, float64(f.Theme().Size(theme.SizeNameCaptionText)), f.sentence())
}

// AccessibilityLabel says what the fan shows.
func (f *Fan) AccessibilityLabel() string {
	switch {
	case f.fan.Sweep != nil:
		return f.fan.Sweep.Words()
	case len(f.fan.Rays()) == 0:
		return f.sentence()
	}
	return i18n.F("Hit fan: %s. %s", f.fan.Summary(), f.fan.Verdict())
}
