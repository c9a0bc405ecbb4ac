package signal

import "math"

// quantile returns the level below which a share of levels in dB lie, to half a decibel.
func quantile(dB []float32, share float64) float64 {
	const lowest = -200
	var count [440]int
	for _, l := range dB {
		count[min(max(int(2*(l-lowest)), 0), len(count)-1)]++
	}
	sum := 0
	for bin, n := range count {
		if sum += n; float64(sum) >= share*float64(len(dB)) {
			return float64(bin)/2 + 0.25 + lowest
		}
	}
	return lowest
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

// feed takes the next samples, the largest of which has a magnitude.
func (c *clipping) feed(block []float32, most float32) {
	under := c.top * (1 - clipNear)
	if most < under {
		c.run = 0
		return
	}
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
