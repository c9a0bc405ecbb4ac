package main

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/target"
)

// What measuring aims at, as far as a take that misses it is worth a look.
const (
	lagWithinMS    = 1.0 // for 95 % of the takes
	tempoWithinPct = 0.1
)

// Of intervals that are to cover 95 % of the truths, %.
const coverageLow, coverageHigh = 93.0, 98.0

// onsetWindowS is how near a heard hit must lie to the true one.
const onsetWindowS = 0.005

// faults are the warnings that send somebody to the cables or the recorder;
// doubts are those that say not to rely on the lag.
var (
	cables = []string{calib.WarnDeadChannel, calib.WarnDropOut, calib.WarnCrackle, calib.WarnHumBurst}
	faults = append([]string{calib.WarnSwapped, calib.WarnLostBuffer}, cables...)
	doubts = append([]string{calib.WarnDoubtful, calib.WarnRival, signal.WarnVague, signal.WarnTrend, signal.WarnFewHits}, cables...)
)

// practiceTakes are those of the simulated machine at one tempo.
func practiceTakes() family {
	finite := func(xs []float64) []float64 {
		return slices.DeleteFunc(xs, func(x float64) bool { return math.IsInf(x, 0) })
	}
	kind := family{name: "trap", sums: []sum{
		takesOf("takes"),
		{"lag med", 3, target.AtMost("lag_error_median", 0, "ms", 0.15), "lag", share(0.5)},
		{"95%", 3, target.AtMost("lag_error_95", 0, "ms", lagWithinMS), "lag", share(0.95)},
		{"worst", 2, target.Figure{}, "lag", func(xs []float64) float64 { return quantile(finite(xs), 1) }},
		{"undoubted", 2, target.AtMost("lag_error_worst_undoubted", 0, "ms", 3), "undoubted", share(1)},
		{"refused", 0, target.Figure{}, "lag", func(xs []float64) float64 { return float64(len(xs) - len(finite(xs))) }},
		{"F", 3, target.AtLeast("onset_f", 0, "share", 0.98), "F", mean},
		{"tempo %", 3, target.AtMost("tempo_error_95", 0, "%", tempoWithinPct), "tempo", share(0.95)},
		{"law", 0, target.Between("interval_covers_law", 0, "%", coverageLow, coverageHigh), "law", percent},
		{"own", 0, target.Plain("interval_covers_law_at_own_periods", 0, "%"), "own", percent},
		{"hits", 0, target.Plain("interval_covers_hits", 0, "%"), "hits", percent},
		{"warned", 0, target.AtLeast("warned", 0, "%", 100), "warned", percent},
		{"", 0, target.Plain("doubted", 0, "%"), "doubted", percent},
		{"extra", 0, target.Plain("alarmed_for_nothing", 0, "%"), "extra", percent},
		{"ms/take", 0, target.Figure{}, "ms", mean},
	}}
	for _, t := range practice.Traps() {
		kind.traps = append(kind.traps, trap{name: t.Name, play: func(ctx context.Context, seed uint64) played { return playTrap(ctx, t, seed) }})
	}
	return kind
}

// playTrap plays and measures one take. The measurement is told no more than how often
// the reference strikes in a beat, which no recording shows. Where it warns rightly that
// the channels are swapped, it is told that and measures again.
func playTrap(ctx context.Context, t practice.Trap, seed uint64) played {
	m, p := t.Make(seed)
	rec, truth := m.Play(p)
	start := time.Now()
	r, err := signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat})
	took, said := time.Since(start), r.Warnings
	if slices.Contains(t.Expect, calib.WarnSwapped) && r.Has(calib.WarnSwapped) {
		r, err = signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat, Reference: 2, Voice: 1})
	}
	if err != nil {
		return played{err: err}
	}
	take := judge(r, said, t.Expect, truth, func(periodMS float64) float64 { return m.LagMS(p.Voice, periodMS, p.Setting) })
	take.scores["ms"] = []float64{took.Seconds() * 1000}
	return take
}

// judge scores a reading against what the recording caught, its interval against the law's
// lag in ms at a period in ms, which is what the reading is for, and what was warned of
// against what had to be. Of a take with a dead channel there is nothing to measure.
func judge(r calib.Reading, said []calib.Warning, expect []string, truth practice.Truth, law func(periodMS float64) float64) played {
	warned := calib.Reading{Warnings: said}
	missing := slices.DeleteFunc(slices.Clone(expect), func(c string) bool { return warned.Has(c) })
	extra := slices.ContainsFunc(said, func(w calib.Warning) bool {
		return slices.Contains(faults, w.Code) && !slices.Contains(expect, w.Code)
	})
	doubted := warned.Has(doubts...)
	s := scores{"extra": {oneIf(extra)}}
	if len(expect) > 0 {
		s["warned"] = []float64{oneIf(len(missing) == 0)}
	}
	bad := len(missing) > 0 || extra
	f, tempo, lag, heard := math.NaN(), math.NaN(), math.NaN(), truth.Heard()
	if len(heard.LagsMS) > 0 {
		deaf := func(at float64) bool { return truth.Unheard(2, at) }
		f, _ = calib.FMeasure(heard.VoiceHitsS, slices.DeleteFunc(slices.Clone(r.VoiceHitsS), deaf), onsetWindowS)
		tempo, lag = 100*math.Abs(r.TempoBPM/truth.TempoBPM-1), math.Inf(1)
		if r.Used() >= calib.MinPairs {
			beats := wholeBeatsMS(r, heard.MeanLagMS)
			doubted = doubted || beats != 0 // it said that it may be a beat off, and it is
			lag = math.Abs(r.LagMS + beats - heard.MeanLagMS)
			s["law"] = []float64{covers(r, law(calib.PeriodMS(truth.TempoBPM))-beats)}
			s["own"] = []float64{covers(r, law(mean(heard.PeriodsMS))-beats)}
			s["hits"] = []float64{covers(r, heard.MeanLagMS-beats)}
		}
		s["lag"], s["F"], s["tempo"] = []float64{lag}, []float64{f}, []float64{tempo}
		if !doubted {
			s["undoubted"] = s["lag"]
		}
		bad = bad || lag > lagWithinMS || f < 0.95 || tempo > tempoWithinPct
	}
	s["doubted"] = []float64{oneIf(doubted)}
	note := fmt.Sprintf("lag off by %.3f ms, F %.3f, tempo off by %.3f %%, %d pairs, warnings %v, not warned of %v", lag, f, tempo, r.Used(), codes(said), missing)
	return played{scores: s, bad: bad || doubted && len(expect) == 0, note: note}
}

// codes are those of warnings.
func codes(warnings []calib.Warning) (codes []string) {
	for _, w := range warnings {
		codes = append(codes, w.Code)
	}
	return codes
}

// wholeBeatsMS returns what must be added to a lag for whole reference periods,
// which are only forgiven where the reading warns of them.
func wholeBeatsMS(r calib.Reading, lagMS float64) float64 {
	if !r.Has(calib.WarnWholeBeat) || r.ReferencePeriodMS == 0 {
		return 0
	}
	return r.ReferencePeriodMS * math.Round((lagMS-r.LagMS)/r.ReferencePeriodMS)
}

// covers returns 1 where the reading's interval holds a lag in ms, 0 elsewhere.
func covers(r calib.Reading, lagMS float64) float64 {
	return oneIf(r.LagCI95MS[0] <= lagMS && lagMS <= r.LagCI95MS[1])
}

// What measuring a sweep aims at: of the lag at some tempos all over what was played.
const (
	sweepWithinMS = 1.5 // for 95 % of the tempos
	sweepTempos   = 5
	sweepsFor     = 2 // takes of other traps for each sweep: a sweep is longer
)

// practiceSweeps are takes of the simulated machine through all tempos.
func practiceSweeps() family {
	kind := family{name: "sweep", times: sweepsFor, sums: []sum{
		takesOf("sweeps"),
		{"told", 0, target.AtLeast("sweep_law_told", 0, "%", 95), "told", percent},
		{"lag med", 3, target.AtMost("sweep_lag_error_median", 0, "ms", 0.3), "lag", share(0.5)},
		{"95%", 3, target.AtMost("sweep_lag_error_95", 0, "ms", sweepWithinMS), "lag", share(0.95)},
		{"worst", 2, target.Figure{}, "lag", share(1)},
		{"undoubted", 2, target.AtMost("sweep_lag_error_worst_undoubted", 0, "ms", 3), "undoubted", share(1)},
		{"covered", 0, target.Between("sweep_interval_covers_law", 0, "%", coverageLow, coverageHigh), "covered", percent},
		{"D rms", 2, target.Figure{}, "delay", rootMeanSquare},
		{"c rms", 4, target.Figure{}, "offset", rootMeanSquare},
		{"", 0, target.Plain("sweep_alarmed_for_nothing", 0, "%"), "alarmed", percent},
	}}
	for _, t := range practice.Sweeps() {
		kind.traps = append(kind.traps, trap{name: t.Name, play: func(ctx context.Context, seed uint64) played {
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
	for k := range sweepTempos {
		period := calib.PeriodMS(law.FromBPM + (law.ToBPM-law.FromBPM)*float64(k)/(sweepTempos-1))
		want, _ := law.Lag(period)
		lag, sd := r.Law.Lag(period)
		off := math.Abs(lag - want)
		if r.Law.WholeBeatsOpen {
			off = math.Abs(math.Remainder(off, period))
		}
		if told {
			s["covered"] = append(s["covered"], oneIf(off <= r.Law.Coverage()*sd))
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
