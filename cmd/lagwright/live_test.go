package main

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/capture/device"
	"lagwright/calib/handsfree"
	"lagwright/calib/live"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/internal/testpulse"
)

const liveTempo = 96

// The hands-free take for real: another program plays the simulated machine into a
// sound server, whose monitor is the microphones; tones go to another output.

// TestLive has its parts one after the other, each with the one sound server of this
// process.
func TestLive(t *testing.T) {
	t.Parallel()
	t.Run("hands-free", testLiveHandsFree)
	t.Run("the server dies", testLiveServerDies)
}

// liveBench is a machine whose microphones are those of the sound server of this process.
func liveBench(t *testing.T) (*bench.Bench, *testpulse.Server, live.Aloud) {
	t.Helper()
	s := soundServer(t, liveDir)
	must.Do(t, s.PlayElsewhere())
	speaker := must.Get(live.NewSpeaker(device.Sound{}, defaultOutput(t)))(t)
	t.Cleanup(speaker.Close)
	return machineOf(t, "Monitor of Bench"), s, live.Aloud{Ring: speaker.Ring}
}

func defaultOutput(t *testing.T) capture.Device {
	t.Helper()
	outputs, err := device.Sound{}.Outputs()
	i := slices.IndexFunc(outputs, func(d capture.Device) bool { return d.Default })
	if err != nil || i < 0 || outputs[i].Name != "Room" {
		t.Fatalf("the default output of %+v is not Room: %v", outputs, err)
	}
	return outputs[i]
}

// machineOf is a new machine with two microphones on a device.
func machineOf(t *testing.T, from string) *bench.Bench {
	t.Helper()
	m := bench.Practice(1, liveTempo)
	m.Build.PracticeSeed = 0 // as a real one
	m.Microphones = &machine.Microphones{Device: from, RateHz: 48000, Channels: 2, Reference: 1,
		Voices: []machine.Microphone{{Voice: m.Target.Voice, Channel: 2}}}
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), m))(t)
	t.Cleanup(func() { b.Close() })
	return b
}

// playing writes a take of the simulated machine and has another program play it,
// until it ends or the test does.
func playing(t *testing.T, s *testpulse.Server, hits int) (file string) {
	t.Helper()
	file = filepath.Join(t.TempDir(), "played.wav")
	record(t, file, practice.Play{TempoBPM: liveTempo, Hits: hits, Seed: 7})
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { defer close(ended); s.Play(ctx, file) }() // stopped before its end most of the time
	t.Cleanup(func() { stop(); <-ended })
	return file
}

// over waits until a take is over, measured and kept.
func over(t *testing.T, l *live.Take) {
	t.Helper()
	select {
	case <-l.Done():
	case <-time.After(hangs):
		t.Fatalf("the take is not over after %v: %+v", hangs, l.Now().Say)
	}
}

// From arming to the kept take nobody touches anything; its lag is that of the same
// hits in the file that was played, and it comes before the machine has played all of
// them.
func testLiveHandsFree(t *testing.T) {
	b, s, aloud := liveBench(t)
	l := must.Get(live.Record(b, device.Sound{}, aloud))(t)
	const hits = 40
	file := playing(t, s, hits)
	over(t, l)
	kept := must.Get(l.Kept())(t)
	end := l.Now()
	if end.Say.Phase != handsfree.Enough || end.Say.Good < 8 || end.Say.Good >= hits || end.LostMS > 0 || end.Fault != nil {
		t.Errorf("it ended as %q (%s) with %d hits, %.1f ms lost, %q", end.Say.Phase, end.Say.Reason, end.Say.Good, end.LostMS, end.Fault)
	}
	want := lagOfSame(t, heardIn(t, file), kept.Heard[0].Reading)
	t.Logf("lag of the same %d hits in the file %.3f ms, live %.3f ms", kept.Heard[0].Reading.Used(), want, kept.Heard[0].Reading.LagMS)
	if math.Abs(kept.Heard[0].Reading.LagMS-want) > 0.2 {
		t.Errorf("the live lag is %.3f ms, that of the same hits in the file %.3f", kept.Heard[0].Reading.LagMS, want)
	}
	if f := opened(t, filepath.Join(b.Dir(), kept.File)); len(f.Warnings()) > 0 || len(f.Gaps()) > 0 {
		t.Errorf("%v, gaps %v", f.Warnings(), f.Gaps())
	}
}

func heardIn(t *testing.T, path string) calib.Reading {
	t.Helper()
	return must.Get(signal.Measure(context.Background(), opened(t, path), signal.Options{Reference: 1, Voice: 2}))(t)
}

// lagOfSame returns the lag of those hits of a file that part, a recording of some
// of it, uses. Part begins at any moment of the file, which is found by trying them.
func lagOfSame(t *testing.T, file, part calib.Reading) float64 {
	t.Helper()
	const nearS = 0.002
	used := slices.DeleteFunc(slices.Clone(part.Pairs), func(p calib.Pair) bool { return !p.Used })
	for _, first := range file.Pairs {
		var same []calib.Pair
		for _, p := range file.Pairs {
			at := p.ReferenceS - first.ReferenceS + used[0].ReferenceS
			if slices.ContainsFunc(used, func(u calib.Pair) bool { return math.Abs(u.ReferenceS-at) < nearS }) {
				p.Used, p.Reason = true, ""
				same = append(same, p)
			}
		}
		if len(same) == len(used) {
			return calib.Read(same, nil, nil, 1).LagMS
		}
	}
	t.Fatalf("the %d pairs of the recording are nowhere among the %d of the file", len(used), len(file.Pairs))
	return 0
}

// The sound server dies while hits are counted: the take so far is kept as a take,
// and a sentence says so.
func testLiveServerDies(t *testing.T) {
	b, s, aloud := liveBench(t)
	l := must.Get(live.Record(b, device.Sound{}, aloud))(t)
	file := playing(t, s, 40)
	eventually(t, "four hits are counted", func() bool { return l.Now().Say.Good >= 4 })
	before := l.Now().RecordedS
	s.Kill()
	over(t, l)
	kept := must.Get(l.Kept())(t)
	end := l.Now()
	enough := end.Say.Phase == handsfree.Enough && end.Say.Good >= 8 // a busy computer looks when the server is dead, and enough had come before
	if end.Say.Reason != handsfree.DeviceLost && !enough || !strings.Contains(fmt.Sprint(end.Fault), "Monitor of Bench") || !strings.Contains(fmt.Sprint(end.Fault), "kept") || strings.Contains(fmt.Sprint(end.Fault), "\n") {
		t.Errorf("it says %q, %q", end.Say.Reason, end.Fault)
	}
	f := opened(t, filepath.Join(b.Dir(), "take-001.wav"))
	if kept.ID != 1 || kept.File != "take-001.wav" || len(b.Machine().Takes) != 1 || f.DurationS() < before {
		t.Errorf("kept as take %d, %s, with %.2f s of %.2f; the machine has %d takes", kept.ID, kept.File, f.DurationS(), before, len(b.Machine().Takes))
	}
	if left, _ := os.ReadDir(b.Dir()); len(take.Unfinished(b.Dir())) > 0 {
		t.Errorf("left behind: %v", left)
	}
	want := lagOfSame(t, heardIn(t, file), kept.Heard[0].Reading)
	t.Logf("%.2f s kept, lag of the same %d hits in the file %.3f ms, live %.3f ms: %s", f.DurationS(), kept.Heard[0].Reading.Used(), want, kept.Heard[0].Reading.LagMS, end.Fault)
	if math.Abs(kept.Heard[0].Reading.LagMS-want) > 0.2 {
		t.Errorf("the live lag is %.3f ms, that of the same hits in the file %.3f", kept.Heard[0].Reading.LagMS, want)
	}
}
