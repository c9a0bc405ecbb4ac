package signal

import (
	"cmp"
	"runtime"
	"sync"
)

// split has work done on the numbers from 0 to n, each processor taking a range
// of them. The error is that of the lowest range that failed, whichever failed
// first.
func split(n int, do func(from, to int) error) error {
	parts := max(min(runtime.GOMAXPROCS(0), n), 1)
	errs := make([]error, parts)
	var workers sync.WaitGroup
	for i := range parts {
		workers.Go(func() { errs[i] = do(i*n/parts, (i+1)*n/parts) })
	}
	workers.Wait()
	return cmp.Or(errs...)
}

// atOnce has two things done at once. The error is that of the first of them
// where both fail.
func atOnce(one, other func() error) error {
	failed := make(chan error)
	go func() { failed <- other() }()
	err := one()
	return cmp.Or(err, <-failed)
}

// halves returns two progress functions, for two that work at once, each of
// which makes half of report.
func halves(report func(float64)) (one, other func(float64)) {
	var lock sync.Mutex
	var done [2]float64
	half := func(i int) func(float64) {
		return func(f float64) {
			lock.Lock()
			defer lock.Unlock()
			done[i] = f
			report((done[0] + done[1]) / 2)
		}
	}
	return half(0), half(1)
}
