//go:build cgo && linux

package device

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/internal/testpulse"
)

// servers are those that desktops run, each of which speaks PulseAudio's protocol.
var servers = map[string]func(string, calib.Format) (*testpulse.Server, error){"PulseAudio": testpulse.Start, "PipeWire": testpulse.StartPipeWire}

// onEach runs a test with a sound server of our own of each kind.
func onEach(t *testing.T, channels int, test func(*testing.T, *testpulse.Server)) {
	for kind := range servers {
		t.Run(kind, func(t *testing.T) { test(t, bench(t, kind, channels)) })
	}
}

// bench starts a sound server and sends this process there.
func bench(t *testing.T, kind string, channels int) *testpulse.Server {
	t.Helper()
	s := must.Get(servers[kind](t.TempDir(), calib.Format{RateHz: 48000, Channels: channels}))(t)
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
func (m *memory) begin(calib.Format) (capture.Sink, error) { return m, nil }

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

// tonePeak is how loud the tone of the first channel is; the second's is twice that.
const tonePeak = 0.1

// playTones plays a recording whose channel c carries 200·c Hz at tonePeak·c, c from 1,
// again and again until stop is called.
func playTones(t *testing.T, s *testpulse.Server, channels int) (stop func()) {
	t.Helper()
	r := must.Get(take.Create(filepath.Join(t.TempDir(), "tones.wav"), calib.Format{RateHz: 48000, Channels: channels}))(t)
	var sound []float32
	for at := range 30 * 48000 {
		for c := range channels {
			sound = append(sound, tone(at, c))
		}
	}
	must.Do(t, r.Write(sound))
	path := must.Get(r.Finish())(t)
	ctx, cancel := context.WithCancel(t.Context())
	played := make(chan struct{})
	go func() {
		defer close(played)
		for ctx.Err() == nil {
			s.Play(ctx, path)
		}
	}()
	return func() { cancel(); <-played }
}

func tone(at, channel int) float32 {
	return float32(tonePeak * float64(channel+1) * math.Sin(2*math.Pi*float64(200*(channel+1)*at)/48000))
}

// Each channel of a device arrives as it is, unmixed, whatever part of the channels is
// wanted.
func TestChannelsStayApart(t *testing.T) {
	for _, channels := range []int{2, 4, 8} {
		onEach(t, channels, func(t *testing.T, s *testpulse.Server) { staysApart(t, s, channels) })
	}
}

func staysApart(t *testing.T, s *testpulse.Server, channels int) {
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	if in.Channels != channels || in.RateHz != 48000 || in.System != "PulseAudio" || !strings.Contains(in.Name, "Bench") {
		t.Errorf("%+v", in)
	}
	defer playTones(t, s, channels)()
	for _, want := range slices.Compact([]int{channels, 2, channels/2 + 1}) {
		m := &memory{}
		c := must.Get(capture.Start(Sound{}, in, calib.Format{Channels: want % channels}, m.begin))(t)
		isClean := m.clean(t, want, 0)
		got := c.Stop()
		if got.Err != nil || got.Format != (calib.Format{RateHz: 48000, Channels: want}) {
			t.Fatalf("asked for %d channels: %+v", want, got)
		}
		if !isClean {
			t.Errorf("asked for %d channels of %d: there is no half second in which each carries its own tone and no other", want, channels)
		}
	}
	if _, err := capture.Start(Sound{}, in, calib.Format{Channels: channels + 1}, new(memory).begin); err == nil || !strings.Contains(err.Error(), "were asked for") {
		t.Errorf("%v", err)
	}
}

// A device that is taken away while it records ends the recording by itself: what came
// is kept, and one sentence says so.
func TestDeviceTakenAway(t *testing.T) {
	onEach(t, 2, func(t *testing.T, s *testpulse.Server) {
		endsByItself(t, func() {
			if err := s.Control("unload-module", "module-null-sink"); err != nil {
				t.Error(err)
			}
		})
	})
}

// A computer without a sound server is recorded from by ALSA, which here is led in real
// time from a server that the program itself is not told of.
func TestALSAAlone(t *testing.T) {
	s := bench(t, "PulseAudio", 2)
	defer playTones(t, s, 2)()
	home := t.TempDir()
	config := fmt.Sprintf("pcm.bench { type pulse server %q device \"bench.monitor\" hint { show on description \"Bench in\" } }\n", os.Getenv("PULSE_SERVER"))
	must.Do(t, os.WriteFile(filepath.Join(home, ".asoundrc"), []byte(config), 0o600))
	t.Setenv("HOME", home)
	t.Setenv("PULSE_SERVER", "")
	t.Setenv("XDG_RUNTIME_DIR", "")
	inputs := must.Get(Sound{}.Inputs())(t)
	at := slices.IndexFunc(inputs, func(d capture.Device) bool { return d.Name == "Bench in" })
	if at < 0 || inputs[at].System != "ALSA" || slices.ContainsFunc(inputs, func(d capture.Device) bool { return d.Name == "" || pluginNames[d.Name] }) {
		t.Fatalf("%+v", inputs)
	}
	m := &memory{}
	c := must.Get(capture.Start(Sound{}, inputs[at], calib.Format{RateHz: 48000, Channels: 2}, m.begin))(t)
	began := time.Now()
	isClean := m.clean(t, 2, 24000)
	got := c.Stop()
	if most := time.Since(began) + 3*time.Second; got.Err != nil || got.DurationS() > most.Seconds() { // the server may have played up to two seconds ahead
		t.Errorf("%.1f s recorded within %v, %v", got.DurationS(), most, got.Err)
	}
	if !isClean {
		t.Error("there is no half second in which each channel carries its own tone and no other")
	}
}

// A take goes on at its own rate where the sound server changes that of its devices.
func TestRateChanged(t *testing.T) {
	s := bench(t, "PipeWire", 2)
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	defer playTones(t, s, 2)()
	m := &memory{}
	c := must.Get(capture.Start(Sound{}, in, calib.Format{}, m.begin))(t)
	recorded(t, c, 2)
	change := exec.Command("pw-metadata", "-n", "settings", "0", "clock.force-rate", "44100")
	change.Env = append(os.Environ(), s.Env()...)
	if out, err := change.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	isClean := m.clean(t, 2, int(c.Status().Frames)+3*48000) // it takes PipeWire a second or two to follow
	got := c.Stop()
	if got.Err != nil || got.Format.RateHz != 48000 {
		t.Fatalf("%+v", got)
	}
	if !isClean {
		t.Error("after the change there is no half second in which each channel carries its own tone and no other")
	}
}

// What is played by one stream is heard by the other, left on the left.
func TestPlayed(t *testing.T) {
	onEach(t, 2, isPlayed)
}

func isPlayed(t *testing.T, _ *testpulse.Server) {
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	outputs, err := Sound{}.Outputs()
	out := only(t, outputs, err)
	at := 0
	play := must.Get(Sound{}.OpenOutput(out, calib.Format{RateHz: 48000}, func(block []float32) {
		for i := 0; i < len(block); i += 2 {
			block[i], block[i+1] = tone(at, 0), tone(at, 1)
			at++
		}
	}, func() {}))(t)
	defer play.Stop()
	if err := play.Start(); err != nil || play.Format() != (calib.Format{RateHz: 48000, Channels: 2}) {
		t.Fatalf("%v, %+v", err, play.Format())
	}
	m := &memory{}
	c := must.Get(capture.Start(Sound{}, in, calib.Format{}, m.begin))(t)
	isClean := m.clean(t, 2, 0)
	c.Stop()
	if !isClean {
		t.Error("there is no half second with the left tone on the left, the right one on the right, and nothing else")
	}
	if _, err := (Sound{}).OpenOutput(out, calib.Format{Channels: 4}, nil, nil); err == nil || !strings.Contains(err.Error(), "stereo") {
		t.Errorf("%v", err)
	}
}

// clean waits until in some half second, from a frame on, each channel carries its own
// tone and no neighbour's. A busy computer plays holes into others.
func (m *memory) clean(t *testing.T, channels, from int) bool {
	t.Helper()
	for deadline := time.Now().Add(hangs); time.Now().Before(deadline); time.Sleep(50 * time.Millisecond) {
		m.mu.Lock()
		sound := m.sound
		m.mu.Unlock()
		for ; (from+24000)*channels <= len(sound); from += 4800 {
			if isClean(sound[from*channels:(from+24000)*channels], channels) {
				return true
			}
		}
	}
	return false
}

func isClean(sound []float32, channels int) bool {
	for ch := range channels {
		for tone := max(0, ch-1); tone <= ch+1; tone++ {
			want := 0.0
			if tone == ch {
				want = tonePeak * float64(ch+1)
			}
			if math.Abs(amplitude(sound, ch, channels, 200*(tone+1))-want) >= 0.002 {
				return false
			}
		}
	}
	return true
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
	onEach(t, 2, func(t *testing.T, s *testpulse.Server) {
		in := endsByItself(t, s.Kill)
		if _, err := (Sound{}).OpenInput(in, calib.Format{}, nil, nil); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("without a server: %v", err)
		}
	})
}

// endsByItself records, has something end that, and looks at what is left.
func endsByItself(t *testing.T, end func()) capture.Device {
	t.Helper()
	inputs, err := Sound{}.Inputs()
	in := only(t, inputs, err)
	m := &memory{}
	c := must.Get(capture.Start(Sound{}, in, calib.Format{}, m.begin))(t)
	recorded(t, c, 0.8)
	end()
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
	return in
}

func TestNoSuchDevice(t *testing.T) {
	bench(t, "PulseAudio", 2)
	for _, d := range []capture.Device{{ID: "zz", Name: "Kettle"}, {ID: strings.Repeat("00", 5000), Name: "Kettle"}, {ID: "6b6574746c65", Name: "Kettle"},
		{ID: "kettle", Name: "Kettle", System: pulseName}} {
		s, err := Sound{}.OpenInput(d, calib.Format{}, func([]float32) {}, func() {})
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
