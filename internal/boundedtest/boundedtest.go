// Package boundedtest checks that hostile input costs no more time and memory than its
// size warrants. Tests only. No library does: testing's benchmarks measure but assert
// nothing, and Go's fuzzer sets no limit.
package boundedtest

import (
	"flag"
	"fmt"
	"runtime"
	"testing"
	"time"

	"lagwright/internal/deeptest"
	"lagwright/internal/procfs"
)

const (
	startTime = time.Second     // for any input
	stuckWait = 5 * time.Minute // after which nothing ends any more
)

// Bounds is what an input may cost besides a second: memory is bytes allocated,
// those given back included.
type Bounds struct {
	Fixed    int           // bytes of memory, whatever the input
	PerByte  int           // bytes of memory for each byte of it
	TimeEach time.Duration // for each byte of it
}

// Check does what a test does with an input of size bytes. In the suite that is all,
// for a figure there would be the computer's and not the input's. A fuzzer, and a deep
// test, fails where it costs more than the bounds; what takes too long is done twice
// more, and the shortest time counts. What does not end at all ends the program, so
// that the fuzzer learns of it.
func Check(t testing.TB, size int, b Bounds, do func()) {
	t.Helper()
	if !deeptest.On() && !fuzzing() {
		do()
		return
	}
	check(t, size, b, do)
}

// fuzzing reports whether inputs are being made up, not only read from a corpus.
func fuzzing() bool {
	f := flag.Lookup("test.fuzz")
	return f != nil && f.Value.String() != ""
}

// Ends does what a test does with an input of size bytes, and ends the program where that
// never ends.
func Ends(t testing.TB, size int, do func()) {
	stuck := time.AfterFunc(stuckWait, func() { panic(fmt.Sprintf("%s: %d bytes of input keep the program busy for ever", t.Name(), size)) })
	defer stuck.Stop()
	do()
}

func check(t testing.TB, size int, b Bounds, do func()) {
	t.Helper()
	once := func() { Ends(t, size, do) }
	most := startTime + time.Duration(size)*b.TimeEach
	took, memory := measure(once)
	if limit := uint64(b.Fixed + size*b.PerByte); memory > limit {
		t.Errorf("%d bytes of input took %d bytes of memory: at most %d are due", size, memory, limit)
	}
	for range 2 {
		if took <= most || t.Failed() {
			break
		}
		again, _ := measure(once)
		took = min(took, again)
	}
	if took > most {
		t.Errorf("%d bytes of input took %v: at most %v are due", size, took, most)
	}
}

// room is how many times as much four times as long an input may cost: as much as it
// is longer, and room to spare. Work that grows with the square costs 16 times.
const room = 8

// Linear fails a test where an input four times as long costs more than its length is
// worth, in memory allocated and, when deep, in the processor's time too. do makes and
// reads an input of about that many bytes.
func Linear(t testing.TB, bytes int, do func(bytes int)) {
	t.Helper()
	do(bytes) // what is made once, for all
	took, memory := unpooled(func() { do(bytes) })
	took4, memory4 := unpooled(func() { do(4 * bytes) })
	if memory4 > room*memory {
		t.Errorf("%d bytes of input take %d bytes of memory, four times as many take %d", bytes, memory, memory4)
	}
	if deeptest.On() && took4 > room*took+startTime/4 {
		t.Errorf("%d bytes of input take %v, four times as many take %v", bytes, took, took4)
	}
}

// unpooled measures something that finds no memory that was pooled before: the shorter
// input would find more of it than the longer one.
func unpooled(do func()) (took time.Duration, memory uint64) {
	runtime.GC()
	runtime.GC() // a pool is emptied by the second
	return measure(do)
}

// Busy returns how long processors have worked for this program, as far as Linux tells;
// 0 elsewhere, where only memory is held.
func Busy() time.Duration {
	seconds, _ := procfs.CPUSeconds("self")
	return time.Duration(seconds * float64(time.Second))
}

// measure does something and returns what it cost.
var measure = cost

func cost(do func()) (took time.Duration, memory uint64) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	began := Busy()
	do()
	took = Busy() - began
	runtime.ReadMemStats(&after)
	return took, after.TotalAlloc - before.TotalAlloc
}
