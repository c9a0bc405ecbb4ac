package main

import (
	"context"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/signal"
	"lagwright/internal/target"
)

// What measuring aims at on sounds that nobody made for it.
const (
	realNearMS  = 1.0
	realFarMS   = 2.0
	realNear    = 92.0 // % of readable takes within realNearMS
	realFar     = 98.0 // % within realFarMS, or doubted
	realSilent  = 1.0  // % further off than realFarMS, and not doubted
	realAlarms  = 1.0  // % of takes with a warning of a cable: no cable is loose
	realDoubted = 8.0  // % of readable takes
	realCovered = 90.0 // % of intervals, to coverageHigh
)

// realScore is what became of a take that was laid from recorded strikes.
type realScore struct {
	trap      realTrap
	seed      uint64
	who       string
	errorMS   float64 // signed; infinite where the take was refused
	covered   bool
	doubted   bool
	alarmed   bool // of a cable
	halfMS    float64
	lagMS     float64
	jitterMS  float64
	used, all int
	codes     []string
	err       error
}

// realNeeds is what laying takes from recordings needs.
var realNeeds = append(needsOf("sonic-pi-samples", "sox"),
	need{"freepats", file("usr/share/midi/freepats/Drum_000/*.pat"), "recorded drums and bars, to lay takes from", false},
	need{"timgm6mb-soundfont", file("usr/share/sounds/sf2/TimGM6mb.sf2"), "others, which nothing was tuned on", false})

// accuracyReal measures takes that are laid from recorded strikes.
func accuracyReal(ctx context.Context, h *host, f accuracyFlags) error {
	traps := realTraps()
	if f.trap != "" {
		traps = slices.DeleteFunc(traps, func(t realTrap) bool { return t.name != f.trap })
	}
	if len(traps) == 0 {
		return usageError(fmt.Sprintf("there is no real trap %q", f.trap))
	}
	if f.list {
		for _, t := range traps {
			h.say("%-15s %s", t.name, t.about)
		}
		return nil
	}
	if err := setUp(ctx, h, realNeeds); err != nil {
		return err
	}
	s, err := readSounds(ctx, h, f.held)
	if err != nil {
		return err
	}
	scores, err := measureReal(ctx, traps, s, f)
	if err != nil {
		return err
	}
	if f.verbose {
		for _, s := range scores {
			if s.bad() {
				h.say("%s", s)
			}
		}
	}
	writeReal(h.stdout, traps, scores)
	figures := append([]target.Figure{target.Plain("instruments", float64(len(s.instruments)), "instruments")}, realFigures(scores)...)
	return h.verdict(figures)
}

// readSounds reads what takes are laid from: the half to work on, or the one held back.
func readSounds(ctx context.Context, h *host, held bool) (*sounds, error) {
	from, half := recordings.work, 0
	if held {
		from, half = recordings.held, 1
	}
	var s sounds
	var err error
	if s.instruments, err = instruments(ctx, h, from); err != nil {
		return nil, err
	}
	for _, list := range []struct {
		to    *[][]float64
		names []string
	}{{&s.steady, steadyNoises}, {&s.bursts, unsteadyNoises}, {&s.musics, musics}} {
		for i, name := range list.names {
			if i%2 != half {
				continue
			}
			x, err := decoded(ctx, h, nil, "/usr/share/sonic-pi/samples/"+name+".flac")
			if err != nil {
				return nil, err
			}
			if list.to == &s.steady {
				x = x[len(x)/5 : len(x)*4/5] // they fade at both ends, which no room does
			}
			*list.to = append(*list.to, x)
		}
	}
	return &s, nil
}

// measureReal scores the takes of every trap in order.
func measureReal(ctx context.Context, traps []realTrap, s *sounds, f accuracyFlags) ([]realScore, error) {
	scores := make([]realScore, len(traps)*f.takes)
	if err := each(ctx, len(scores), func(i int) { scores[i] = measureLaid(ctx, traps[i/f.takes], s, f.first+uint64(i%f.takes)) }); err != nil {
		return nil, err
	}
	for _, s := range scores {
		if s.err != nil {
			return nil, fmt.Errorf("measuring %s with seed %d: %w", s.trap.name, s.seed, s.err)
		}
	}
	return scores, nil
}

func measureLaid(ctx context.Context, trap realTrap, sounds *sounds, seed uint64) realScore {
	hash := fnv.New64a()
	hash.Write([]byte(trap.name))
	l := newLaying(rand.New(rand.NewPCG(seed, hash.Sum64())), sounds)
	trap.set(l)
	take, lagMS := l.lay()
	r, err := signal.Measure(ctx, take, signal.Options{})
	s := realScore{trap: trap, seed: seed, err: err, errorMS: math.Inf(1), used: r.Used(), all: l.hits, lagMS: lagMS,
		doubted: r.Has(doubts...) || r.Has(calib.WarnSwapped), alarmed: r.Has(cables...), halfMS: r.HalfWidthMS(), jitterMS: r.JitterMS,
		who: fmt.Sprintf("%s after %s, %.0f BPM every %d, jitter %.2f", l.voice.name, l.reference.name, 60/l.periodS, l.every, 1000*l.jitterS)}
	for _, w := range r.Warnings {
		said := w.Code
		if slices.Contains(cables, w.Code) {
			said = w.Text
		}
		s.codes = append(s.codes, said)
	}
	if r.Used() < calib.MinPairs {
		s.doubted = true
		return s
	}
	beats := wholeBeatsMS(r, lagMS)
	s.doubted = s.doubted || beats != 0
	s.errorMS = r.LagMS + beats - lagMS
	s.covered = covers(r, lagMS-beats) == 1
	return s
}

// bad reports whether a take is worth a look.
func (s realScore) bad() bool {
	if s.trap.noAnswer {
		return !s.doubted || s.alarmed
	}
	return math.Abs(s.errorMS) > realNearMS || s.doubted || s.alarmed || !s.covered
}

// String says in a line what became of the take.
func (s realScore) String() string {
	return fmt.Sprintf("-trap %s -seed %d -n 1: off by %+.2f ± %.2f ms for %.1f, jitter %.2f, %d pairs of %d, %v; %s",
		s.trap.name, s.seed, s.errorMS, s.halfMS, s.lagMS, s.jitterMS, s.used, s.all, s.codes, s.who)
}

// realFigures sums the takes up.
func realFigures(scores []realScore) []target.Figure {
	share := func(of func(realScore) bool, is func(realScore) bool) float64 {
		n, all := 0, 0
		for _, s := range scores {
			if of(s) {
				all++
				if is(s) {
					n++
				}
			}
		}
		return 100 * float64(n) / float64(all)
	}
	readable := func(s realScore) bool { return !s.trap.noAnswer }
	within := func(ms float64) func(realScore) bool {
		return func(s realScore) bool { return math.Abs(s.errorMS) <= ms }
	}
	var sizes []float64
	for _, s := range scores {
		if readable(s) {
			sizes = append(sizes, math.Abs(s.errorMS))
		}
	}
	slices.Sort(sizes)
	doubted := func(s realScore) bool { return s.doubted }
	silent := func(s realScore) bool { return !s.doubted && !within(realFarMS)(s) }
	figures := []target.Figure{
		target.Plain("takes", float64(len(scores)), "takes"),
		target.Plain("error_median", quantile(sizes, 0.5), "ms"),
		target.AtLeast("within_1_ms", share(readable, within(realNearMS)), "%", realNear),
		target.AtLeast("within_2_ms_or_doubted", share(readable, func(s realScore) bool { return !silent(s) }), "%", realFar),
		target.AtMost("silently_wrong", share(readable, silent), "%", realSilent),
		target.Between("interval_covers", share(func(s realScore) bool { return readable(s) && !math.IsInf(s.errorMS, 0) }, func(s realScore) bool { return s.covered }), "%", realCovered, coverageHigh),
		target.AtMost("doubted_though_readable", share(readable, doubted), "%", realDoubted),
		target.AtLeast("doubted_where_no_answer", share(func(s realScore) bool { return s.trap.noAnswer }, doubted), "%", 100),
		target.AtMost("false_alarms_of_cables", share(func(realScore) bool { return true }, func(s realScore) bool { return s.alarmed }), "%", realAlarms),
	}
	return slices.DeleteFunc(figures, func(f target.Figure) bool { return math.IsNaN(f.Value) })
}

// writeReal prints a line for each trap.
func writeReal(w io.Writer, traps []realTrap, scores []realScore) {
	names := []string{"takes", "median", "1 ms", "silent", "covers", "doubted", "alarms"}
	fmt.Fprintf(w, "%-15s %s\n", "trap", strings.Join(names, "  "))
	for _, t := range traps {
		var of []realScore
		for _, s := range scores {
			if s.trap.name == t.name {
				of = append(of, s)
			}
		}
		figures := realFigures(of)
		at := func(name string) float64 {
			if i := slices.IndexFunc(figures, func(f target.Figure) bool { return f.Name == name }); i >= 0 {
				return figures[i].Value
			}
			return math.NaN()
		}
		doubted := at("doubted_though_readable")
		if t.noAnswer {
			doubted = at("doubted_where_no_answer")
		}
		fmt.Fprintf(w, "%-15s %5d  %6s  %4s  %6s  %6s  %7s  %6s\n", t.name, len(of), cell(2, at("error_median")), cell(0, at("within_1_ms")),
			cell(0, at("silently_wrong")), cell(0, at("interval_covers")), cell(0, doubted), cell(0, at("false_alarms_of_cables")))
	}
}
