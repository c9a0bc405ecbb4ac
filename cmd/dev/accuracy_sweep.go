package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/target"
)

// What measuring a sweep aims at: of the lag at five tempos all over what was played.
const (
	sweepMedianMS = 0.3
	sweepWithinMS = 1.5 // for 95 % of the tempos
	sweepWorstMS  = 3.0 // without a warning
	sweepToldPct  = 95.0
	sweepTempos   = 5
	coverageLow   = 93.0 // %
	coverageHigh  = 98.0
	sweepsFor     = 2 // takes of other traps for each sweep: a sweep is longer
)

// sweepScore is what became of one sweep.
type sweepScore struct {
	trap    string
	seed    uint64
	told    bool
	doubted bool
	errors  []float64 // ms, at each tempo; infinite where no law was told
	covered []float64 // 1 where the interval there holds the law
	law     calib.TakeLaw
	played  calib.TakeLaw
	codes   []string
	alarmed bool // by a fault that the take has not got
	err     error
}

// measureSweeps scores the sweeps of every trap, in the order of traps and seeds.
func measureSweeps(ctx context.Context, traps []practice.Trap, f accuracyFlags) ([]sweepScore, error) {
	n := (f.takes + sweepsFor - 1) / sweepsFor
	scores := make([]sweepScore, len(traps)*n)
	err := each(ctx, len(scores), func(i int) { scores[i] = measureSweep(ctx, traps[i/n], f.first+uint64(i%n)) })
	for _, s := range scores {
		if err == nil && s.err != nil {
			err = fmt.Errorf("measuring %s with seed %d: %w", s.trap, s.seed, s.err)
		}
	}
	return scores, err
}

// measureSweep plays and measures one sweep.
func measureSweep(ctx context.Context, trap practice.Trap, seed uint64) sweepScore {
	m, p := trap.Make(seed)
	rec, _ := m.Play(p)
	r, err := signal.Measure(ctx, rec, signal.Options{PerBeat: p.PerBeat})
	s := sweepScore{trap: trap.Name, seed: seed, err: err}
	if err == nil {
		s.compare(r, playedLaw(m, p))
	}
	return s
}

// playedLaw is the law that a take was played by, at its setting and over its tempos.
func playedLaw(m practice.Machine, p practice.Play) calib.TakeLaw {
	delay := m.LagMS(p.Voice, 0, p.Setting)
	return calib.TakeLaw{
		DelayMS: delay, OffsetBeats: m.LagMS(p.Voice, 1, p.Setting) - delay,
		FromBPM: min(p.TempoBPM, p.Sweep.ToBPM), ToBPM: max(p.TempoBPM, p.Sweep.ToBPM),
	}
}

// compare scores what a reading tells against the law that was played. Whole beats are
// only forgiven where it says that they are open.
func (s *sweepScore) compare(r calib.Reading, played calib.TakeLaw) {
	s.law, s.played = r.Law, played
	s.told, s.doubted = s.law.Told(), r.Has(doubts...)
	for _, w := range r.Warnings {
		s.codes = append(s.codes, w.Code)
		s.alarmed = s.alarmed || slices.Contains(faults, w.Code)
	}
	s.judge()
}

// judge compares the law told with the one played at some tempos.
func (s *sweepScore) judge() {
	for k := range sweepTempos {
		period := calib.PeriodMS(s.played.FromBPM + (s.played.ToBPM-s.played.FromBPM)*float64(k)/(sweepTempos-1))
		want, _ := s.played.Lag(period)
		lag, sd := s.law.Lag(period)
		off := math.Abs(lag - want)
		if s.law.WholeBeatsOpen {
			off = math.Abs(math.Remainder(off, period))
		}
		if !s.told {
			off = math.Inf(1)
		}
		s.errors, s.covered = append(s.errors, off), append(s.covered, oneIf(off <= s.law.Coverage()*sd))
	}
}

// worst returns the worst error of a take.
func (s sweepScore) worst() float64 { return slices.Max(s.errors) }

// writeSweeps prints a line for each trap.
func writeSweeps(w io.Writer, traps []practice.Trap, scores []sweepScore) {
	fmt.Fprintf(w, "%-18s %5s %5s  %8s %8s %8s %9s  %7s  %7s %8s\n", "sweep", "takes", "told", "lag med", "95%", "worst", "undoubted", "covered", "D rms", "c rms")
	for _, t := range traps {
		writeSweepRow(w, t.Name, slices.DeleteFunc(slices.Clone(scores), func(s sweepScore) bool { return s.trap != t.Name }))
	}
	writeSweepRow(w, "all", scores)
}

func writeSweepRow(w io.Writer, name string, scores []sweepScore) {
	sum := sumSweeps(scores)
	fmt.Fprintf(w, "%-18s %5d %5.0f  %8.3f %8.3f %8.2f %9.2f  %7.0f  %7.2f %8.4f\n", name, len(scores), 100*sum.told, quantile(sum.errors, 0.5), quantile(sum.errors, 0.95),
		quantile(sum.errors, 1), quantile(sum.undoubted, 1), percent(sum.covered), sum.delay, sum.offset)
}

// sweepSum is what a group of sweeps comes to.
type sweepSum struct {
	told              float64   // share
	errors, undoubted []float64 // ms, smallest first
	covered           []float64
	alarmed           float64 // share
	delay, offset     float64 // root of the mean square of the errors of D and c of those told
}

func sumSweeps(scores []sweepScore) (sum sweepSum) {
	told := 0.0
	for _, s := range scores {
		sum.errors = append(sum.errors, s.errors...)
		sum.alarmed += oneIf(s.alarmed) / float64(len(scores))
		if !s.told {
			continue
		}
		told++
		sum.covered = append(sum.covered, s.covered...)
		if !s.doubted {
			sum.undoubted = append(sum.undoubted, s.worst())
		}
		off := s.law.OffsetBeats - s.played.OffsetBeats
		off -= math.Round(off) // whole beats are judged by the lags
		sum.delay += (s.law.DelayMS - s.played.DelayMS) * (s.law.DelayMS - s.played.DelayMS)
		sum.offset += off * off
	}
	sum.delay, sum.offset = math.Sqrt(sum.delay/told), math.Sqrt(sum.offset/told)
	sum.told = told / float64(len(scores))
	slices.Sort(sum.errors)
	slices.Sort(sum.undoubted)
	return sum
}

// writeBadSweeps prints a line for each sweep that went badly, with what it takes to
// play it again.
func writeBadSweeps(w io.Writer, scores []sweepScore) {
	for _, s := range scores {
		if s.worst() > sweepWithinMS || s.alarmed {
			fmt.Fprintf(w, "-trap %s -seed %d -n 1: lag off by up to %.2f ms, delay %.2f of %.2f ms, offset %.4f of %.4f beats, %.0f to %.0f BPM, warnings [%s]\n", s.trap, s.seed, s.worst(),
				s.law.DelayMS, s.played.DelayMS, s.law.OffsetBeats, s.played.OffsetBeats, s.law.FromBPM, s.law.ToBPM, strings.Join(s.codes, " "))
		}
	}
}

// sweepFigures sums the sweeps up.
func sweepFigures(name string, scores []sweepScore) []target.Figure {
	if len(scores) == 0 {
		return nil
	}
	sum := sumSweeps(scores)
	return []target.Figure{
		target.Plain(name+"s", float64(len(scores)), "takes"),
		target.AtLeast(name+"_law_told", 100*sum.told, "%", sweepToldPct),
		target.AtMost(name+"_lag_error_median", quantile(sum.errors, 0.5), "ms", sweepMedianMS),
		target.AtMost(name+"_lag_error_95", quantile(sum.errors, 0.95), "ms", sweepWithinMS),
		target.AtMost(name+"_lag_error_worst_undoubted", quantile(sum.undoubted, 1), "ms", sweepWorstMS),
		target.Between(name+"_interval_covers_law", percent(sum.covered), "%", coverageLow, coverageHigh),
		target.Plain(name+"_alarmed_for_nothing", 100*sum.alarmed, "%"),
	}
}
