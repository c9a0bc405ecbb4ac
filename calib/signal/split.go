package signal

import (
	"cmp"
	"context"
	"runtime"
	"sync"
)

// inParallel has work done on the numbers from 0 to n, each processor taking a range of them,
// until ctx ends. The error is that of the lowest range that failed, whichever failed
// first.
func inParallel(ctx context.Context, n int, do func(i int) error) error {
	parts := max(min(runtime.GOMAXPROCS(0), n), 1)
	errs := make([]error, parts)
	var workers sync.WaitGroup
	for p := range parts {
		workers.Go(func() {
			for i := p * n / parts; i < (p+1)*n/parts && errs[p] == nil; i++ {
				if errs[p] = ctx.Err(); errs[p] == nil {
					errs[p] = do(i)
				}
			}
		})
	}
	workers.Wait()
	return cmp.Or(errs...)
}
