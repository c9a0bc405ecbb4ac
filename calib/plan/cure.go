package plan

import (
	"fmt"
	"math"

	"lagwright/calib"
)

// Cure is what to change on the machine so that a voice strikes with the others at
// one setting. Dropping from another height holds at every tempo where it makes
// the fall times equal; moved pins hold at every tempo only as far as it was the
// pins that were wrong. Either is work inside the machine: stop the crank, secure
// it, and wait until everything is at rest first.
type Cure struct {
	Voice    int
	LagMS    float64 // to take away; positive = late
	DropMM   float64 // by which to raise the voice, which shortens the drop; negative = lower it
	PinDeg   float64 // by which to move the pins ahead on the wheel, in degrees
	PinMM    float64 // the same along the rim
	Steadily float64 // of LagMS, what a drop cures at every tempo: the excess of its delay, ms
	Words    string
}

// Build is what a cure needs to know of a voice's build.
type Build struct {
	DropMM       float64    // height of fall; 0 = not known
	Shot         calib.Shot // what falls
	BeatsPerTurn float64    // beats in one turn of the wheel that carries the pins; 0 = not known
	PinRadiusMM  float64    // of the circle of pins; 0 = not known
	OthersMS     float64    // delay D of the other voices; 0 = there are none
}

// Cure returns what cures a lag of a voice at a beat period. A lag that the delay's
// difference from the other voices explains wants another drop; one that the offset
// explains wants other pins.
func (m Machine) Cure(voice int, lagMS, periodMS float64, b Build) Cure {
	c := Cure{Voice: voice, LagMS: lagMS}
	fall := b.Shot.FallMS(b.DropMM)
	if height := b.Shot.HeightMM(fall - lagMS); b.DropMM > 0 && fall > lagMS {
		c.DropMM = b.DropMM - height
	}
	turn := lagMS / periodMS // beats
	if b.BeatsPerTurn > 0 {
		c.PinDeg = 360 * turn / b.BeatsPerTurn
		c.PinMM = c.PinDeg * math.Pi / 180 * b.PinRadiusMM
	}
	if b.OthersMS > 0 {
		c.Steadily = m.Law(voice).DelayMS - b.OthersMS
	}
	c.Words = c.words(b)
	return c
}

// steady is the share of a lag that a delay has to explain for the drop alone to be
// what cures it; where the rest explains as much, the pins alone are.
const steady = 0.8

func (c *Cure) words(b Build) string {
	drop := fmt.Sprintf("raise the voice by %.1f mm", c.DropMM)
	if c.DropMM < 0 {
		drop = fmt.Sprintf("lower the voice by %.1f mm", -c.DropMM)
	}
	pins := fmt.Sprintf("move its pins %.2f° ahead", c.PinDeg)
	if c.PinDeg < 0 {
		pins = fmt.Sprintf("move its pins %.2f° back", -c.PinDeg)
	}
	if b.PinRadiusMM > 0 {
		pins += fmt.Sprintf(" (%.1f mm on the rim)", math.Abs(c.PinMM))
	}
	text := fmt.Sprintf("The voice is %s: ", calib.LateEarly(c.LagMS))
	switch {
	case b.DropMM > 0 && b.BeatsPerTurn > 0:
		text += drop + ", or " + pins + "."
	case b.DropMM > 0:
		text += drop + "."
	case b.BeatsPerTurn > 0:
		text += pins + "."
	default:
		text += "its drop or the circle of its pins has to be known to say by how much."
	}
	if b.OthersMS > 0 {
		text += c.which()
	}
	return text
}

// which says which of the two cures holds at every tempo.
func (c *Cure) which() string {
	switch share := c.Steadily / c.LagMS; {
	case share >= steady:
		return " Its fall takes longer or shorter than the others': the drop cures it at every tempo, pins at this one only."
	case share > 1-steady:
		return fmt.Sprintf(" Part of it, %.0f ms, is its fall, the rest its pins: only both together, each by its own part, hold at every tempo.", c.Steadily)
	}
	return " Its fall takes as long as the others': the pins are what is off, and moving them holds at every tempo; another drop would hold at this one only."
}
