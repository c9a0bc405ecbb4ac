package bench

import (
	"cmp"
	"fmt"
	"slices"

	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// Finding is a mistake that the takes show. Nothing is changed for it: what to do
// is for the builder to decide.
type Finding struct {
	Kind   string  // such as "miscounted"; see plan.Kind
	Take   int     // number of the take it begins with; 0 where it concerns all
	Voice  string  // empty where it concerns all
	Chance float64 // from 0 to 1
	Odds   string  // the same in words
	Words  string  // what is seen
	Do     string  // what to do
	Reach  bool    // to do it, somebody reaches into the machine
}

// findingsOf returns what the takes show, the likeliest first.
func findingsOf(s session.Session, machine plan.Machine, takes []plan.Take) []Finding {
	var all []Finding
	for _, f := range machine.Findings() {
		one := Finding{Kind: string(f.Kind), Chance: f.Chance, Odds: oddsWords(f.Chance), Words: f.Words, Do: f.Do}
		one.Reach = f.Kind == plan.FallOther || f.Kind == plan.PinOther || f.Kind == plan.NotMoved
		if f.Take >= 0 {
			one.Take = takes[f.Take].ID
		}
		if f.Voice >= 0 {
			one.Voice = s.Machine.Voices[f.Voice]
		}
		all = append(all, one)
	}
	slices.SortStableFunc(all, func(a, b Finding) int { return cmp.Compare(b.Chance, a.Chance) })
	return all
}

// mostOdds are the highest odds worth a number: how rare mistakes are is not known
// well enough for more.
const mostOdds = 100

// oddsWords says a chance as odds.
func oddsWords(chance float64) string {
	odds := chance / (1 - chance)
	switch {
	case !(odds < mostOdds): // a chance of 1 too
		return fmt.Sprintf("more than %d to 1", mostOdds)
	case odds >= 2:
		return fmt.Sprintf("about %.0f to 1", odds)
	}
	return "little better than even"
}
