package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/internal/testpulse"
)

// The test program is the program itself when this variable is set.
const asProgram = "LAGWRIGHT_TEST_AS_PROGRAM"

// liveDir is where the sound server lies that this process itself records from and plays
// to: the C library looks at the environment of the process, which all tests share.
var liveDir string

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
		return
	}
	flag.Parse()
	flag.Set("test.parallel", "6") // what runs side by side waits for other programs most of the time
	dir, err := os.MkdirTemp("", "lagwright-live")
	if err != nil {
		panic(err)
	}
	liveDir = dir
	for _, one := range testpulse.Env(dir) { // where this process itself finds sound
		name, value, _ := strings.Cut(one, "=")
		os.Setenv(name, value)
	}
	code := m.Run()
	os.RemoveAll(demonstrated.dir)
	os.RemoveAll(dir)
	os.Exit(code)
}

// replay puts a recording in the place of the computer's microphones.
func replay(t *testing.T, r *capture.Replay) {
	t.Helper()
	was := computer
	computer = r
	t.Cleanup(func() { computer = was })
}

var tub = practice.Play{Voice: "tub drum", TempoBPM: 120, Setting: 4, Seed: 3}

func TestRecordList(t *testing.T) {
	recording, _ := practice.Default().Play(tub)
	replay(t, &capture.Replay{Source: recording})
	code, out, complaints := run(t, "record", "-list")
	if code != exitOK || complaints != "" || !strings.HasPrefix(out, " 1  Replay (Lagwright, 2 channels at 48000 Hz, the system default)") {
		t.Errorf("exit %d, %q, %q", code, out, complaints)
	}
	code, out, _ = run(t, "record", "-list", "-json")
	var devices []capture.Device
	if err := json.Unmarshal([]byte(out), &devices); code != exitOK || err != nil || len(devices) != 1 || devices[0].RateHz != 48000 {
		t.Errorf("exit %d, %v, %q", code, err, out)
	}
}

// A device that tells nothing of itself shows no zeros, and of many gaps the worst are told.
func TestRecordTellsWhatIsKnown(t *testing.T) {
	var out bytes.Buffer
	if err := listDevices([]capture.Device{{Name: "default", System: "ALSA"}}, false, &out); err != nil || !strings.Contains(out.String(), "default (ALSA, tells its channels") {
		t.Errorf("%q, %v", &out, err)
	}
	out.Reset()
	r := capture.Result{Format: calib.Format{RateHz: 1000, Channels: 2}}
	for i := range int64(89) {
		r.Gaps = append(r.Gaps, capture.Gap{Frame: 100 * i, Lost: 1 + i%7*(i%11), Cause: capture.Missed})
	}
	printResult(&out, "take.wav", r)
	if said := out.String(); strings.Count(said, "\n") != 1+mostGaps || !strings.Contains(said, "lost at 89 places") || !strings.Contains(said, "lost: 0.061 s at 7.60 s") {
		t.Errorf("it says\n%s", said)
	}
}

func TestRecordUsage(t *testing.T) {
	recording, _ := practice.Default().Play(tub)
	replay(t, &capture.Replay{Source: recording})
	dir := t.TempDir()
	for _, c := range []struct {
		args string
		code int
		says string
	}{
		{"record take.wav", exitUsage, "goes after -o"},
		{"record -device 1 -device 2", exitUsage, "two clocks that drift apart"},
		{"record -json", exitUsage, "-list"},
		{"record -channels 1", exitUsage, "2 to 16"},
		{"record -channels 2 -voice 3", exitUsage, "channel 3 is not among"},
		{"record -reference 2", exitUsage, "must differ"},
		{"record -seconds -1", exitUsage, "how long"},
		{"record -seconds NaN", exitUsage, "how long"},
		{"record -rate -1", exitUsage, "frames a second"},
		{"record -device kettle", exitFailed, "record -list"},
		{"record -rate 44100", exitFailed, "48000"},
		{"record -channels 3", exitFailed, "2 channels"},
		{"record -measure -voice 3", exitFailed, "no channel 3"},
		{"record -o " + filepath.Join(dir, "take.mp3"), exitFailed, "ends in .wav"},
	} {
		code, out, complaints := run(t, strings.Fields(c.args)...)
		if code != c.code || !strings.Contains(complaints, c.says) || strings.Count(complaints, "\n") != 1 || out != "" {
			t.Errorf("%s: exit %d, %q, complaints %q; want %d saying %q in one line", c.args, code, out, complaints, c.code, c.says)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("left %v", left)
	}
}

func TestChoose(t *testing.T) {
	devices := []capture.Device{{Name: "Desk"}, {Name: "Bench in", Default: true}, {Name: "Bench out"}, {Name: "2"}}
	for want, name := range map[string]string{"": "Bench in", "1": "Desk", "Bench out": "Bench out", "desk": "Desk", "in": "Bench in", "2": "Bench in"} {
		if d, err := choose(devices, want); err != nil || d.Name != name {
			t.Errorf("%q: %s, %v", want, d.Name, err)
		}
	}
	for want, says := range map[string]string{"bench": "2 devices", "kettle": "no device", "9": "no device"} {
		if d, err := choose(devices, want); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %s, %v", want, d.Name, err)
		}
	}
	if _, err := choose(nil, ""); err == nil {
		t.Error("chose from nothing")
	}
}

// A take from a microphone that fails half way is kept, measured and told of.
func TestRecordKeepsWhatCame(t *testing.T) {
	recording, truth := practice.Default().Play(tub)
	t.Chdir(t.TempDir())
	replay(t, &capture.Replay{Source: recording, Speed: 8, EndAt: recording.Frames() - 4800})
	must.Do(t, os.WriteFile("take-001.wav", nil, 0o600))
	code, out, complaints := run(t, "record", "-measure")
	if code != exitFailed || strings.Count(complaints, "\n") != 1 || !strings.Contains(complaints, "stopped by itself") {
		t.Errorf("exit %d, complaints %q", code, complaints)
	}
	if lag := lagIn(t, out); math.Abs(lag-truth.MeanLagMS) > 0.2 || !strings.Contains(out, "take-002.wav: ") {
		t.Errorf("lag %.2f ms, true %.2f, in %s", lag, truth.MeanLagMS, out)
	}
	f := opened(t, "take-002.wav")
	if f.Frames() != recording.Frames()-4800 || len(f.Warnings()) > 0 {
		t.Errorf("%d frames, want %d; %v", f.Frames(), recording.Frames()-4800, f.Warnings())
	}
}

func opened(t *testing.T, path string) *take.File {
	t.Helper()
	f := must.Get(take.Open(path))(t)
	t.Cleanup(func() { f.Close() })
	return f
}

var lagWords = regexp.MustCompile(`: ([0-9.]+) ms (late|early), 95`)

// lagIn reads the lag back that measure prints, early negative.
func lagIn(t *testing.T, out string) float64 {
	t.Helper()
	m := lagWords.FindStringSubmatch(out)
	if m == nil {
		t.Fatalf("no lag in %q", out)
	}
	lag := must.Get(strconv.ParseFloat(m[1], 64))(t)
	if m[2] == "early" {
		return -lag
	}
	return lag
}

// soundServer is one of the test's own, in a folder.
func soundServer(t *testing.T, dir string) *testpulse.Server {
	t.Helper()
	s := must.Get(testpulse.Start(dir, calib.Format{RateHz: 48000, Channels: 2}))(t)
	t.Cleanup(s.Kill)
	return s
}

// The whole way for real: another program plays a take into a sound server, and
// the recording of it says the same as the file, of a sweep its law too. How a recording
// ends that is cut off is tried by the tests of calib/capture, on this program.
func TestRecordForReal(t *testing.T) {
	t.Parallel()
	sweep := practice.Play{Voice: "tub drum", TempoBPM: 80, Setting: 4, Seed: 3, Sweep: practice.Sweep{ToBPM: 130, Seconds: 15}}
	for name, c := range map[string]struct {
		start func(string, calib.Format) (*testpulse.Server, error)
		play  practice.Play
	}{
		"PulseAudio": {testpulse.Start, tub}, "PulseAudio, a sweep": {testpulse.Start, sweep},
		"PipeWire": {testpulse.StartPipeWire, tub}, "PipeWire, a sweep": {testpulse.StartPipeWire, sweep},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := must.Get(c.start(t.TempDir(), calib.Format{RateHz: 48000, Channels: 2}))(t)
			t.Cleanup(s.Kill)
			file := filepath.Join(t.TempDir(), "played.wav")
			record(t, file, c.play)
			want := measuredBy(t, file)
			eventually(t, "what is recorded measures as the file that was played", func() bool {
				recorded, said := recordPlayed(t, s, file)
				got, whole, near := measuredBy(t, recorded), strings.Contains(said, "no overruns, no gaps"), 0.1
				if !whole {
					near = 1
				}
				within := func(got, want float64, ci [2]float64) bool { return math.Abs(got-want) <= near*(ci[1]-ci[0])/2 }
				agrees := within(got.LagMS, want.LagMS, want.LagCI95MS) && (want.Law != nil) == (c.play.Sweep.ToBPM > 0) &&
					(want.Law == nil || got.Law != nil && within(got.Law.DelayMS, want.Law.DelayMS, want.Law.DelayCI95MS))
				t.Logf("lag of the file %.2f ms, recorded %.2f ms; law %+v and %+v; %s", want.LagMS, got.LagMS, want.Law, got.Law, said)
				// A null sink of PulseAudio's waits for a busy computer. PipeWire's does not, so
				// that a recording that tells of gaps agrees less closely, or is made again.
				if whole && !agrees || !whole && strings.HasPrefix(name, "PulseAudio") {
					t.Fatal("it does not")
				}
				return agrees
			})
		})
	}
}

func measuredBy(t *testing.T, file string) measured {
	t.Helper()
	code, out, complaints := run(t, "measure", "-json", file)
	var all []measured
	if err := json.Unmarshal([]byte(out), &all); err != nil || code != exitOK || len(all) != 1 {
		t.Fatalf("exit %d, %v, %s", code, err, complaints)
	}
	return all[0]
}

// recordPlayed records a file that is played into a sound server by this program, run as
// one of its own, and returns the recording and what the program said.
func recordPlayed(t *testing.T, s *testpulse.Server, file string) (recorded, out string) {
	t.Helper()
	grows := filepath.Join(t.TempDir(), "take-001.wav")
	r := exec.Command(os.Args[0], "record", "-measure", "-device", "bench", "-o", grows)
	r.Env = append(append(os.Environ(), s.Env()...), asProgram+"=1")
	var said, complaints bytes.Buffer
	r.Stdout, r.Stderr = &said, &complaints
	must.Do(t, r.Start())
	t.Cleanup(func() { r.Process.Kill() })
	eventually(t, "sound is recorded, and can be read while it is", func() bool {
		f, err := take.Open(strings.Replace(grows, ".wav", ".part.wav", 1))
		if err != nil {
			return false
		}
		defer f.Close()
		return f.Frames() > 0
	})
	must.Do(t, s.Play(context.Background(), file))
	r.Process.Signal(syscall.SIGTERM) // an interrupt is what the window's tests send
	if err := r.Wait(); err != nil || complaints.Len() > 0 {
		t.Fatalf("%v, %q", err, &complaints)
	}
	return grows, said.String()
}
