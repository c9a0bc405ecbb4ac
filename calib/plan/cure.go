package plan

import (
	"math"

	"lagwright/calib"
)

// Cure is what to change on the machine so that a voice strikes with the others at
// one setting. Dropping from another height holds at every tempo where it makes
// the fall times equal; moved pins hold at every tempo only as far as it was the
// pins that were wrong. Either is work inside the machine: stop the crank, secure
// it, and wait until everything is at rest first.
type Cure struct {
	DropMM float64 // by which to raise the voice, which shortens the drop; negative = lower it; 0 where no drop does it
	PinDeg float64 // by which to move the pins ahead on the wheel, in degrees
	PinMM  float64 // the same along the circle of pins; 0 where its radius is not known
}

// Build is what a cure needs to know of a voice's build.
type Build struct {
	DropMM       float64    // height of fall
	Shot         calib.Shot // what falls; its zero value leaves drag out
	BeatsPerTurn float64    // beats in one turn of the wheel that carries the pins
	PinRadiusMM  float64    // of the circle of pins; 0 = not known
}

// Cure returns what takes so much of a lag away, in ms and positive = late, at a
// beat period in ms: either the drop or the pins.
func (b Build) Cure(lagMS, periodMS float64) Cure {
	var c Cure
	if fall := b.Shot.FallMS(b.DropMM); fall > lagMS {
		c.DropMM = b.DropMM - b.Shot.HeightMM(fall-lagMS)
	}
	c.PinDeg = 360 * lagMS / periodMS / b.BeatsPerTurn
	c.PinMM = c.PinDeg * math.Pi / 180 * b.PinRadiusMM
	return c
}
