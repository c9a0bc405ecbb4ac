package rail

import (
	"math"

	"fyne.io/fyne/v2"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/ui/look"
)

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
