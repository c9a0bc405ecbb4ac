// Package dial is the plate dial: the index plate drawn with its notches, where
// it stands, where it should go and which way to turn it.
//
// Settings are in steps and positive is ahead (voice earlier); one notch is one
// step. Ahead is drawn clockwise and said in words, so that nobody has to guess.
// Positions are in device-independent pixels.
package dial

import (
	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Dial is the plate dial widget. All its methods belong to the UI goroutine.
type Dial struct {
	ink.Drawing

	plate     sketch.Plate
	current   int
	target    int
	hasTarget bool

	shown  float64 // the setting drawn, on its way to current while it turns
	moving *fyne.Animation
}

// New returns a dial at setting 0 of a plate whose notches are not known.
func New() *Dial {
	d := &Dial{}
	d.Begin(d, func(float32) fyne.Size { return fyne.NewSquareSize(160) }, d.draw)
	return d
}

// SetPlate sets how many notches the plate has in a turn; 0 or less when not
// known, which draws a plain ring with a mark for every ten steps.
func (d *Dial) SetPlate(notchesPerTurn int) {
	d.plate = sketch.Plate{Notches: max(0, notchesPerTurn)}
	d.Refresh()
}

// Set shows at once the setting the plate stands at and, if hasTarget, the one
// it should go to. Settings beyond a turn wrap around the plate; the number in
// the middle stays the full setting.
func (d *Dial) Set(current, target int, hasTarget bool) {
	d.stop()
	d.current, d.target, d.hasTarget = current, target, hasTarget
	d.shown = float64(current)
	d.Refresh()
}

// Turn shows the plate turning to a new setting, and then no target. Call it once
// the builder has said that the plate is moved.
func (d *Dial) Turn(to int) {
	d.stop()
	from := d.shown
	d.current, d.hasTarget = to, false
	if !fyne.CurrentApp().Settings().ShowAnimations() || from == float64(to) {
		d.shown = float64(to)
		d.Refresh()
		return
	}
	d.moving = fyne.NewAnimation(turnTime(from, to), func(done float32) {
		d.shown = from + (float64(to)-from)*float64(done)
		d.Refresh()
	})
	d.moving.Curve = fyne.AnimationEaseInOut
	d.moving.Start()
}

// stop ends a turn under way.
func (d *Dial) stop() {
	if d.moving != nil {
		d.moving.Stop()
		d.moving = nil
	}
}

// steps returns the move still to be made.
func (d *Dial) steps() int {
	if !d.hasTarget {
		return 0
	}
	return d.target - d.current
}

// AccessibilityLabel says what the dial shows.
func (d *Dial) AccessibilityLabel() string {
	s := i18n.F("Index plate at setting %s.", look.Setting(d.current))
	if d.hasTarget {
		s += " " + i18n.F("Turn: %s, to setting %s.", look.Move(d.steps()), look.Setting(d.target))
	}
	return s
}
