//go:build !race

package boundedtest

// slowed is how much slower the race detector makes everything.
const slowed = 1
