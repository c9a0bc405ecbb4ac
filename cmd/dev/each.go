package main

import (
	"context"
	"runtime"
	"sync"
)

// each does something n times, with 0 to n-1, as many at a time as there are
// processors. Once ctx is done it begins no more, and returns why.
func each(ctx context.Context, n int, do func(i int)) error {
	next := make(chan int)
	var workers sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := 0; i < n && ctx.Err() == nil; i++ {
		next <- i
	}
	close(next)
	workers.Wait()
	return ctx.Err()
}
