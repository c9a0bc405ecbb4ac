// Package deeptest gives tests of very many cases a sample of them in the suite, and
// all of them where LAGWRIGHT_DEEP=1, as the verbs of cmd/dev set it. Tests only.
package deeptest

import (
	"flag"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// On reports whether everything is to be tried.
func On() bool { return os.Getenv("LAGWRIGHT_DEEP") == "1" }

// Of returns how many of something to try: so many in the suite, all when deep.
func Of(few, all int) int {
	if On() {
		return all
	}
	return few
}

// Seed returns the luck of a test, and logs it: 1 in the suite and another one each
// time when deep, unless LAGWRIGHT_SEED names it.
func Seed(t testing.TB) uint64 {
	t.Helper()
	seed, err := strconv.ParseUint(os.Getenv("LAGWRIGHT_SEED"), 10, 64)
	switch {
	case err == nil:
	case On():
		seed = uint64(time.Now().UnixNano())
	default:
		seed = 1
	}
	t.Logf("LAGWRIGHT_SEED=%d", seed)
	return seed
}

// Check tries a property as rapid does, in the suite on the same cases each time: a rare one
// that fails is found when deep, and not by the change that happens to be tested then.
func Check(t *testing.T, property func(*rapid.T)) {
	t.Helper()
	sameCases()
	rapid.Check(t, property)
}

// sameCases gives rapid a seed, unless one is named. Tests run side by side.
var sameCases = sync.OnceFunc(func() {
	if seed := flag.Lookup("rapid.seed"); !On() && seed.Value.String() == "0" {
		seed.Value.Set("1")
	}
})

// Sample returns which of n cases to try, in order: all when deep, else a few that the
// seed picks, the same each time.
func Sample(seed uint64, few, n int) []int {
	picked := rand.New(rand.NewPCG(seed, 1)).Perm(n)[:min(Of(few, n), n)]
	slices.Sort(picked)
	return picked
}

// Some returns a few of the cases, the same each time, in order; all when deep.
func Some[T any](few int, all []T) (some []T) {
	for _, i := range Sample(uint64(len(all)), few, len(all)) {
		some = append(some, all[i])
	}
	return some
}
