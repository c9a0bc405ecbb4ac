package practice

import (
	"math"
	"math/rand/v2"
)

// driftBeats is how long one slow swing of the tempo lasts (invented).
const driftBeats = 26

// crank tells when the machine passes each beat. Its beat period at beat b is
//
//	P(b) = P₀·(1 + wow·sin(2π·turns·b + φ) + drift·sin(2π·b/driftBeats + ψ))
//
// A sweep changes P₀ on the way.
type crank struct {
	periodS    float64 // P₀; of a sweep the last
	wow, drift swing
	sweep      *course // nil = P₀ stays
}

// swing is one sinusoid in the tempo.
type swing struct {
	share      float64 // of the period
	perBeat    float64 // cycles in a beat
	startPhase float64 // radians at beat 0
}

func newCrank(p Play, turnsPerBeat float64, d Disturb, luck *rand.Rand) crank {
	c := crank{
		periodS: 60 / p.TempoBPM,
		wow:     swing{level(d.WowPct) / 100, turnsPerBeat, 2 * math.Pi * luck.Float64()},
		drift:   swing{level(d.DriftPct) / 100, 1.0 / driftBeats, 2 * math.Pi * luck.Float64()},
	}
	if p.Sweep.ToBPM > 0 {
		c.sweep = newCourse(p.TempoBPM, p.Sweep, func(beat float64) float64 { return 1 + c.wow.at(beat) }, luck)
		c.periodS = c.sweep.slope[len(c.sweep.slope)-1]
	}
	return c
}

// at returns the time in s at which the machine passes a beat: the integral of
// the beat period. Where its zero lies means nothing.
func (c crank) at(beat float64) float64 {
	if c.sweep != nil {
		return c.sweep.at(beat)
	}
	return c.periodS * (beat + c.wow.integral(beat) + c.drift.integral(beat))
}

// beat returns where the machine stands at a time in s, in beats: the inverse of
// at, by Newton's method. The period swings by far less than itself, so that a
// few steps reach the last digits.
func (c crank) beat(atS float64) float64 {
	b := atS / c.periodS
	if c.sweep != nil {
		b = c.sweep.near(atS)
	}
	for range 6 {
		b -= (c.at(b) - atS) / (c.periodMS(b, 0) / 1000)
	}
	return b
}

// at returns the swing at a beat.
func (s swing) at(beat float64) float64 {
	return s.share * math.Sin(2*math.Pi*s.perBeat*beat+s.startPhase)
}

// integral returns the integral of the swing, but for a constant.
func (s swing) integral(beat float64) float64 {
	if s.share == 0 || s.perBeat == 0 {
		return 0
	}
	w := 2 * math.Pi * s.perBeat
	return -s.share / w * math.Cos(w*beat+s.startPhase)
}

// periodMS returns the mean beat period in ms over the angle, in beats, that
// lies between a beat and its release; at no angle, the period at that beat.
func (c crank) periodMS(beat, angle float64) float64 {
	const small = 1e-4 // beats: over so short an angle the period does not change
	if math.Abs(angle) < small {
		beat, angle = beat-small/2, small
	}
	return 1000 * (c.at(beat+angle) - c.at(beat)) / angle
}
