package playback

import (
	"math"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Click is a guide click at a tempo. It is quiet at the start and fades up over
// the first beats. It belongs to the audio callback.
type Click struct {
	sound   []float32
	periodF float64 // frames from click to click
	level   float64
	beat    int64   // that sounds, or sounds next
	first   int64   // frame at which that beat begins
	next    int64   // and the one after
	frame   int64   // of the next sample
	gain    float64 // of the beat that sounds
}

const (
	clickHz    = 1760.0 // an octave of A = 440 Hz, far above what strikes a drum
	clickS     = 0.012
	fadeBeats  = 4.0
	fadeFromDB = -24.0 // below the level, at the first beat
	// ClickLevel is the usual peak: −20 dBFS.
	ClickLevel = 0.1
)

// NewClick returns a click at a tempo in BPM for an output's rate, at a peak from
// 0 to 1; the first click is at the first sample.
func NewClick(tempoBPM, rateHz, level float64) *Click {
	c := &Click{level: math.Min(level, 1), periodF: math.Max(60/tempoBPM*rateHz, 1), sound: ClickSound(rateHz)}
	c.gain, c.next = c.gainOf(0), c.FrameOf(1)
	return c
}

// ClickSound returns the waveform of one click at a rate, with a peak near 1.
func ClickSound(rateHz float64) []float32 {
	x := make([]float32, int(clickS*rateHz))
	for i := range x {
		part := (float64(i) + 0.5) / float64(len(x))
		window := 0.5 - 0.5*math.Cos(2*math.Pi*math.Pow(part, 0.7)) // rises faster than it falls
		x[i] = float32(window * partial(2*math.Pi*clickHz*float64(i)/rateHz, clickHz, rateHz))
	}
	return x
}

// gainOf returns the peak of a beat's click.
func (c *Click) gainOf(beat int64) float64 {
	below := fadeFromDB * math.Max(1-float64(beat)/fadeBeats, 0)
	return c.level * math.Pow(10, below/20)
}

// FrameOf returns the frame, from the first sample on, at which the click of a beat
// begins; the first beat is 0. It never strays from the tempo by more than half a
// frame, however long it clicks.
func (c *Click) FrameOf(beat int64) int64 { return int64(math.Round(float64(beat) * c.periodF)) }

// Fill fills dst with the next samples, mono. It keeps its place from call to call
// and does not allocate.
func (c *Click) Fill(dst []float32) {
	clear(dst)
	for i := range dst {
		if c.frame >= c.next {
			c.beat, c.first = c.beat+1, c.next
			c.gain, c.next = c.gainOf(c.beat), c.FrameOf(c.beat+1)
		}
		if at := c.frame - c.first; at < int64(len(c.sound)) {
			dst[i] = float32(c.gain) * c.sound[at]
		}
		c.frame++
	}
}

// Grid is when a click sounded, in the time of a recording.
type Grid struct {
	FirstS  float64 // of any one click; a constant delay of the output does not matter
	PeriodS float64 // from click to click
}

// Bleed is how far hits follow the click rather than the crank.
type Bleed struct {
	Locked int // clicks that have a hit at the same delay
	Clicks int // from the first hit to the last
}

const (
	bleedWithinS = 0.002 // a click reaches a microphone always after the same time, give or take this
	bleedShare   = 0.6   // of the clicks; a player who follows the click scatters ten times as much (common practice, no published source)
	bleedLeast   = 5     // clicks that tell
)

// BleedOf looks for hits that come at a constant delay after the click.
func BleedOf(hitsS []float64, g Grid) Bleed {
	if len(hitsS) == 0 || !(g.PeriodS > 0) {
		return Bleed{}
	}
	first, last := hitsS[0], hitsS[0]
	var best Bleed
	for _, h := range hitsS {
		first, last = math.Min(first, h), math.Max(last, h)
		delay := math.Mod(math.Mod(h-g.FirstS, g.PeriodS)+g.PeriodS, g.PeriodS)
		best.Locked = max(best.Locked, locked(hitsS, g, delay))
	}
	best.Clicks = int(math.Round((last-first)/g.PeriodS)) + 1
	return best
}

// locked counts the clicks that have a hit at a delay.
func locked(hitsS []float64, g Grid, delay float64) int {
	n, before := 0, math.Inf(-1)
	for _, h := range hitsS {
		beat := math.Round((h - g.FirstS - delay) / g.PeriodS)
		if math.Abs(h-g.FirstS-delay-beat*g.PeriodS) <= bleedWithinS && beat != before {
			n, before = n+1, beat
		}
	}
	return n
}

// Heard reports whether the click is in the recording.
func (b Bleed) Heard() bool {
	return b.Locked >= bleedLeast && float64(b.Locked) >= bleedShare*float64(b.Clicks)
}

// WarnClick is the code of the warning that the guide click is in a recording.
const WarnClick = "guide-click"

// Warning returns what to say of a click that is heard on a channel.
func (b Bleed) Warning(channel int) calib.Warning {
	return calib.Warn(WarnClick, i18n.Say(
		"channel %d hears the guide click: use headphones, or turn it down, then record again", channel))
}
