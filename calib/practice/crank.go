package practice

import (
	"math"
	"math/rand/v2"
	"sort"
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

// Sweep is a take in which the tempo changes on purpose, from Play.TempoBPM on. Its
// zero value is a take at one tempo.
type Sweep struct {
	ToBPM   float64 // the tempo it goes to; 0 = no sweep
	Seconds float64 // how long it takes; 0 = 60
	Back    bool    // and back again, within that time
	Stages  int     // tempos at which it stays for a while, the first and the last among them; 0 = it never stays
	StopS   float64 // how long the crank stands still in the middle
	Uneven  float64 // share by which it goes faster here and slower there, up to 1
}

// course is the turning of a crank through a sweep: a table of times, filled once.
type course struct {
	first float64   // beat of the first time
	times []float64 // s, courseStep beats apart
	slope []float64 // period in s at each
}

const (
	courseStep = 1.0 / 64 // beats
	courseLead = 16       // beats before the sweep at its first tempo, and after it at its last
	stopBeats  = 0.6      // in which a crank comes to rest and gets going again (invented)
	stageShare = 0.12     // of a stage that it takes to reach its tempo (invented)
)

// newCourse turns through a sweep that starts at beat 0, with a crank that is uneven
// within a turn.
func newCourse(fromBPM float64, s Sweep, uneven func(beat float64) float64, luck *rand.Rand) *course {
	phases := [3]float64{luck.Float64(), luck.Float64(), luck.Float64()}
	tempo := func(share float64) float64 { return fromBPM + (s.ToBPM-fromBPM)*s.progress(share, phases) }
	// How far the sweep is at each beat, by its own time.
	c := &course{first: -courseLead}
	beats := s.beats(fromBPM, tempo)
	half := 0.5 * beats
	spent := 0.0
	period := func(beat float64) float64 {
		p := 60 / tempo(math.Min(math.Max(spent/s.seconds(), 0), 1)) * uneven(beat)
		if off := math.Abs(beat - half); s.StopS > 0 && off < stopBeats/2 {
			p += s.StopS / stopBeats * (1 + math.Cos(2*math.Pi*off/stopBeats))
		}
		return p
	}
	at := 0.0
	for beat := c.first; beat < beats+courseLead; beat += courseStep {
		p := period(beat)
		c.times, c.slope = append(c.times, at), append(c.slope, p)
		at += courseStep * period(beat+courseStep/2)
		if beat >= 0 {
			spent += courseStep * 60 / tempo(math.Min(spent/s.seconds(), 1))
		}
	}
	return c
}

func (s Sweep) seconds() float64 {
	if s.Seconds > 0 {
		return s.Seconds
	}
	return 60
}

// beats returns how many beats a sweep has.
func (s Sweep) beats(fromBPM float64, tempo func(share float64) float64) (beats float64) {
	const steps = 4000
	for i := range steps {
		beats += tempo((float64(i)+0.5)/steps) / 60 * s.seconds() / steps
	}
	return beats
}

// progress returns how far the tempo has got from the first to the last, 0 to 1, when
// a share of the time is over.
func (s Sweep) progress(share float64, phases [3]float64) float64 {
	if s.Back {
		share = 1 - math.Abs(2*share-1)
	}
	for i, phase := range phases { // each swing is back where it was at either end
		w := 2 * math.Pi * float64(i+1)
		share += s.Uneven / 3 / w * (math.Sin(w*share+2*math.Pi*phase) - math.Sin(2*math.Pi*phase))
	}
	if s.Stages > 1 {
		at := share * float64(s.Stages)
		stage := math.Min(math.Floor(at), float64(s.Stages-1))
		rise := math.Min((at-stage)/stageShare, 1)
		return math.Max(stage-1+rise, 0) / float64(s.Stages-1)
	}
	return share
}

// at returns the time in s at a beat, by the cubic through the times and periods on
// either side.
func (c *course) at(beat float64) float64 {
	x := (beat - c.first) / courseStep
	i := min(max(int(math.Floor(x)), 0), len(c.times)-2)
	x -= float64(i)
	if x < 0 || x > 1 { // beyond the table at the first or last tempo
		return c.times[i] + x*(c.times[i+1]-c.times[i])
	}
	from, to := c.slope[i]*courseStep, c.slope[i+1]*courseStep
	rise := c.times[i+1] - c.times[i]
	return c.times[i] + x*(from+x*((3*rise-2*from-to)+x*(from+to-2*rise)))
}

// near returns about where the crank stands at a time in s.
func (c *course) near(atS float64) float64 {
	i := sort.SearchFloat64s(c.times, atS)
	return c.first + courseStep*float64(i)
}

// drops returns how many drops of a voice that strikes every so many beats fall
// within a sweep.
func (c *course) drops(every int) int {
	return int((float64(len(c.times))*courseStep-2*courseLead)/float64(every)) + 1
}
