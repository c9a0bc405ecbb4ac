package ring

import (
	"runtime"
	"testing"
)

func TestRing(t *testing.T) {
	r := New[int](7)
	var got []int
	next := 0
	for round := range 1000 {
		src := []int{next, next + 1, next + 2, next + 3, next + 4}[:1+round%5]
		next += r.Put(src)
		part := r.Peek(1 + round%3)
		got = append(got, part...)
		r.Drop(len(part))
	}
	for i, v := range got {
		if i != v {
			t.Fatalf("value %d is %d", i, v)
		}
	}
	if len(got) < 1000 {
		t.Errorf("%d values came through", len(got))
	}
}

// One thread puts, one takes: under -race this shows that nothing is shared
// unguarded.
func TestRingBetweenGoroutines(t *testing.T) {
	const total = 200000
	r := New[int](64)
	go func() {
		for next := 0; next < total; runtime.Gosched() {
			next += r.Put([]int{next, next + 1, next + 2}[:min(3, total-next)])
		}
	}()
	for want := 0; want < total; runtime.Gosched() {
		part := r.Peek(10)
		for _, v := range part {
			if v != want {
				t.Fatalf("%d came where %d was due", v, want)
			}
			want++
		}
		r.Drop(len(part))
	}
}
