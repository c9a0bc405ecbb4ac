package capture_test

import (
	"bytes"
	"math"
	"slices"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/take"
	"lagwright/internal/must"
)

// clockTake records frames of the clock and returns where.
func clockTake(t *testing.T, frames ...int64) string {
	t.Helper()
	r := must.Get(take.Create(takeIn(t.TempDir()), calib.Format{RateHz: clockRate, Channels: clockChannels}))(t)
	var sound []float32
	for _, frame := range frames {
		one, two := clockAt(frame)
		sound = append(sound, one, two)
	}
	must.Do(t, r.Write(sound))
	return must.Get(r.Finish())(t)
}

// What is missing from a recording of the clock is found, to the frame, whatever
// the time of day: a long take reaches beyond what one channel can hold.
func TestTrackFindsWhatIsMissing(t *testing.T) {
	const late = 24 * 3600 * clockRate
	var frames []int64
	for frame := int64(1); frame < 70000; frame++ {
		if frame < 40000 || frame >= 40117 {
			frames = append(frames, frame)
		}
	}
	frames = append(frames, 0, 0, 0, 70000, late, late+1, late)
	got := must.Get(trackOf(clockTake(t, frames...)))(t)
	want := track{first: 1, last: late, frames: int64(len(frames)), silent: 3, astray: 1, jumps: []jump{{40000, 40117}, {70001, late}}}
	if got.first != want.first || got.last != want.last || got.frames != want.frames || got.silent != want.silent || got.astray != want.astray || !slices.Equal(got.jumps, want.jumps) {
		t.Errorf("%+v, want %+v", got, want)
	}
	if lost := got.lostS(late + clockRate/2); lost != 0.5 {
		t.Errorf("%g s lost at the end, want 0.5", lost)
	}
}

// The witness knows the time, and what never sounded, from bytes that come in pieces
// of any length.
func TestWitness(t *testing.T) {
	var all, piece bytes.Buffer
	sound := &clockSound{}
	for range 2 { // with a stretch left out
		raw := make([]byte, 1000*clockBytes)
		sound.Read(raw)
		all.Write(raw)
		sound.Read(raw[:100*clockBytes])
	}
	w := &witness{}
	for i, b := range all.Bytes() {
		if piece.WriteByte(b); i%13 == 0 || i == all.Len()-1 {
			w.Write(piece.Bytes())
			piece.Reset()
		}
	}
	if got := w.heard(); got != 2100 {
		t.Errorf("heard frame %d last, want 2100", got)
	}
	if now := w.now(); now < 2100 || now > 2100+mostAhead.Milliseconds()*clockRate/1000 {
		t.Errorf("it is now %d", now)
	}
	if got := w.sounded([]jump{{1001, 1101}, {1500, 1600}}); got != 100 {
		t.Errorf("%d frames missing that sounded, want 100", got)
	}
}

// A take that lost more than it tells of is found out.
func TestCounted(t *testing.T) {
	path := clockTake(t, 1, 2, 3, 10, 11)
	a, uncounted := counted(attempt{}, path, &witness{}, 11)
	if math.Abs(uncounted*clockRate-6) > 1e-6 || a.lostS != 0 {
		t.Errorf("%g frames uncounted, want 6; %+v", uncounted*clockRate, a)
	}
	if a, uncounted := counted(attempt{}, path+".gone", &witness{}, 11); a.wrong == "" || !math.IsInf(uncounted, 1) {
		t.Errorf("a take that is gone: %+v, %g", a, uncounted)
	}
}

func TestRescuedFindsFault(t *testing.T) {
	if a := rescued(attempt{}, t.TempDir(), &witness{}, 2*clockRate); a.wrong == "" || a.lostS != 2 {
		t.Errorf("nothing left: %+v", a)
	}
	dir := t.TempDir()
	r := must.Get(take.Create(takeIn(dir), calib.Format{RateHz: clockRate, Channels: clockChannels}))(t)
	var sound []float32
	for frame := range int64(clockRate) {
		one, two := clockAt(frame + 1)
		sound = append(sound, one, two)
	}
	must.Do(t, r.Write(sound))
	if err := r.Flush(); err != nil { // and here the program is gone
		t.Fatal(err)
	}
	if a := rescued(attempt{}, dir, &witness{}, 2*clockRate); a.wrong != "" || a.keptS != 1 || a.lostS != 1 {
		t.Errorf("%+v, want 1 s kept and 1 s lost", a)
	}
	time.Sleep(50 * time.Millisecond) // the disk may still be asked to keep it
}
