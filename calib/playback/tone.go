package playback

import (
	"math"
	"sync/atomic"

	"lagwright/calib/i18n"
)

// Tone is a short signal that tells something across the shop. The tones differ by
// contour and rhythm, so that nobody has to know a pitch by ear.
type Tone string

// The tones.
const (
	Armed     Tone = "armed"
	TempoLow  Tone = "tempo-low"
	TempoHigh Tone = "tempo-high"
	InTempo   Tone = "tempo-right"
	Trouble   Tone = "trouble"
	Stopped   Tone = "stopped"
	Late      Tone = "late"
	Early     Tone = "early"
	Tight     Tone = "tight"
)

// Lesson is one tone and what it means, for the help.
type Lesson struct {
	Tone Tone
	What string
}

// Teach returns the tones in the order in which a take sounds them.
func Teach() []Lesson {
	return []Lesson{
		{Armed, i18n.L("Ready: two short, one long, all alike. Turn the crank whenever you like.")},
		{TempoLow, i18n.L("Faster: four ticks that hurry.")},
		{TempoHigh, i18n.L("Slower: four ticks that slow down.")},
		{InTempo, i18n.L("The tempo is right: one soft note. Keep this tempo.")},
		{Trouble, i18n.L("Trouble: low and rough, to and fro. Look at the window.")},
		{Stopped, i18n.L("The take has ended: one long, two short, all alike. Stop the crank and wait until everything is at rest.")},
		{Late, i18n.L("The voice is late: a tone that sinks.")},
		{Early, i18n.L("The voice is early: a tone that climbs.")},
		{Tight, i18n.L("Tight: two notes that strike together, twice.")},
	}
}

// note is a part of a tone: a pitch that glides from one to another.
type note struct {
	atS, forS float64
	from, to  float64 // half steps from A = 440 Hz
	peak      float64
	rough     float64 // beats of loudness a second
}

// loudest is the peak that no tone exceeds: −12 dBFS.
const loudest = 0.251

// even is a note that keeps its pitch.
func even(atS, forS, pitch float64) note {
	return note{atS: atS, forS: forS, from: pitch, to: pitch, peak: 0.8 * loudest}
}

var scores = map[Tone][]note{
	Armed:     {even(0, 0.12, 0), even(0.18, 0.12, 0), even(0.36, 0.5, 0)},
	Stopped:   {even(0, 0.5, -5), even(0.56, 0.12, -5), even(0.74, 0.12, -5)},
	TempoLow:  {even(0, 0.1, 3), even(0.32, 0.1, 3), even(0.54, 0.1, 3), even(0.68, 0.1, 3)},
	TempoHigh: {even(0, 0.1, -2), even(0.14, 0.1, -2), even(0.36, 0.1, -2), even(0.68, 0.1, -2)},
	InTempo:   {even(0, 0.6, 7)},
	Trouble: {
		{0, 0.15, -10, -10, 0.9 * loudest, 35}, {0.15, 0.15, -17, -17, 0.9 * loudest, 35},
		{0.3, 0.15, -10, -10, 0.9 * loudest, 35}, {0.45, 0.15, -17, -17, 0.9 * loudest, 35},
		{0.6, 0.15, -10, -10, 0.9 * loudest, 35}, {0.75, 0.15, -17, -17, 0.9 * loudest, 35},
	},
	Late:  {{0, 0.9, 7, -5, 0.8 * loudest, 0}},
	Early: {{0, 0.9, -5, 7, 0.8 * loudest, 0}},
	Tight: {
		{0, 0.3, 0, 0, 0.45 * loudest, 0}, {0, 0.3, 7, 7, 0.45 * loudest, 0},
		{0.36, 0.7, 0, 0, 0.45 * loudest, 0}, {0.36, 0.7, 7, 7, 0.45 * loudest, 0},
	},
}

// Hz returns the pitch that lies a number of half steps above A = 440 Hz (ISO
// 16:1975), in equal temperament.
func Hz(halfSteps float64) float64 { return 440 * math.Exp2(halfSteps/12) }

// Sound returns a tone's samples at a rate, mono; none for a tone that is not
// known or a rate that is not above zero.
func (t Tone) Sound(rateHz float64) []float32 {
	score := scores[t]
	if !(rateHz > 0) || len(score) == 0 {
		return nil
	}
	var lasts float64
	for _, n := range score {
		lasts = math.Max(lasts, n.atS+n.forS)
	}
	x := make([]float32, int(math.Ceil(lasts*rateHz))+1)
	for _, n := range score {
		n.add(x, rateHz)
	}
	return x
}

const (
	attackS  = 0.012 // soft, so that no note begins with a knock a microphone could take for a hit
	overtone = 0.2   // share of the octave above, which carries through a shop
)

// add lays a note into samples.
func (n note) add(x []float32, rateHz float64) {
	first, frames := int(math.Round(n.atS*rateHz)), int(n.forS*rateHz)
	phase := 0.0
	for i := range frames {
		t := float64(i) / rateHz
		part := t / n.forS
		hz := Hz(n.from + (n.to-n.from)*part)
		v := partial(phase, hz, rateHz)*(1-overtone) + partial(2*phase, 2*hz, rateHz)*overtone
		if n.rough > 0 {
			v *= 0.5 - 0.5*math.Cos(2*math.Pi*n.rough*t)
		}
		x[first+i] += float32(n.peak * swell(t, n.forS) * v)
		phase += 2 * math.Pi * hz / rateHz
	}
}

// partial returns a sine at a phase, or nothing where the rate cannot carry it.
func partial(phase, hz, rateHz float64) float64 {
	if hz > 0.45*rateHz {
		return 0
	}
	return math.Sin(phase)
}

// swell is a note's loudness: a soft rise, then a fall to nothing.
func swell(t, lastsS float64) float64 {
	rise := math.Min(t/attackS, 1)
	left := math.Min((lastsS-t)/(0.5*lastsS), 1)
	return (0.5 - 0.5*math.Cos(math.Pi*rise)) * (0.5 - 0.5*math.Cos(math.Pi*math.Max(left, 0)))
}

// Chime sounds tones into an output. Ring may be called from any goroutine, Fill
// from the audio callback alone.
type Chime struct {
	sounds map[Tone]*[]float32
	next   atomic.Pointer[[]float32]
	now    []float32
}

// NewChime returns a chime whose tones are made for a rate.
func NewChime(rateHz float64) *Chime {
	c := &Chime{sounds: map[Tone]*[]float32{}}
	for t := range scores {
		x := t.Sound(rateHz)
		c.sounds[t] = &x
	}
	return c
}

// Ring sounds a tone from the next Fill on, in place of one that still sounds. A
// tone that is not known is silent.
func (c *Chime) Ring(t Tone) {
	if x := c.sounds[t]; x != nil {
		c.next.Store(x)
	}
}

// Fill fills dst with what sounds, mono, and reports whether anything does.
func (c *Chime) Fill(dst []float32) bool {
	if x := c.next.Swap(nil); x != nil {
		c.now = *x
	}
	n := copy(dst, c.now)
	clear(dst[n:])
	c.now = c.now[n:]
	return n > 0
}
