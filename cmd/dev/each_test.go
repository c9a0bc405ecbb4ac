package main

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
)

func TestEach(t *testing.T) {
	for _, n := range []int{0, 1, 1000} {
		done := make([]int, n)
		if err := each(t.Context(), n, func(i int) { done[i]++ }); err != nil {
			t.Error(err)
		}
		for i, times := range done {
			if times != 1 {
				t.Errorf("%d of %d is done %d times", i, n, times)
			}
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	var begun atomic.Int64
	err := each(ctx, 1e6, func(int) { begun.Add(1); cancel() })
	if !errors.Is(err, context.Canceled) || begun.Load() > 1000 {
		t.Errorf("%v, and %d were begun", err, begun.Load())
	}
}
