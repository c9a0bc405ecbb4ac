package signal

import "math"

// levels counts energies by their level in steps of half a decibel, from
// -200 dB to +20 dB of full scale.
type levels struct {
	count [440]int64
	total int64
}

func (l *levels) add(energy float64) {
	bin := int(2 * (200 + decibels(energy)))
	l.count[min(max(bin, 0), len(l.count)-1)]++
	l.total++
}

// less takes other levels out, so many times.
func (l *levels) less(other levels, times int64) {
	for bin, n := range other.count {
		l.count[bin] -= times * n
	}
	l.total -= times * other.total
}

// quantile returns the level in dB below which a share of the energies lie.
func (l *levels) quantile(share float64) float64 {
	var sum int64
	for bin, n := range l.count {
		if sum += n; float64(sum) >= share*float64(l.total) {
			return float64(bin)/2 + 0.25 - 200
		}
	}
	return -200
}

// decibels returns the level of an energy.
func decibels(energy float64) float64 { return 10 * math.Log10(max(energy, silence)) }

// clipping looks for a recording that was too hot: its loudest samples lie side
// by side at one value. The value need not be full scale: what was clipped may
// have been turned down since.
type clipping struct {
	top  float32 // largest magnitude so far
	run  int     // samples in a row at top
	runs int     // runs of at least clipRun samples
}

const (
	clipRun  = 3    // samples in a row at the very top that a sound seldom has
	clipRuns = 3    // such runs in a take that tell
	clipNear = 1e-4 // samples this close to the top, as a share of it, lie on it
)

// feed takes the next samples.
func (c *clipping) feed(block []float32) {
	under := c.top * (1 - clipNear)
	for _, s := range block {
		if s < under && -s < under {
			c.run = 0
			continue
		}
		size := max(s, -s)
		if size > c.top*(1+clipNear) {
			c.run, c.runs = 0, 0
		}
		c.top = max(c.top, size)
		under = c.top * (1 - clipNear)
		if c.run++; c.run == clipRun {
			c.runs++
		}
	}
}

func (c *clipping) clipped() bool { return c.top > 0 && c.runs >= clipRuns }
