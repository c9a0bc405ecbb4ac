// Package frugal holds hostile input to the time and memory that its size is
// worth. Tests only.
package frugal

import (
	"fmt"
	"runtime"
	"testing"
	"time"
)

const (
	startTime = time.Second     // for any input
	stuckTime = 3 * time.Minute // beyond which nothing ends any more
)

// Bounds is what an input may cost besides a second: memory is bytes allocated,
// those given back included.
type Bounds struct {
	Fixed    int           // bytes of memory, whatever the input
	PerByte  int           // bytes of memory for each byte of it
	TimeEach time.Duration // for each byte of it
}

// Check does what a test does with an input of size bytes and fails it where that
// costs more than the bounds. Time is the processor's where the system tells it, for a
// busy computer is not the input's fault; what takes too long is done twice more, and
// the shortest time counts. What does not end at all ends the program, so that a
// fuzzer learns of it.
func Check(t testing.TB, size int, b Bounds, do func()) {
	t.Helper()
	stuck := time.AfterFunc(stuckTime, func() {
		panic(fmt.Sprintf("%s: %d bytes of input keep the program busy for %v", t.Name(), size, stuckTime))
	})
	defer stuck.Stop()
	most := slowed * (startTime + time.Duration(size)*b.TimeEach)
	took, memory := cost(do)
	if limit := uint64(b.Fixed + size*b.PerByte); memory > limit {
		t.Errorf("%d bytes of input took %d bytes of memory: at most %d are due", size, memory, limit)
	}
	for range 2 {
		if took <= most || t.Failed() {
			break
		}
		again, _ := cost(do)
		took = min(took, again)
	}
	if took > most {
		t.Errorf("%d bytes of input took %v: at most %v are due", size, took, most)
	}
}

func cost(do func()) (took time.Duration, memory uint64) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	began := busy()
	do()
	took = busy() - began
	runtime.ReadMemStats(&after)
	return took, after.TotalAlloc - before.TotalAlloc
}
