// Package deeptest gives tests of very many cases a sample of them in the suite, and
// all of them where LAGWRIGHT_DEEP=1 is set, as the verbs of cmd/dev set it.
package deeptest

import (
	"math/rand/v2"
	"os"
)

// On reports whether every case is to be tried.
func On() bool { return os.Getenv("LAGWRIGHT_DEEP") == "1" }

// Some returns n of the cases, always the same ones and in their order; all of them
// where there are no more, or where every case is to be tried.
func Some[T any](n int, all []T) []T {
	if On() || n >= len(all) {
		return all
	}
	var some []T
	r := rand.New(rand.NewPCG(uint64(n), uint64(len(all))))
	for i, one := range all {
		if r.IntN(len(all)-i) < n-len(some) { // selection sampling: Knuth, TAOCP 3.4.2, algorithm S, from memory
			some = append(some, one)
		}
	}
	return some
}

// First returns n in the suite and all where every case is to be tried: how many
// seeds, takes or rounds of alike cases are due.
func First(n, all int) int {
	if On() {
		return all
	}
	return n
}
