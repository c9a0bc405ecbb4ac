package main

import (
	"context"
	"fmt"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/target"
)

// What measuring a sweep aims at: of the lag at some tempos all over what was played.
const (
	sweepWithinMS = 1.5 // for 95 % of the tempos
	sweepTempos   = 5
	sweepsFor     = 2 // takes of other traps for each sweep: a sweep is longer
)

// practiceSweeps are takes of the simulated machine through all tempos.
func practiceSweeps() family {
	kind := family{name: "sweep", takes: func(n int) int { return (n + sweepsFor - 1) / sweepsFor }, sums: []sum{
		takesOf("sweeps"),
		{"told", 0, target.AtLeast("sweep_law_told", 0, "%", 95), "told", percent},
		{"lag med", 3, target.AtMost("sweep_lag_error_median", 0, "ms", 0.3), "lag", share(0.5)},
		{"95%", 3, target.AtMost("sweep_lag_error_95", 0, "ms", sweepWithinMS), "lag", share(0.95)},
		{"worst", 2, target.Figure{}, "lag", share(1)},
		{"undoubted", 2, target.AtMost("sweep_lag_error_worst_undoubted", 0, "ms", 3), "undoubted", share(1)},
		{"covered", 0, target.Between("sweep_interval_covers_law", 0, "%", coverageLow, coverageHigh), "covered", percent},
		{"shown", 0, target.Plain("sweep_interval_covers_law_by_what_is_shown", 0, "%"), "shown", percent},
		{"D rms", 2, target.Figure{}, "delay", rootMeanSquare},
		{"c rms", 4, target.Figure{}, "offset", rootMeanSquare},
		{"", 0, target.Plain("sweep_alarmed_for_nothing", 0, "%"), "alarmed", percent},
	}}
	for _, t := range practice.Sweeps() {
		kind.traps = append(kind.traps, trap{t.Name, t.About, t.Expect, func(ctx context.Context, seed uint64) played {
			m, p := t.Make(seed)
			rec, _ := m.Play(p)
			r, err := signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat})
			if err != nil {
				return played{err: err}
			}
			return judgeSweep(r, playedLaw(m, p))
		}})
	}
	return kind
}

// playedLaw is the law that a take was played by, at its setting and over its tempos.
func playedLaw(m practice.Machine, p practice.Play) calib.TakeLaw {
	delay := m.LagMS(p.Voice, 0, p.Setting)
	return calib.TakeLaw{
		DelayMS: delay, OffsetBeats: m.LagMS(p.Voice, 1, p.Setting) - delay,
		FromBPM: min(p.TempoBPM, p.Sweep.ToBPM), ToBPM: max(p.TempoBPM, p.Sweep.ToBPM),
	}
}

// judgeSweep scores the law that a reading tells against the one that was played, at some
// tempos. Whole beats are only forgiven where it says that they are open.
func judgeSweep(r calib.Reading, law calib.TakeLaw) played {
	told := r.Law.Determined()
	alarmed := slices.ContainsFunc(r.Warnings, func(w calib.Warning) bool { return slices.Contains(faults, w.Code) })
	s := scores{"told": {oneIf(told)}, "alarmed": {oneIf(alarmed)}}
	shown := r.Law // by the take: a simulated strike begins where it is picked, and recorders' channels are not skewed
	shown.Cov[0][0] -= r.Budget.BeginsMS*r.Budget.BeginsMS + r.Budget.SkewMS*r.Budget.SkewMS
	for k := range sweepTempos {
		period := calib.PeriodMS(law.FromBPM + (law.ToBPM-law.FromBPM)*float64(k)/(sweepTempos-1))
		want, _ := law.Lag(period)
		lag, sd := r.Law.Lag(period)
		off := math.Abs(lag - want)
		if r.Law.WholeBeatsOpen {
			off = math.Abs(math.Remainder(off, period))
		}
		if told {
			_, least := shown.Lag(period)
			s["covered"], s["shown"] = append(s["covered"], oneIf(off <= r.Law.Coverage()*sd)), append(s["shown"], oneIf(off <= r.Law.Coverage()*least))
		} else {
			off = math.Inf(1)
		}
		s["lag"] = append(s["lag"], off)
	}
	worst := slices.Max(s["lag"])
	if told {
		offset := r.Law.OffsetBeats - law.OffsetBeats
		s["delay"], s["offset"] = []float64{r.Law.DelayMS - law.DelayMS}, []float64{offset - math.Round(offset)} // whole beats are judged by the lags
		if !r.Has(doubts...) {
			s["undoubted"] = []float64{worst}
		}
	}
	note := fmt.Sprintf("lag off by up to %.2f ms, delay %.2f of %.2f ms, offset %.4f of %.4f beats, %.0f to %.0f BPM, warnings %v", worst,
		r.Law.DelayMS, law.DelayMS, r.Law.OffsetBeats, law.OffsetBeats, r.Law.FromBPM, r.Law.ToBPM, codes(r.Warnings))
	return played{scores: s, bad: worst > sweepWithinMS || alarmed, note: note}
}
