package boundedtest

import (
	"testing"
	"time"
)

// failing notes that a test failed and goes on.
type failing struct {
	testing.TB
	failed bool
}

func (f *failing) Errorf(string, ...any) { f.failed = true }
func (f *failing) Failed() bool          { return f.failed }

var sink []byte

func TestCheckFindsWaste(t *testing.T) {
	defer func() { measure = cost }()
	b := Bounds{Fixed: 1000, PerByte: 10, TimeEach: time.Millisecond}
	for name, c := range map[string]struct {
		took   []time.Duration // the first time, and again
		memory uint64
		want   bool
	}{
		"nothing":         {[]time.Duration{0}, 0, false},
		"its due":         {[]time.Duration{1100 * time.Millisecond}, 2000, false},
		"too much memory": {[]time.Duration{0}, 2001, true},
		"too much time":   {[]time.Duration{2 * time.Second, 3 * time.Second, 2 * time.Second}, 0, true},
		"too much once":   {[]time.Duration{2 * time.Second, time.Second}, 0, false},
	} {
		n := 0
		measure = func(do func()) (time.Duration, uint64) {
			do()
			return c.took[n-1], c.memory
		}
		f := &failing{TB: t}
		check(f, 100, b, func() { n++ })
		if f.failed != c.want || n != len(c.took) {
			t.Errorf("%s: failed %v, want %v, after %d of %d times", name, f.failed, c.want, n, len(c.took))
		}
	}
}

func TestLinearFindsTheSquare(t *testing.T) {
	for name, c := range map[string]struct {
		each func(bytes int) int // what an input takes
		want bool
	}{
		"its length": {func(n int) int { return 100 * n }, false},
		"its square": {func(n int) int { return n * n }, true},
	} {
		f := &failing{TB: t}
		Linear(f, 1000, func(n int) { sink = make([]byte, c.each(n)) })
		if f.failed != c.want {
			t.Errorf("%s: failed %v, want %v", name, f.failed, c.want)
		}
	}
	if took, memory := cost(func() { sink = make([]byte, 1<<20) }); took < 0 || memory < 1<<20 {
		t.Errorf("a megabyte is measured as %d bytes in %v", memory, took)
	}
}
