package calib

import (
	"cmp"
	"slices"

	"lagwright/calib/i18n"
)

// Term is one source of a lag's uncertainty, in plain words.
type Term struct {
	What   string  // what it is
	MS     float64 // its standard uncertainty in ms
	Share  float64 // of the combined variance, 0 to 1
	Shrink string  // what makes it smaller
}

// Known reports whether there is a budget at all: a reading of too few pairs has none.
func (b Budget) Known() bool { return b.CombinedMS() > 0 }

// Terms returns what the budget is made of, always in the same order.
func (b Budget) Terms() []Term {
	terms := []Term{
		{What: i18n.L("scatter from hit to hit"), MS: b.ScatterMS, Shrink: i18n.L("more hits, a steadier gate")},
		{What: i18n.L("uneven crank"), MS: b.CrankMS, Shrink: i18n.L("a steadier crank, a longer take")},
		{What: i18n.L("where the strike begins"), MS: b.BeginsMS, Shrink: i18n.L("microphones nearer to where it strikes")},
		{What: i18n.L("skew between channels"), MS: b.SkewMS, Shrink: i18n.L("a higher sample rate")},
		{What: i18n.L("recorder's clock"), MS: b.ClockMS, Shrink: i18n.L("a smaller lag")},
	}
	for i := range terms {
		if all := b.CombinedMS(); all > 0 {
			terms[i].Share = square(terms[i].MS / all)
		}
	}
	return terms
}

// Largest returns the largest term.
func (b Budget) Largest() Term {
	return slices.MaxFunc(b.Terms(), func(a, b Term) int { return cmp.Compare(a.MS, b.MS) })
}
