package capture

import "sync/atomic"

// ring carries values from one goroutine or thread to one other, without locks.
type ring[T any] struct {
	buf     []T
	in, out atomic.Uint64 // values put in and taken out since the start
}

func newRing[T any](size int) *ring[T] { return &ring[T]{buf: make([]T, size)} }

// put copies what there is room for and returns how many that were.
func (r *ring[T]) put(src []T) int {
	size, in := uint64(len(r.buf)), r.in.Load()
	n := min(uint64(len(src)), size-(in-r.out.Load()))
	at := in % size
	first := copy(r.buf[at:], src[:n])
	copy(r.buf, src[first:n])
	r.in.Store(in + n)
	return int(n)
}

// peek returns at most that many of the oldest values, as far as they lie side by
// side. They stay in place until drop.
func (r *ring[T]) peek(most int) []T {
	size, out := uint64(len(r.buf)), r.out.Load()
	at := out % size
	n := min(uint64(most), r.in.Load()-out, size-at)
	return r.buf[at : at+n]
}

// drop makes room for as many as were used.
func (r *ring[T]) drop(n int) { r.out.Add(uint64(n)) }
