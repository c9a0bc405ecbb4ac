package capture_test

import (
	"encoding/binary"
	"errors"
	"io"
	"math"
	"slices"
	"sync"
	"time"

	"lagwright/calib/take"
	"lagwright/internal/soundtest"
)

// The sound that faults are tried with is a clock: each frame carries its own
// number, so that the end of a recording tells how much is missing there, and the
// frames next to each other whether anything is missing between them. 24 bits and
// 32-bit floats both hold the numbers without rounding.

const (
	clockRate     = 48000
	clockChannels = 2
	clockBytes    = clockChannels * 4
	clockBits     = 15 // of a frame's number on channel 1; the rest is on channel 2
	clockStep     = 1.0 / (1 << 23)
)

// clockAt returns the samples of a frame; frame 0 is silence, the clock begins at 1.
func clockAt(frame int64) (one, two float32) {
	return float32(frame&(1<<clockBits-1)) * clockStep, float32(frame>>clockBits) * clockStep
}

// clockFrame tells which frame it is; 0 for silence.
func clockFrame(one, two float32) int64 {
	return int64(math.Round(float64(one)/clockStep)) | int64(math.Round(float64(two)/clockStep))<<clockBits
}

// clockSound is the clock without an end, as raw 32-bit floats.
type clockSound struct {
	frames int64
	rest   []byte
}

// Read fills p.
func (c *clockSound) Read(p []byte) (int, error) {
	le := binary.LittleEndian
	for len(c.rest) < len(p) {
		c.frames++
		one, two := clockAt(c.frames)
		c.rest = le.AppendUint32(le.AppendUint32(c.rest, math.Float32bits(one)), math.Float32bits(two))
	}
	n := copy(p, c.rest)
	c.rest = append(c.rest[:0], c.rest[n:]...)
	return n, nil
}

// clockSource is the clock as a recording, for capture.Replay.
var clockSource = soundtest.Made{RateHz: clockRate, Of: clockChannels, Long: math.MaxInt64, At: func(channel int, frame int64) float32 {
	one, two := clockAt(frame + 1)
	if channel == 2 {
		return two
	}
	return one
}}

// jump is a stretch of the clock that somebody did not hear: frames from up to but
// not including to.
type jump struct{ from, to int64 }

// witness hears the clock by a program that is not ours, and knows what time it is.
type witness struct {
	mu    sync.Mutex
	rest  []byte
	last  int64     // frame heard last
	at    time.Time // and when
	never []jump    // what the server itself left out, as it may when others come and go
}

// Write hears raw sound.
func (w *witness) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.rest = append(w.rest, p...)
	b, le := w.rest, binary.LittleEndian
	for ; len(b) >= clockBytes; b = b[clockBytes:] {
		frame := clockFrame(math.Float32frombits(le.Uint32(b)), math.Float32frombits(le.Uint32(b[4:])))
		if frame == 0 {
			continue
		}
		if w.last > 0 && frame > w.last+1 {
			w.never = append(w.never, jump{w.last + 1, frame})
		}
		w.last, w.at = frame, time.Now()
	}
	w.rest = append(w.rest[:0], b...)
	return len(p), nil
}

// sounded takes from jumps those that the witness had too: what never sounded is
// lost by nobody.
func (w *witness) sounded(jumps []jump) (missing int64) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, j := range jumps {
		if !slices.Contains(w.never, j) {
			missing += j.to - j.from
		}
	}
	return missing
}

// heard is the frame that was heard last.
func (w *witness) heard() int64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.last
}

// mostAhead is how long the clock is taken to have gone on unheard.
const mostAhead = 100 * time.Millisecond

// now is the frame that sounds now: the last one heard, and what went by since.
func (w *witness) now() int64 {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.last == 0 {
		return 0
	}
	return w.last + int64(min(time.Since(w.at), mostAhead).Seconds()*clockRate)
}

// track is what a recording of the clock holds.
type track struct {
	first, last int64  // frames of the clock
	frames      int64  // of the recording
	silent      int64  // frames of silence, before the clock began or when its player was late
	jumps       []jump // what is not there in between
	astray      int64  // frames that come before the one they follow: never
}

// trackOf reads a recording of the clock from end to end.
func trackOf(path string) (t track, err error) {
	f, err := take.Open(path)
	if err != nil {
		return t, err
	}
	defer f.Close()
	one, two := make([]float32, 1<<14), make([]float32, 1<<14)
	for t.frames < f.Frames() {
		n, err := f.ReadAt(one, 1, t.frames)
		if err == nil || errors.Is(err, io.EOF) {
			n, err = f.ReadAt(two[:n], 2, t.frames)
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return t, err
		}
		for i := range n {
			t.next(clockFrame(one[i], two[i]))
		}
		t.frames += int64(n)
	}
	return t, nil
}

// next takes the next frame.
func (t *track) next(frame int64) {
	switch {
	case frame == 0:
		t.silent++
		return
	case t.first == 0:
		t.first = frame
	case frame <= t.last:
		t.astray++
	case frame > t.last+1:
		t.jumps = append(t.jumps, jump{t.last + 1, frame})
	}
	t.last = frame
}

// keptS and lostS are how long the recording is, and how much of what had sounded
// up to a frame is missing at its end, s.
func (t track) keptS() float64 { return float64(t.frames) / clockRate }

func (t track) lostS(upTo int64) float64 { return max(0, float64(upTo-t.last)/clockRate) }
