package main

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

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
	kinds := []family{studyTakes(f)}
	if f.errors {
		kinds = []family{studyMistakes(f)}
	} else if f.year {
		kinds = []family{studyYears(f), studyChecks(f)}
	}
	return measureAll(ctx, h, kinds, accuracyFlags{takes: f.machines})
}

// studyTakes are the ways, each on so many machines; a machine is what a take is elsewhere.
func studyTakes(f studyFlags) family {
	kind := family{name: "way", sums: []sum{
		{"mean", 2, target.Figure{}, "takes", mean},
		{"median", 0, target.Figure{}, "takes", share(0.5)},
		{"95%", 0, target.Figure{}, "takes", share(0.95)},
		{"most", 0, target.Figure{}, "takes", share(1)},
		{"inside %", 2, target.Figure{}, "inside", percent},
		{"machines %", 1, target.Figure{}, "whole", percent},
		{"worst ms", 1, target.Figure{}, "worst", share(1)},
		{"open", 0, target.Figure{}, "open", floats.Sum},
		{"moves", 0, target.Figure{}, "silent", func(xs []float64) float64 { return float64(len(xs)) }},
		{"silent", 0, target.Figure{}, "silent", floats.Sum},
	}}
	for _, w := range studyWays {
		kind.traps = append(kind.traps, trap{name: w.name, figures: w.figures(f.stress || f.anywhere || f.erring),
			play: func(_ context.Context, i uint64) played { return w.try(f.record(i, w.voices)) }})
	}
	return kind
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
	find   func(r *record, tempos []float64) (settings []int, verified bool) // where the plate truly goes for each
	mean   float64
	most95 float64
}

// studyWays: a crank that sweeps, motors that keep to one tempo in a take, and the rule.
var studyWays = []studyWay{
	{name: "sweep-known", voices: 1, find: byPlan(false, false), mean: 2.5, most95: 4},
	{name: "sweep-learnt", voices: 1, find: byPlan(false, true), mean: 3.5, most95: 5},
	{name: "sweep-3-voices", voices: 3, find: byPlan(false, false), mean: 2.5, most95: 4},
	{name: "step-known", voices: 1, find: byPlan(true, false), mean: 6, most95: 9},
	{name: "step-learnt", voices: 1, find: byPlan(true, true), mean: 6, most95: 9},
	{name: "fixed-rule", voices: 1, find: byRule},
}

// try finds the settings of one machine and holds them against its true law.
func (w studyWay) try(r *record) played {
	tempos := studyTempos()
	settings, verified := w.find(r, tempos)
	t := scores{"takes": {float64(r.takes)}, "open": {oneIf(!verified)}, "silent": r.silent}
	for i, setting := range settings {
		m, period := r.voices[i%len(r.voices)], calib.PeriodMS(tempos[i])
		beyond := math.Abs(m.off(period, setting)) - m.limit(period)
		t["inside"], t["worst"] = append(t["inside"], oneIf(beyond <= 0)), append(t["worst"], math.Max(beyond, 0))
	}
	t["whole"] = []float64{oneIf(!slices.Contains(t["inside"], 0))}
	return played{scores: t}
}

// studySilent is what share of the moves asked for, in %, may be wrong in silence.
const studySilent = 1.0

// figures are what the plan aims at: takes to a verified set list, and settings truly
// inside. Harder machines than most have no targets.
func (w studyWay) figures(harder bool) []sum {
	name := func(s string) string { return s + "_" + snake(w.name) }
	figures := []sum{
		{figure: target.AtMost(name("takes_mean"), 0, "takes", w.mean), of: "takes", sum: mean},
		{figure: target.AtMost(name("takes_95"), 0, "takes", w.most95), of: "takes", sum: share(0.95)},
		{figure: target.AtLeast(name("inside"), 0, "%", 99), of: "inside", sum: percent},
		{figure: target.AtMost(name("silent"), 0, "%", studySilent), of: "silent", sum: percent},
	}
	for i, s := range figures {
		if w.mean == 0 || harder {
			figures[i].figure = target.Plain(s.figure.Name, 0, s.figure.Unit)
		}
	}
	return figures
}
