package main

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// each does something n times, with 0 to n-1, as many at a time as there are
// processors. Once ctx is done it begins no more, and returns why.
func each(ctx context.Context, n int, do func(i int)) error {
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < n && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	workers.Wait()
	return ctx.Err()
}
