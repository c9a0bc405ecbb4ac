// Package boundedtest holds hostile input to the time and memory that its size is
// worth. Tests only.
package boundedtest

import (
	"fmt"
	"runtime"
	"testing"
	"time"
)

// startTime is for any input.
var startTime = time.Second

// Beyond these nothing ends any more: work, and waiting.
const (
	stuckWork = time.Minute
	stuckWait = 10 * time.Minute
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
	defer watch(fmt.Sprintf("%s: %d bytes of input", t.Name(), size))()
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

// watch ends the program where an input keeps it for ever, until done is called.
func watch(input string) (done func()) {
	over := make(chan struct{})
	go func() {
		began, work := time.Now(), busy()
		for look := time.NewTicker(time.Second); ; {
			select {
			case <-over:
				look.Stop()
				return
			case <-look.C:
				if busy()-work > slowed*stuckWork || time.Since(began) > stuckWait {
					panic(input + " keep the program busy for ever")
				}
			}
		}
	}()
	return func() { close(over) }
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
