package main

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
)

// score is what became of one take. A figure is NaN where there is none.
type score struct {
	trap        string
	seed        uint64
	lagErrorMS  float64 // against the mean lag of the take's hits; infinite where the take was refused
	f           float64 // of voice hits, at 5 ms
	tempoOffPct float64 // size of the tempo's error
	law         float64 // 1 where the interval covers the law's lag at the played mean period
	own         float64 // the same at the mean of the periods at which the hits fell
	hits        float64 // the same of the mean lag of the hits
	doubted     bool    // a warning says not to rely on the reading
	missing     []string
	codes       []string // of all warnings
	extra       []string // warnings of faults that the take has not got
	expected    bool     // the trap has warnings that must come
	used        int
	took        time.Duration // for measuring alone
	err         error
}

// onsetWindowS is how near a heard hit must lie to the true one.
const onsetWindowS = 0.005

// faults are the warnings that send somebody to the cables or the recorder;
// doubts are those that say not to rely on the lag.
var (
	cables = []string{calib.WarnDeadChannel, calib.WarnDropOut, calib.WarnCrackle, calib.WarnHumBurst}
	faults = append([]string{calib.WarnSwapped, calib.WarnLostBuffer}, cables...)
	doubts = append([]string{calib.WarnDoubtful, calib.WarnRival, signal.WarnVague, signal.WarnTrend, signal.WarnFewHits}, cables...)
)

// measureTrap plays and measures one take. The measurement is told no more than
// how often the reference strikes in a beat, which no recording shows. Where it warns
// rightly that the channels are swapped, it is told that and measures again.
func measureTrap(ctx context.Context, trap practice.Trap, seed uint64) score {
	m, p := trap.Make(seed)
	rec, truth := m.Play(p)
	start := time.Now()
	r, err := signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat})
	s := score{trap: trap.Name, seed: seed, took: time.Since(start), err: err}
	if err == nil {
		s.note(r, trap.Expect)
		if slices.Contains(trap.Expect, calib.WarnSwapped) && r.Has(calib.WarnSwapped) {
			r, s.err = signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat, Reference: 2, Voice: 1})
		}
		s.compare(r, truth, func(periodMS float64) float64 { return m.LagMS(p.Voice, periodMS, p.Setting) })
	}
	return s
}

// note takes down the warnings.
func (s *score) note(r calib.Reading, expect []string) {
	s.used, s.expected = r.Used(), len(expect) > 0
	for _, w := range r.Warnings {
		s.codes = append(s.codes, w.Code)
	}
	s.doubted = r.Has(doubts...)
	s.missing = slices.DeleteFunc(slices.Clone(expect), func(c string) bool { return r.Has(c) })
	s.extra = slices.DeleteFunc(slices.Clone(s.codes), func(c string) bool {
		return !slices.Contains(faults, c) || slices.Contains(expect, c)
	})
}

// compare scores a reading against what the recording caught, and its interval
// against the law's lag in ms at a period in ms: what the reading is for. Of a
// take with a dead channel there is nothing to measure.
func (s *score) compare(r calib.Reading, truth practice.Truth, law func(periodMS float64) float64) {
	nan := math.NaN()
	s.lagErrorMS, s.f, s.tempoOffPct, s.law, s.own, s.hits = nan, nan, nan, nan, nan, nan
	heard := truth.Heard()
	if len(heard.LagsMS) == 0 {
		return
	}
	deaf := func(at float64) bool { return truth.Deaf(2, at) }
	s.f, _ = calib.FMeasure(heard.VoiceHitsS, slices.DeleteFunc(slices.Clone(r.VoiceHitsS), deaf), onsetWindowS)
	s.tempoOffPct = 100 * math.Abs(r.TempoBPM/truth.TempoBPM-1)
	if r.Used() < calib.MinPairs {
		s.lagErrorMS = math.Inf(1)
		return
	}
	beats := wholeBeatsMS(r, heard.MeanLagMS)
	s.doubted = s.doubted || beats != 0 // it said that it may be a beat off, and it is
	s.lagErrorMS = math.Abs(r.LagMS + beats - heard.MeanLagMS)
	s.law = covers(r, law(calib.PeriodMS(truth.TempoBPM))-beats)
	s.own = covers(r, law(mean(heard.PeriodsMS))-beats)
	s.hits = covers(r, heard.MeanLagMS-beats)
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

func oneIf(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

func (s score) lag() float64     { return s.lagErrorMS }
func (s score) alarmed() float64 { return oneIf(len(s.extra) > 0) }

// undoubted returns the error of a lag that no warning tells to distrust.
func (s score) undoubted() float64 {
	if s.doubted {
		return math.NaN()
	}
	return s.lagErrorMS
}

// warned returns 1 where all that had to be warned of was, NaN where nothing had.
func (s score) warned() float64 {
	if !s.expected {
		return math.NaN()
	}
	return oneIf(len(s.missing) == 0)
}

// bad reports whether a take is worth a look.
func (s score) bad() bool {
	return s.lagErrorMS > lagWithinMS || s.f < 0.95 || s.tempoOffPct > tempoWithinPct || len(s.missing)+len(s.extra) > 0 || s.doubted && !s.expected
}

// String says in a line what became of the take.
func (s score) String() string {
	line := fmt.Sprintf("lag off by %.3f ms, F %.3f, tempo off by %.3f %%, %d pairs, warnings [%s]",
		s.lagErrorMS, s.f, s.tempoOffPct, s.used, strings.Join(s.codes, " "))
	if len(s.missing) > 0 {
		line += fmt.Sprintf(", not warned of %s", strings.Join(s.missing, " "))
	}
	return line
}
