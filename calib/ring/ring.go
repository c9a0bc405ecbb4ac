// Package ring carries values from one goroutine or thread to one other. Neither locks,
// waits or allocates, so that one of them may be an audio callback.
package ring

import "sync/atomic"

// Ring carries values from one goroutine or thread to one other.
type Ring[T any] struct {
	buf     []T
	in, out atomic.Uint64 // values put in and taken out since the start
}

// New returns a ring with room for so many values.
func New[T any](size int) *Ring[T] { return &Ring[T]{buf: make([]T, size)} }

// In is how many values were put in since the start.
func (r *Ring[T]) In() int64 { return int64(r.in.Load()) }

// Held is how many are waiting.
func (r *Ring[T]) Held() int { return int(r.in.Load() - r.out.Load()) }

// Room is how many more fit.
func (r *Ring[T]) Room() int { return len(r.buf) - r.Held() }

// Put copies what there is room for and returns how many that were.
func (r *Ring[T]) Put(src []T) int {
	size, in := uint64(len(r.buf)), r.in.Load()
	n := min(uint64(len(src)), size-(in-r.out.Load()))
	at := in % size
	first := copy(r.buf[at:], src[:n])
	copy(r.buf, src[first:n])
	r.in.Store(in + n)
	return int(n)
}

// Peek returns at most that many of the oldest values, as far as they lie side by
// side. They stay in place until Drop.
func (r *Ring[T]) Peek(most int) []T {
	size, out := uint64(len(r.buf)), r.out.Load()
	at := out % size
	n := min(uint64(most), r.in.Load()-out, size-at)
	return r.buf[at : at+n]
}

// Drop makes room for as many as were used.
func (r *Ring[T]) Drop(n int) { r.out.Add(uint64(n)) }
