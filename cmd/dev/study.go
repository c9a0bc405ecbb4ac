package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/internal/target"
)

// studyFlags is what the study verb can be told.
type studyFlags struct {
	machines int
	seed     uint64
	stress   bool
	anywhere bool
	erring   bool
	errors   bool
	year     bool
}

// study plays random machines until their set list is verified, by the plan, with a
// crank that sweeps and with one that keeps its tempo in a take, and by the fixed rule
// that builders use, and compares takes and settings. The plan was
// tuned on the machines of seeds 1 and 777; -seed 31337 plays others.
func study(ctx context.Context, h *host, args []string) error {
	f, err := parseStudy(args)
	if err != nil {
		return err
	}
	if f.errors {
		return tableOfErrors(ctx, h, f)
	}
	if f.year {
		return tableOfTheYear(ctx, h, f)
	}
	var figures []target.Figure
	fmt.Fprintf(h.stdout, "%-14s %8s %6s %6s %6s %6s  %7s %8s %8s  %7s  %6s %6s\n", "way", "machines",
		"mean", "median", "95%", "most", "inside", "machines", "worst ms", "open", "moves", "silent")
	for _, w := range studyWays {
		trials, err := runStudy(ctx, f, w)
		if err != nil {
			return err
		}
		s := sumUp(trials)
		s.write(h.stdout, w.name)
		figures = append(figures, s.figures(w, f.stress || f.anywhere || f.erring)...)
	}
	return h.verdict(figures)
}

func parseStudy(args []string) (f studyFlags, err error) {
	set := flags()
	set.IntVar(&f.machines, "n", 1000, "")
	set.Uint64Var(&f.seed, "seed", 1, "")
	set.BoolVar(&f.stress, "stress", false, "")
	set.BoolVar(&f.anywhere, "anywhere", false, "")
	set.BoolVar(&f.erring, "erring", false, "")
	set.BoolVar(&f.errors, "errors", false, "")
	set.BoolVar(&f.year, "year", false, "")
	if err = set.Parse(args); err != nil || set.NArg() > 0 || f.machines < 1 {
		return f, usageError("usage: study [-n MACHINES] [-seed N] [-stress] [-anywhere] [-erring] [-errors] [-year]: -stress has three times as many bad takes and wilder hits, with -anywhere the plate stands anywhere within half a beat of its place at first, with -erring the builder errs in more ways; none has targets. -errors is the table of single errors, -year that of sessions over a year, and of checks before a concert")
	}
	return f, nil
}

// studyTempos returns the set list: twelve songs, evenly from 72 to 152 BPM.
func studyTempos() []float64 {
	return []float64{72, 79, 87, 94, 101, 108, 116, 123, 130, 137, 145, 152}
}

// studyWay is a way to find a set list's settings, on machines with so many voices, and
// the takes that it aims at: on average, and at the 95 % point; 0 = none.
type studyWay struct {
	name   string
	voices int
	find   func(s *studySession, tempos []float64) (settings []int, verified bool)
	mean   float64
	most95 float64
}

// known finds settings by the plan where the step is known, and learnt where it is not.
func known(steady bool) func(*studySession, []float64) ([]int, bool) {
	return func(s *studySession, tempos []float64) ([]int, bool) {
		return byPlan(s, tempos, calib.Belief{Mean: s.voices[0].step}, steady)
	}
}

func learnt(steady bool) func(*studySession, []float64) ([]int, bool) {
	return func(s *studySession, tempos []float64) ([]int, bool) {
		return byPlan(s, tempos, calib.PlatePrior(calib.Plate{}).Step, steady)
	}
}

// studyWays: a crank that sweeps, motors that keep to one tempo in a take, and the rule.
var studyWays = []studyWay{
	{name: "sweep-known", voices: 1, find: known(false), mean: 2.5, most95: 4},
	{name: "sweep-learnt", voices: 1, find: learnt(false), mean: 3.5, most95: 5},
	{name: "sweep-3-voices", voices: 3, find: known(false), mean: 2.5, most95: 4},
	{name: "step-known", voices: 1, find: known(true), mean: 6, most95: 9},
	{name: "step-learnt", voices: 1, find: learnt(true), mean: 6, most95: 9},
	{name: "fixed-rule", voices: 1, find: byRule},
}

// trial is how one machine went.
type trial struct {
	takes  int
	inside int // songs whose setting is truly inside the limit
	songs  int
	worst  float64 // lag beyond the limit, ms
	open   bool    // given up before all was verified
	asked  int     // moves that the plan asked for
	silent int     // those off by more than a step, and not said to be in doubt
}

// runStudy tries every machine.
func runStudy(ctx context.Context, f studyFlags, w studyWay) ([]trial, error) {
	return each(ctx, f.machines, func(i int) trial { return w.try(f.session(uint64(i), w.voices)) })
}

// try finds the settings of one machine and holds them against its true law. A
// setting counts from where the plate is said to stand at the end.
func (w studyWay) try(s *studySession) trial {
	tempos := studyTempos()
	settings, verified := w.find(s, tempos)
	t := trial{takes: s.voices[0].takes, songs: len(tempos), open: !verified, asked: s.asked, silent: s.silent}
	for i, setting := range settings {
		m, period := s.voices[i%len(s.voices)], calib.PeriodMS(tempos[i])
		beyond := math.Abs(m.off(period, setting+m.setting-m.told)) - m.limit(period)
		if beyond <= 0 {
			t.inside++
		}
		t.worst = math.Max(t.worst, beyond)
	}
	return t
}

// studySum is how all machines went.
type studySum struct {
	takes         []float64 // of each machine, the fewest first
	inside, whole float64   // % of the settings, and of the machines with all of them, inside
	worst         float64
	open          int
	asked, silent float64
}

func sumUp(trials []trial) (s studySum) {
	for _, t := range trials {
		s.takes = append(s.takes, float64(t.takes))
		s.inside += 100 * float64(t.inside) / float64(t.songs*len(trials))
		s.whole += 100 * oneIf(t.inside == t.songs) / float64(len(trials))
		s.worst = math.Max(s.worst, t.worst)
		s.asked, s.silent = s.asked+float64(t.asked), s.silent+float64(t.silent)
		if t.open {
			s.open++
		}
	}
	slices.Sort(s.takes)
	return s
}

// write prints the row of a way.
func (s studySum) write(w io.Writer, name string) {
	fmt.Fprintf(w, "%-14s %8d %6.2f %6.0f %6.0f %6.0f  %6.2f%% %7.1f%% %8.1f  %7d  %6.0f %6.0f\n", name, len(s.takes), mean(s.takes),
		quantile(s.takes, 0.5), quantile(s.takes, 0.95), quantile(s.takes, 1), s.inside, s.whole, s.worst, s.open, s.asked, s.silent)
}

// studySilent is what share of the moves asked for, in %, may be wrong in silence.
const studySilent = 1.0

// figures are what the plan aims at: takes to a verified set list, and settings truly
// inside. Harder machines than most have no targets.
func (s studySum) figures(w studyWay, harder bool) []target.Figure {
	name := func(s string) string { return s + "_" + snake(w.name) }
	figures := []target.Figure{
		target.AtMost(name("takes_mean"), mean(s.takes), "takes", w.mean),
		target.AtMost(name("takes_95"), quantile(s.takes, 0.95), "takes", w.most95),
		target.AtLeast(name("inside"), s.inside, "%", 99),
		target.AtMost(name("silent"), 100*s.silent/math.Max(s.asked, 1), "%", studySilent),
	}
	for i, f := range figures {
		if w.mean == 0 || harder {
			figures[i] = target.Plain(f.Name, f.Value, f.Unit)
		}
	}
	return figures
}
