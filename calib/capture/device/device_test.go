//go:build cgo && linux

package device

import (
	"context"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"lagwright/calib/capture"
	"lagwright/calib/take"
	"lagwright/internal/testpulse"
)

// bench starts a sound server of our own and sends this process there.
func bench(t *testing.T, channels int) *testpulse.Server {
	t.Helper()
	s, err := testpulse.Start(t.TempDir(), testpulse.Format{RateHz: 48000, Channels: channels})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Kill)
	for _, one := range s.Env() {
		name, value, _ := strings.Cut(one, "=")
		t.Setenv(name, value)
	}
	return s
}

func only(t *testing.T, devices []capture.Device, err error) capture.Device {
	t.Helper()
	if err != nil || len(devices) != 1 {
		t.Fatalf("%v, %+v", err, devices)
	}
	return devices[0]
}

// memory is a sink.
type memory struct {
	mu    sync.Mutex
	sound []float32
	lost  int64
}

// begin takes any format.
func (m *memory) begin(capture.Format) (capture.Sink, error) { return m, nil }

func (m *memory) Write(interleaved []float32) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.sound = append(m.sound, interleaved...)
	return nil
}

func (m *memory) Lost(_, lost int64) { m.lost += lost }

// hangs is after how long a test gives up: far more than any machine needs.
const hangs = 5 * time.Minute

// recorded waits until so many seconds are recorded. The sink may have rendered up
// to two seconds ahead before anybody listened, and as long nothing comes.
func recorded(t *testing.T, c *capture.Capture, seconds float64) {
	t.Helper()
	for deadline := time.Now().Add(hangs); float64(c.Status().Frames) < seconds*float64(c.Format().RateHz); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("%.1f s were not recorded within %v", seconds, hangs)
		}
	}
}

// tones is a recording whose channel c carries 200·c Hz at 0.1·c, c from 1.
func tones(t *testing.T, channels int, seconds float64) string {
	t.Helper()
	r, err := take.Create(filepath.Join(t.TempDir(), "tones.wav"), take.Format{RateHz: 48000, Channels: channels})
	if err != nil {
		t.Fatal(err)
	}
	var sound []float32
	for at := range int(seconds * 48000) {
		for c := range channels {
			sound = append(sound, tone(at, c))
		}
	}
	if err := r.Write(sound); err != nil {
		t.Fatal(err)
	}
	path, err := r.Finish()
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func tone(at, channel int) float32 {
	return float32(0.1 * float64(channel+1) * math.Sin(2*math.Pi*float64(200*(channel+1)*at)/48000))
}

// Each channel of a device with more than two arrives as it is, unmixed,
// whatever part of the channels is wanted.
func TestChannelsStayApart(t *testing.T) {
	s := bench(t, 4)
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	if in.Channels != 4 || in.RateHz != 48000 || in.System != "PulseAudio" || !strings.Contains(in.Name, "Bench") {
		t.Errorf("%+v", in)
	}
	ctx, stop := context.WithCancel(t.Context())
	played := make(chan struct{})
	file := tones(t, 4, 60)
	go func() { s.Play(ctx, file); close(played) }()
	defer func() { stop(); <-played }()
	for _, want := range []int{4, 2, 3} {
		m := &memory{}
		c, err := capture.Start(Sound{}, in, capture.Format{Channels: want % 4}, m.begin)
		if err != nil {
			t.Fatal(err)
		}
		recorded(t, c, 2)
		got := c.Stop()
		if got.Err != nil || got.Format != (capture.Format{RateHz: 48000, Channels: want}) || got.Lost() > 0 {
			t.Fatalf("asked for %d channels: %+v", want, got)
		}
		for ch := range want {
			if a := amplitude(m.sound[(got.Frames-24000)*int64(want):], ch, want, 200*(ch+1)); math.Abs(a-0.1*float64(ch+1)) > 0.002 {
				t.Errorf("asked for %d channels: channel %d carries its tone at %.4f, want %.1f", want, ch+1, a, 0.1*float64(ch+1))
			}
			if a := amplitude(m.sound[(got.Frames-24000)*int64(want):], ch, want, 200*((ch+1)%4+1)); a > 0.002 {
				t.Errorf("asked for %d channels: channel %d carries %.4f of another's tone", want, ch+1, a)
			}
		}
	}
	if _, err := capture.Start(Sound{}, in, capture.Format{Channels: 5}, new(memory).begin); err == nil || !strings.Contains(err.Error(), "4 channels and 5 were asked for") {
		t.Errorf("%v", err)
	}
}

// What is played by one stream is heard by the other, left on the left.
func TestPlayed(t *testing.T) {
	bench(t, 2)
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	outputs, err := Sound{}.Outputs()
	out := only(t, outputs, err)
	at := 0
	play, err := Sound{}.OpenOutput(out, capture.Format{RateHz: 48000}, func(block []float32) {
		for i := 0; i < len(block); i += 2 {
			block[i], block[i+1] = tone(at, 0), tone(at, 1)
			at++
		}
	}, func() {})
	if err != nil {
		t.Fatal(err)
	}
	defer play.Stop()
	if err := play.Start(); err != nil || play.Format() != (capture.Format{RateHz: 48000, Channels: 2}) {
		t.Fatalf("%v, %+v", err, play.Format())
	}
	m := &memory{}
	c, err := capture.Start(Sound{}, in, capture.Format{}, m.begin)
	if err != nil {
		t.Fatal(err)
	}
	recorded(t, c, 4)
	c.Stop()
	// A busy computer may play a hole; a half second without one has the whole tone.
	clean := false
	for from := 0; from+24000 <= len(m.sound)/2 && !clean; from += 4800 {
		part := m.sound[2*from : 2*(from+24000)]
		clean = true
		for ch := range 2 {
			own, other := amplitude(part, ch, 2, 200*(ch+1)), amplitude(part, ch, 2, 200*(2-ch))
			clean = clean && math.Abs(own-0.1*float64(ch+1)) < 0.002 && other < 0.002
		}
	}
	if !clean {
		t.Error("in four seconds there is no half second with the left tone on the left, the right one on the right, and nothing else")
	}
	if _, err := (Sound{}).OpenOutput(out, capture.Format{Channels: 4}, nil, nil); err == nil || !strings.Contains(err.Error(), "stereo") {
		t.Errorf("%v", err)
	}
}

// amplitude correlates half a second of a channel with a tone, which fits into it
// a whole number of times.
func amplitude(sound []float32, channel, channels, hz int) float64 {
	var s, c float64
	n := len(sound) / channels
	for i := range n {
		v, phase := float64(sound[i*channels+channel]), 2*math.Pi*float64(hz*i)/48000
		s += v * math.Sin(phase)
		c += v * math.Cos(phase)
	}
	return 2 * math.Hypot(s, c) / float64(n)
}

// The server dies while it records: what came is kept, one sentence says so; and once there is a server again it can be recorded from.
func TestServerKilled(t *testing.T) {
	s := bench(t, 2)
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	m := &memory{}
	c, err := capture.Start(Sound{}, in, capture.Format{}, m.begin)
	if err != nil {
		t.Fatal(err)
	}
	recorded(t, c, 0.8)
	s.Kill()
	select {
	case <-c.Done():
	case <-time.After(hangs):
		t.Fatalf("nobody noticed within %v", hangs)
	}
	got := c.Stop()
	if got.Err == nil || !strings.Contains(got.Err.Error(), "Bench") || !strings.Contains(got.Err.Error(), "kept") || strings.Contains(got.Err.Error(), "\n") {
		t.Errorf("%v", got.Err)
	}
	if got.DurationS() < 0.7 || int64(len(m.sound)) != 2*got.Frames {
		t.Errorf("%.2f s kept, %d samples", got.DurationS(), len(m.sound))
	}
	if _, err := (Sound{}).OpenInput(in, capture.Format{}, nil, nil); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("without a server: %v", err)
	}
}

func TestNoSuchDevice(t *testing.T) {
	bench(t, 2)
	for _, d := range []capture.Device{{ID: "zz", Name: "Kettle"}, {ID: strings.Repeat("00", 5000), Name: "Kettle"}, {ID: "6b6574746c65", Name: "Kettle"},
		{ID: "kettle", Name: "Kettle", System: pulseName}} {
		s, err := Sound{}.OpenInput(d, capture.Format{}, func([]float32) {}, func() {})
		if err == nil {
			s.Stop()
			t.Errorf("%q was opened", d.ID)
		} else if !strings.Contains(err.Error(), "Kettle") {
			t.Errorf("%q", err)
		}
	}
}

func TestPicker(t *testing.T) {
	var got []float32
	p := newPicker(3, 2, func(b []float32) { got = append(got, b...) })
	var all, want []float32
	for n := range 2*scratchFrames + 5 {
		i := float32(n)
		all = append(all, i, -i, 9)
		want = append(want, i, -i)
	}
	if p.put(all); !slices.Equal(got, want) {
		t.Error("the first two of three channels are not what came")
	}
	quiet := newPicker(3, 2, func([]float32) {})
	if n := testing.AllocsPerRun(100, func() { quiet.put(all) }); n != 0 {
		t.Errorf("%v allocations a delivery", n)
	}
}
