package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"lagwright/calib/capture"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/deeptest"
	"lagwright/internal/testpulse"
)

// The test program is the program itself when this variable is set.
const asProgram = "LAGWRIGHT_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
		return
	}
	code := m.Run()
	if demonstrated.dir != "" {
		os.RemoveAll(demonstrated.dir)
	}
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
	if code != exitOK || complaints != "" || !strings.HasPrefix(out, " 1  Replay (Lagwright, 2 channels at 48000 Hz, the computer's own choice)") {
		t.Errorf("exit %d, %q, %q", code, out, complaints)
	}
	code, out, _ = run(t, "record", "-list", "-json")
	var devices []capture.Device
	if err := json.Unmarshal([]byte(out), &devices); code != exitOK || err != nil || len(devices) != 1 || devices[0].RateHz != 48000 {
		t.Errorf("exit %d, %v, %q", code, err, out)
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
	replay(t, &capture.Replay{Source: recording, Speed: 4, EndAt: recording.Frames() - 4800})
	if err := os.WriteFile("take-001.wav", nil, 0o600); err != nil {
		t.Fatal(err)
	}
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
	f, err := take.Open(path)
	if err != nil {
		t.Fatal(err)
	}
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
	lag, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	if m[2] == "early" {
		return -lag
	}
	return lag
}

// recorder is a program that records from a sound server of our own.
type recorder struct {
	*testpulse.Server
	dir  string
	cmd  *exec.Cmd
	out  bytes.Buffer
	errs bytes.Buffer
}

func soundServer(t *testing.T) *testpulse.Server {
	t.Helper()
	s, err := testpulse.Start(t.TempDir(), testpulse.Format{RateHz: 48000, Channels: 2})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Kill)
	return s
}

// startRecording starts the program and waits until sound arrives.
func startRecording(t *testing.T, s *testpulse.Server, args ...string) *recorder {
	t.Helper()
	r := &recorder{Server: s, dir: t.TempDir()}
	r.cmd = exec.Command(os.Args[0], append([]string{"record", "-o", filepath.Join(r.dir, "take-001.wav")}, args...)...)
	r.cmd.Env = append(append(os.Environ(), s.Env()...), asProgram+"=1")
	r.cmd.Stdout, r.cmd.Stderr = &r.out, &r.errs
	if err := r.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.cmd.Process.Kill() })
	eventually(t, "sound is recorded", func() bool { return r.frames() > 0 })
	return r
}

func (r *recorder) part() string { return filepath.Join(r.dir, "take-001.part.wav") }

// frames is how much can be read while the take grows.
func (r *recorder) frames() int64 {
	f, err := take.Open(r.part())
	if err != nil {
		return 0
	}
	defer f.Close()
	return f.Frames()
}

// exit waits for the program's end.
func (r *recorder) exit(t *testing.T) int {
	t.Helper()
	late := time.AfterFunc(hangs, func() { r.cmd.Process.Kill() })
	defer late.Stop()
	r.cmd.Wait()
	return r.cmd.ProcessState.ExitCode()
}

// The whole way for real: another program plays a take into a sound server, and
// the recording of it says the same lag as the file.
func TestRecordForReal(t *testing.T) {
	t.Parallel() // most of it waits
	s := soundServer(t)
	file := filepath.Join(t.TempDir(), "played.wav")
	record(t, file, tub)
	_, out, _ := run(t, "measure", file)
	want := lagIn(t, out)
	r := startRecording(t, s, "-measure", "-device", "bench")
	if err := s.Play(context.Background(), file); err != nil {
		t.Fatal(err)
	}
	r.cmd.Process.Signal(os.Interrupt)
	if code := r.exit(t); code != exitOK || r.errs.Len() > 0 {
		t.Fatalf("exit %d, %q", code, &r.errs)
	}
	got := lagIn(t, r.out.String())
	t.Logf("lag of the file %.2f ms, recorded %.2f ms", want, got)
	if math.Abs(got-want) > 0.2 || !strings.Contains(r.out.String(), "no overruns, no gaps") {
		t.Errorf("lag %.2f ms recorded, %.2f ms in the file: %s", got, want, &r.out)
	}
}

// The sound server dies in the middle of a take.
func TestRecordServerDies(t *testing.T) {
	t.Parallel() // most of it waits
	s := soundServer(t)
	r := startRecording(t, s)
	eventually(t, "half a second is recorded", func() bool { return r.frames() >= 24000 })
	before := r.frames()
	s.Kill()
	if code := r.exit(t); code != exitFailed || strings.Count(r.errs.String(), "\n") != 1 || !strings.Contains(r.errs.String(), "kept") {
		t.Errorf("exit %d, %q", code, &r.errs)
	}
	f := opened(t, filepath.Join(r.dir, "take-001.wav"))
	if f.Frames() < before || len(f.Warnings()) > 0 {
		t.Errorf("%d frames kept, %d were there before; %v", f.Frames(), before, f.Warnings())
	}
}

// Killed outright at any moment: all that could be read is there, and is found. What
// can be read grows meanwhile.
func TestRecordKilled(t *testing.T) {
	t.Parallel() // most of it waits
	s := soundServer(t)
	random := rand.New(rand.NewPCG(deeptest.Seed(t), 1))
	for range 3 {
		r := startRecording(t, s)
		first := r.frames()
		eventually(t, "the recording grows", func() bool { return r.frames() > first })
		time.Sleep(time.Duration(random.Int64N(int64(time.Second))))
		before := r.frames()
		r.cmd.Process.Kill()
		r.cmd.Wait()
		left := take.Unfinished(r.dir)
		if len(left) != 1 {
			t.Fatalf("unfinished: %v", left)
		}
		path, err := take.Rescue(left[0])
		if err != nil {
			t.Fatal(err)
		}
		if f := opened(t, path); f.Frames() < before {
			t.Errorf("%d frames are left of %d", f.Frames(), before)
		}
	}
}

// A disk that fills up, which here is a limit on the size of a file.
func TestRecordFullDisk(t *testing.T) {
	t.Parallel() // most of it waits
	s := soundServer(t)
	dir := t.TempDir()
	cmd := exec.Command("sh", "-c", `ulimit -f 800 && exec "$0" record -o "$1"`, os.Args[0], filepath.Join(dir, "take-001.wav"))
	cmd.Env = append(append(os.Environ(), s.Env()...), asProgram+"=1")
	var errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = io.Discard, &errs
	late := time.AfterFunc(hangs, func() { cmd.Process.Kill() })
	defer late.Stop()
	if err := cmd.Run(); err == nil || strings.Count(errs.String(), "\n") != 1 || !strings.Contains(errs.String(), "make room") {
		t.Errorf("%v, %q", err, &errs)
	}
	if f := opened(t, filepath.Join(dir, "take-001.wav")); f.DurationS() < 1 || len(f.Warnings()) > 0 {
		t.Errorf("%.2f s kept, %v", f.DurationS(), f.Warnings())
	}
}
