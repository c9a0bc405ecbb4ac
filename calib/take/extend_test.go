package take

import (
	"path/filepath"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// A take that is opened while it grows shows what came since, once it is asked to.
func TestExtend(t *testing.T) {
	r := must.Get(Create(filepath.Join(t.TempDir(), "take-001.wav"), calib.Format{RateHz: 48000, Channels: 2}))(t)
	write := func(frames int, value float32) {
		t.Helper()
		block := make([]float32, 2*frames)
		for i := range block {
			block[i] = value
		}
		must.Do(t, r.Write(block))
	}
	write(1000, 0.25)
	must.Do(t, r.Flush())
	f := must.Get(Open(r.Path()))(t)
	defer f.Close()
	write(500, -0.5)
	if f.Frames() != 1000 {
		t.Errorf("%d frames before it is extended, want 1000", f.Frames())
	}
	must.Do(t, f.Extend())
	got := make([]float32, 1)
	if _, err := f.ReadAt(got, 2, 1499); err != nil || f.Frames() != 1500 || got[0] != -0.5 {
		t.Errorf("%d frames, the last %v, %v; want 1500 and -0.5", f.Frames(), got[0], err)
	}
	must.Get(r.Finish())(t)
}
