//go:build race

package frugal

// slowed is how much slower the race detector makes everything.
const slowed = 10
