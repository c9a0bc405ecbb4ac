package main

import (
	"context"
	"fmt"
	"math"

	"lagwright/calib"
)

// The table of widths: how much takes scatter from one to the next beyond what each
// states, in ms, and how many there are.
var (
	scatters     = []float64{0, 0.5, 2, 5}
	scatterTakes = []int{3, 5, 8, 20}
)

// covered is how many lags of settings lay within their 95 % interval, and how wide
// these were.
type covered struct {
	inside, all int
	half        float64 // summed
	found       int     // mistakes that nobody made
}

// cover plays a session without mistakes and holds what the plan expects of all songs
// against the machine's own law.
func (s *studySession) cover(takes int) (c covered) {
	m, tempos := s.voices[0], studyTempos()
	m.rng.Shuffle(len(tempos), func(i, j int) { tempos[i], tempos[j] = tempos[j], tempos[i] })
	for i := range takes {
		bpm, by := tempos[i%len(tempos)], 0
		if i > 0 {
			_, p := s.ask(bpm)
			by = p.Songs[0].Steps - s.at.Setting
		}
		s.play(bpm, by, by, by)
	}
	machine, p := s.ask(tempos...)
	c.found = len(machine.Findings())
	for _, song := range p.Songs {
		period, rest := calib.PeriodMS(song.Song.TempoBPM), song.Parts[0]
		c.all++
		c.half += half95 * rest.SDMS
		if off := math.Remainder(m.lag(period, song.Steps)-rest.LagMS, period); math.Abs(off) <= half95*rest.SDMS {
			c.inside++
		}
	}
	return c
}

// half95 is half a 95 % interval in standard deviations.
const half95 = 1.96

// tableOfWidths says how many of the 95 % intervals hold the truth.
func tableOfWidths(ctx context.Context, h *host, f studyFlags) error {
	fmt.Fprintf(h.stdout, "%-10s %6s %9s %9s %9s\n", "scatter ms", "takes", "inside", "half ms", "findings")
	for _, scatter := range scatters {
		for _, takes := range scatterTakes {
			c, err := f.cover(ctx, scatter, takes)
			if err != nil {
				return err
			}
			fmt.Fprintf(h.stdout, "%-10g %6d %8.1f%% %9.2f %9d\n", scatter, takes, 100*c.share(), c.half/float64(c.all), c.found)
		}
	}
	return nil
}

// cover plays so many takes on each machine.
func (f studyFlags) cover(ctx context.Context, scatterMS float64, takes int) (sum covered, err error) {
	all := make([]covered, f.machines)
	err = each(ctx, len(all), func(i int) {
		s := newErring(f, uint64(i), 1)
		s.voices[0].scatterMS = scatterMS
		all[i] = s.cover(takes)
	})
	for _, c := range all {
		sum = covered{sum.inside + c.inside, sum.all + c.all, sum.half + c.half, sum.found + c.found}
	}
	return sum, err
}

// share is how many of the lags lay inside.
func (c covered) share() float64 { return float64(c.inside) / float64(c.all) }
