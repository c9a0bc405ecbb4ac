// Package rail shows how loud a microphone is: a ring that rolls along a rail as
// far as the sound is loud, the ball it leaves where it was loudest, and two posts
// between which that should come to lie. The word beside it says the same.
//
// Levels are in dBFS: full scale is 0, and softer is below.
package rail

import (
	"fmt"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Level is what a rail shows.
type Level struct {
	NowDBFS  float64 // where the ring is
	HeldDBFS float64 // and the ball
	Word     string  // what it means: "good", "too quiet"
	Good     bool
}

// Rail is the widget. All its methods belong to the UI goroutine.
type Rail struct {
	ink.Drawing

	name     string
	ink      fyne.ThemeColorName
	from, to float64 // the posts
	level    Level
}

// New returns a rail of a name, inked as what the microphone is on, whose posts
// stand at two levels.
func New(name string, inked fyne.ThemeColorName, fromDBFS, toDBFS float64) *Rail {
	r := &Rail{name: name, ink: inked, from: fromDBFS, to: toDBFS, level: Level{NowDBFS: math.Inf(-1), HeldDBFS: math.Inf(-1)}}
	r.Begin(r, leastSize, r.draw)
	return r
}

// Ink gives the rail the colour of what its microphone is on.
func (r *Rail) Ink(inked fyne.ThemeColorName) {
	if inked != r.ink {
		r.ink = inked
		r.Refresh()
	}
}

// Set shows a level.
func (r *Rail) Set(l Level) {
	if l != r.level {
		r.level = l
		r.Refresh()
	}
}

// AccessibilityLabel says name, level and word.
func (r *Rail) AccessibilityLabel() string {
	if math.IsInf(r.level.HeldDBFS, -1) {
		return fmt.Sprintf("%s: %s", r.name, r.level.Word)
	}
	return i18n.F("%s: %.0f dB below full scale, %s", r.name, -r.level.HeldDBFS, r.level.Word)
}

// The softest and the loudest level on the rail, in dBFS.
const (
	softest = -66.0
	loudest = 0.0
)

const (
	ball      = 6.0
	nameWidth = 120.0
	wordWidth = 128.0
	rowHeight = 26.0
)

// place returns where on a rail from left to right a level lies.
func place(dbfs, left, right float64) float64 {
	share := (math.Max(math.Min(dbfs, loudest), softest) - softest) / (loudest - softest)
	return left + share*(right-left)
}

// draw draws the rail on its board.
func (r *Rail) draw(p *ink.Pen) {
	inks := look.Inks(r.Theme())
	inked := look.Pick(r.Theme(), r.ink, fyne.CurrentApp().Settings().ThemeVariant())
	p.Clear(color.Transparent)
	wide, high := p.Size()
	y, small := high/2, float64(r.Theme().Size(theme.SizeNameCaptionText))
	times := float64(look.Times(r.Theme()))
	left, right := nameWidth*times+ball, wide-wordWidth*times-ball
	p.Text(inked, 0, y, sketch.Left, small, true, r.name)
	p.Level(inks.Grid, left, right, y, 3)
	a, b := place(r.from, left, right), place(r.to, left, right)
	p.Level(inks.Quiet, a, b, y, 3)
	for _, x := range []float64{a, b} {
		p.Upright(inks.Quiet, x, y-8, y+8, 2)
	}
	if !math.IsInf(r.level.HeldDBFS, -1) {
		p.Disc(inked, place(r.level.HeldDBFS, left, right), y, ball-0.5)
	}
	if !math.IsInf(r.level.NowDBFS, -1) {
		p.Ring(inked, place(r.level.NowDBFS, left, right), y, ball, 1.5)
	}
	said := inks.Warn
	if r.level.Good {
		said = inks.Tight
	}
	p.Text(said, right+ball+10, y, sketch.Left, small, true, r.level.Word)
}

func leastSize(times float32) fyne.Size {
	return fyne.NewSize(112+(nameWidth+wordWidth)*times, rowHeight*times)
}

// InkOf returns the colour of what a microphone is on.
func InkOf(reference bool) fyne.ThemeColorName {
	if reference {
		return look.Reference
	}
	return look.Voice
}

// GradeOf grades a level by the loudest of the last two seconds, in which a hit
// should have come. noiseRMS is that of what is heard between hits, 0 where it is not
// known.
func GradeOf(l capture.Level, noiseRMS float64) handsfree.Grade {
	loudest := handsfree.Level{Peak: l.Hold, Silent: l.Hold == 0}
	if l.Hold >= full {
		loudest.Clipped = 1
	}
	return loudest.Grade(noiseRMS)
}

// full is where a sample counts as clipped; 16-bit devices end a hair below 1.
const full = 1 - 1.0/(1<<14)

// LevelOf is a level of a grade as a rail shows it.
func LevelOf(l capture.Level, g handsfree.Grade) Level {
	return Level{NowDBFS: halves(handsfree.PeakDBFS(l.Peak)), HeldDBFS: halves(handsfree.PeakDBFS(l.Hold)), Word: g.Words(), Good: g == handsfree.Good}
}

// halves keeps a rail from being drawn anew for a hair.
func halves(dbfs float64) float64 { return math.Round(2*dbfs) / 2 }
