package capture

import (
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"lagwright/calib"
	"lagwright/calib/ring"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// counted is a recording whose every sample says where it is from: sample f of channel c,
// from 0, is (f·16 + c) · 2⁻²³, which a float32 holds without rounding as far as frame 2¹⁹.
func counted(rate float64, channels int, frames int64) calib.Source {
	return soundtest.Made{RateHz: rate, Of: channels, Long: frames, At: func(channel int, frame int64) float32 { return valueAt(frame, channel-1) }}
}

func valueAt(frame int64, channel int) float32 {
	return float32(frame*16+int64(channel)+1) / (1 << 23)
}

// kept is a sink in memory.
type kept struct {
	mu     sync.Mutex
	sound  []float32
	lost   []Gap
	refuse int // writes that are taken before the disk is full; 0 is all
	writes int
	slow   atomic.Int64 // ns that a write takes
}

var errFull = errors.New("the disk is full")

func (k *kept) Write(interleaved []float32) error {
	time.Sleep(time.Duration(k.slow.Load()))
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.writes++; k.refuse > 0 && k.writes > k.refuse {
		return errFull
	}
	k.sound = append(k.sound, interleaved...)
	return nil
}

func (k *kept) Lost(frame, lost int64) { k.lost = append(k.lost, Gap{Frame: frame, Lost: lost}) }

// To has Start record into a sink that takes any format.
func To(sink Sink) func(calib.Format) (Sink, error) {
	return func(calib.Format) (Sink, error) { return sink, nil }
}

// lossy leaves a stretch of a replay out.
type lossy struct {
	*Replay
	lose Gap
}

func (l lossy) OpenInput(d Device, f calib.Format, put func([]float32), ended func()) (Stream, error) {
	at, channels := int64(0), l.Source.Channels()
	return l.Replay.OpenInput(d, f, func(sound []float32) {
		frames := int64(len(sound) / channels)
		from := min(max(l.lose.Frame-at, 0), frames)
		to := min(max(l.lose.Frame+l.lose.Lost-at, 0), frames)
		at += frames
		for _, part := range [][]float32{sound[:from*int64(channels)], sound[to*int64(channels):]} {
			if len(part) > 0 {
				put(part)
			}
		}
	}, ended)
}

func start(t *testing.T, r Sound, f calib.Format, sink Sink) *Capture {
	t.Helper()
	devices := must.Get(r.Inputs())(t)
	c := must.Get(Start(r, devices[0], f, To(sink)))(t)
	t.Cleanup(func() { c.Stop() })
	return c
}

// until waits in fake time.
func until(t *testing.T, what string, done func() bool) {
	t.Helper()
	for range 4000 {
		if done() {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatalf("%s: not within 20 s", what)
}

// Every frame arrives once, in order, on its channel, whatever was asked for.
func TestEverySampleOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for _, channels := range []int{2, 3, 16} {
			k := &kept{sound: make([]float32, 0, 1<<22)}
			c := start(t, &Replay{Source: counted(8000, 16, 1<<18), Speed: 2}, calib.Format{Channels: channels}, k)
			until(t, "a second is there", func() bool { return c.Status().Frames > 8000 })
			got := c.Stop()
			if got.Err != nil || len(got.Gaps) > 0 || got.Format != (calib.Format{RateHz: 8000, Channels: channels}) || got.Frames*int64(channels) != int64(len(k.sound)) {
				t.Errorf("%d channels: %+v with %d samples", channels, got, len(k.sound))
			}
			for i, v := range k.sound {
				if want := valueAt(int64(i/channels), i%channels); v != want && int64(i/channels) < 1<<18 {
					t.Fatalf("%d channels: sample %d is %v, want %v", channels, i, v, want)
				}
			}
			if again := c.Stop(); again.Frames != got.Frames {
				t.Errorf("stopped twice: %d frames, then %d", got.Frames, again.Frames)
			}
		}
	})
}

// A sink that is too slow for five seconds: what finds no room is counted, with
// its place, and what is kept is in order around it.
func TestOverrun(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		k := &kept{}
		k.slow.Store(int64(2 * time.Second))
		c := start(t, &Replay{Source: counted(8000, 2, 1<<19), Speed: 10}, calib.Format{}, k)
		until(t, "an overrun is seen", func() bool { return c.Status().Lost > 0 })
		k.slow.Store(0)
		got := c.Stop()
		if len(got.Gaps) == 0 || got.Gaps[0].Cause != Overrun || got.Err != nil {
			t.Fatalf("%+v", got)
		}
		skipped := int64(0)
		for i := int64(0); i < got.Frames; i++ {
			for _, g := range got.Gaps {
				if g.Frame == i {
					skipped += g.Lost
				}
			}
			if want := valueAt(i+skipped, 0); k.sound[2*i] != want {
				t.Fatalf("frame %d is %v, want %v, with %d lost before it", i, k.sound[2*i], want, skipped)
			}
		}
		if lost := got.Lost; skipped > lost || lost == 0 || len(k.lost) == 0 {
			t.Errorf("%d frames skipped, %d counted, sink told of %v", skipped, lost, k.lost)
		}
	})
}

// A device that leaves out a stretch: told with its place and length, within a
// frame or so of the clock, and while the recording goes on.
func TestMissedByTheDevice(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		k := &kept{}
		lose := Gap{Frame: 12000, Lost: 2400}
		c := start(t, lossy{&Replay{Source: counted(8000, 2, 1<<19)}, lose}, calib.Format{}, k)
		until(t, "the gap is told of", func() bool { return c.Status().Lost > 0 })
		got := c.Stop()
		if len(got.Gaps) != 1 || got.Gaps[0].Cause != Missed || len(k.lost) != 1 || k.lost[0].Frame != got.Gaps[0].Frame {
			t.Fatalf("%+v, sink %v", got, k.lost)
		}
		g := got.Gaps[0]
		if math.Abs(float64(g.Frame-lose.Frame)) > lateS*8000+80 || math.Abs(float64(g.Lost-lose.Lost)) > lateS*8000 {
			t.Errorf("told of %+v, true is %+v", g, lose)
		}
	})
}

func TestDeviceFails(t *testing.T) {
	for name, c := range map[string]struct {
		replay Replay
		lose   Gap
		says   string
	}{
		"says so":        {Replay{EndAt: 8000}, Gap{}, "stopped by itself"},
		"goes silent":    {Replay{}, Gap{Frame: 8000, Lost: 1 << 40}, "sent nothing for"},
		"never a sound":  {Replay{}, Gap{Lost: 1 << 40}, "sent nothing for 5 s"},
		"the disk fills": {Replay{}, Gap{}, "disk is full"},
	} {
		one := func(t *testing.T) {
			c.replay.Source = counted(8000, 2, 1<<19)
			k := &kept{}
			if name == "the disk fills" {
				k.refuse = 50
			}
			live := start(t, lossy{&c.replay, c.lose}, calib.Format{}, k)
			<-live.Done()
			got := live.Stop()
			if got.Err == nil || !strings.Contains(got.Err.Error(), c.says) || strings.Contains(got.Err.Error(), "\n") {
				t.Errorf("%v does not say %q", got.Err, c.says)
			}
			if int64(len(k.sound)) != 2*got.Frames || name == "says so" && got.Frames != 8000 {
				t.Errorf("%d frames told, %d kept", got.Frames, len(k.sound)/2)
			}
			if k.refuse > 0 && k.writes != k.refuse+1 {
				t.Errorf("a sink that had refused was called again: %d writes", k.writes)
			}
		}
		t.Run(name, func(t *testing.T) { synctest.Test(t, one) })
	}
}

// A program that stood still itself, stopped or short of memory, does not take its
// device for gone; one that goes on to send nothing is.
func TestStoodStill(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := &Capture{began: time.Now().Add(-9 * time.Second), heard: 2 * time.Second, looked: 2 * time.Second}
		if err := c.trouble(); err != nil {
			t.Errorf("awake again: %v", err)
		}
		until(t, "the device is gone", func() bool { return c.trouble() != nil })
		if silent := time.Since(c.began) - c.awake; silent < stallAfter {
			t.Errorf("gone after %v", silent)
		}
	})
}

func TestRefused(t *testing.T) {
	for _, c := range []struct {
		channels int
		f        calib.Format
		says     string
	}{
		{1, calib.Format{}, "choose one device with a channel for each microphone"},
		{2, calib.Format{Channels: 1}, "needs 2 to 16, all of one device"},
		{2, calib.Format{Channels: 17}, "needs 2 to 16"},
		{2, calib.Format{Channels: 3}, "has 2 channels"},
		{2, calib.Format{RateHz: 44100}, "48000 frames a second"},
	} {
		r := &Replay{Source: counted(48000, c.channels, 100)}
		devices, _ := r.Inputs()
		live, err := Start(r, devices[0], c.f, To(&kept{}))
		if err == nil {
			live.Stop()
			t.Errorf("%d channels, %+v: was begun", c.channels, c.f)
		} else if !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q does not say %q", err, c.says)
		}
	}
}

// The level of a sine is its amplitude.
func TestLevels(t *testing.T) {
	var m [2]meter
	sine := make([]float32, 2*48000)
	for i := range 48000 {
		sine[2*i] = float32(0.5 * math.Sin(2*math.Pi*100*float64(i)/48000))
		sine[2*i+1] = 0.25
	}
	sine[2*1000+1], sine[2*1001+1] = 1, -1 // near the start: still held after a second, but no peak any more
	for c := range m {
		for part := range slices.Chunk(sine, 2*441) {
			m[c].feed(part[c:], 2, 2400)
		}
	}
	near := func(got, want float64) bool { return math.Abs(got-want) < 0.02*want }
	if l := m[0].level(); !near(l.Peak, 0.5) || !near(l.Hold, 0.5) {
		t.Errorf("a sine of 0.5 shows %+v", l)
	}
	if l := m[1].level(); !near(l.Peak, 0.25) || l.Hold != 1 {
		t.Errorf("0.25 with two clipped samples shows %+v", l)
	}
	for range 2 {
		m[1].feed(sine[1:][2*2400:], 2, 2400)
	}
	if l := m[1].level(); !near(l.Hold, 0.25) {
		t.Errorf("after two seconds %+v is still held", l)
	}
}

// The device's thread must never wait for memory.
func TestPutAllocatesNothing(t *testing.T) {
	c := onTheBench()
	block := make([]float32, 960*2)
	if n := testing.AllocsPerRun(1000, func() { c.put(block); c.sound.Drop(len(c.sound.Peek(len(block)))) }); n != 0 {
		t.Errorf("%v allocations a delivery", n)
	}
	full := onTheBench()
	if n := testing.AllocsPerRun(1000, func() { full.put(block) }); n != 0 || full.dropped.Load() == 0 {
		t.Errorf("%v allocations a delivery into a full ring, %d frames dropped", n, full.dropped.Load())
	}
}

func onTheBench() *Capture {
	return &Capture{format: calib.Format{RateHz: 48000, Channels: 2}, began: time.Now(), sound: ring.New[float32](ringS * 48000 * 2), stamps: ring.New[stamp](stampRoom)}
}

// BenchmarkPut is what a delivery of 20 ms costs the device's thread.
func BenchmarkPut(b *testing.B) {
	for _, channels := range []int{2, 16} {
		c := onTheBench()
		c.format.Channels = channels
		c.sound = ring.New[float32](ringS * 48000 * channels)
		block := make([]float32, 960*channels)
		b.Run(map[int]string{2: "2 channels", 16: "16 channels"}[channels], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				c.put(block)
				c.sound.Drop(c.sound.Held())
				c.stamps.Drop(c.stamps.Held())
			}
		})
	}
}

// nothing is a sink that keeps nothing.
type nothing struct{}

func (nothing) Write([]float32) error { return nil }
func (nothing) Lost(_, _ int64)       {}

// BenchmarkDrain is what a second of sound at 48 kHz costs behind the device's
// thread, without the sink.
func BenchmarkDrain(b *testing.B) {
	for _, channels := range []int{2, 16} {
		c := onTheBench()
		c.format.Channels, c.sink = channels, nothing{}
		c.meters = make([]meter, channels)
		c.watch.rate = 48000
		c.sound = ring.New[float32](ringS * 48000 * channels)
		block := make([]float32, 960*channels)
		b.Run(map[int]string{2: "2 channels", 16: "16 channels"}[channels], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for range 50 {
					c.put(block)
				}
				must.Do(b, c.empty())
			}
		})
	}
}
