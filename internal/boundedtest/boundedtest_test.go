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
	startTime = 50 * time.Millisecond
	defer func() { startTime = time.Second }()
	b := Bounds{Fixed: 1 << 20, PerByte: 10, TimeEach: 100 * time.Microsecond}
	for name, c := range map[string]struct {
		do   func()
		want bool
	}{
		"nothing":         {func() {}, false},
		"its due":         {func() { sink = make([]byte, 1<<19) }, false},
		"too much memory": {func() { sink = make([]byte, 3<<20) }, true},
		"too much time": {func() {
			for began := busy(); busy()-began < slowed*100*time.Millisecond; {
				sink = sink[:0]
			}
		}, true},
	} {
		f := &failing{TB: t}
		Check(f, 100, b, c.do)
		if f.failed != c.want {
			t.Errorf("%s: failed %v, want %v", name, f.failed, c.want)
		}
	}
}
