// Package deeptest says how much of what could be tried a test tries: a sample in the
// suite, everything where LAGWRIGHT_DEEP=1, as the verb faults of cmd/dev sets it.
// Tests only.
package deeptest

import (
	"math/rand/v2"
	"os"
	"slices"
)

// Deep reports whether everything is to be tried.
var Deep = os.Getenv("LAGWRIGHT_DEEP") == "1"

// Of returns how many of something to try: so many in the suite, all when deep.
func Of(few, all int) int {
	if Deep {
		return all
	}
	return few
}

// Sample returns which of n cases to try, in order: all when deep, else a few that the
// seed picks, the same each time.
func Sample(seed uint64, few, n int) []int {
	picked := rand.New(rand.NewPCG(seed, 1)).Perm(n)[:min(Of(few, n), n)]
	slices.Sort(picked)
	return picked
}
