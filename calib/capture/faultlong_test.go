package capture_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/internal/procfs"
	"lagwright/internal/target"
)

// blockedFor is how long a disk takes for one write: longer than the ring lasts.
const blockedFor = 7 * time.Second

// blocked is a sink whose disk hangs once.
type blocked struct {
	*take.Recorder
	at   int64 // frame from which on it hangs
	once bool
}

// Write hangs at its moment.
func (b *blocked) Write(interleaved []float32) error {
	if !b.once && b.Frames() >= b.at {
		b.once = true
		time.Sleep(blockedFor)
	}
	return b.Recorder.Write(interleaved)
}

// overrun records while the disk hangs: what found no room has to be counted, to
// the frame, and be stored in the take.
func (r *faults) overrun(ctx context.Context) ([]attempt, []target.Figure) {
	rec := must.Get(take.Create(takeIn(r.t.TempDir()), stageFormat))(r.t)
	c := must.Get(startReplay(&capture.Replay{Source: clockSource}, &blocked{Recorder: rec, at: 2 * clockRate}))(r.t)
	select {
	case <-ctx.Done():
	case <-time.After(2*time.Second + blockedFor + 2*time.Second):
	}
	result := c.Stop()
	path := must.Get(rec.Finish())(r.t)
	a := attempt{fault: "disk hangs", moment: fmt.Sprintf("for %g s, a ring of 5 s", blockedFor.Seconds())}
	a, uncounted := counted(a, path, &witness{}, 0)
	switch {
	case result.Err != nil:
		a.wrong = result.Err.Error()
	case result.Lost == 0:
		a.wrong = "there was no overrun"
	}
	return []attempt{r.note(a)}, []target.Figure{
		target.Plain("overrun", float64(result.Lost)/clockRate, "s"),
		target.AtMost("overrun_uncounted", uncounted*clockRate, "frames", 0),
		target.AtMost("overrun_wrong", float64(wrong([]attempt{a})), "takes", 0),
	}
}

func startReplay(sound *capture.Replay, sink capture.Sink) (*capture.Capture, error) {
	inputs, err := sound.Inputs()
	if err != nil {
		return nil, err
	}
	return capture.Start(sound, inputs[0], calib.Format{}, capture.To(sink))
}

// memoryFound is what the job that records fast reports.
type memoryFound struct {
	FirstMiB, LastMiB float64 // after a minute of sound, and at the end
	RecordedS, LostS  float64
}

// fastS is how long the fast recording may take; sound comes this much faster.
const fastS = 45.0

// memory records as long a take as a real one in fastS, in a process of its own.
func (r *faults) memory(ctx context.Context) ([]attempt, []target.Figure) {
	var out strings.Builder
	cmd := exec.CommandContext(ctx, os.Args[0])
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%g", memoryMinutes, r.minutes))
	cmd.Stdout, cmd.Stderr = &out, os.Stderr
	must.Do(r.t, cmd.Run())
	var m memoryFound
	if err := json.Unmarshal([]byte(out.String()), &m); err != nil {
		r.t.Fatalf("recording fast said %q: %v", out.String(), err)
	}
	a := attempt{fault: "long take, fast", keptS: m.RecordedS,
		moment: fmt.Sprintf("%g minutes in %.0f s, %.2f s too fast for this computer and told: %.1f MiB after the first, %.1f at the end", r.minutes, fastS, m.LostS, m.FirstMiB, m.LastMiB)}
	return []attempt{r.note(a)}, []target.Figure{
		target.Plain("fast_memory", m.LastMiB, "MiB"),
		target.AtMost("fast_memory_growth", m.LastMiB-m.FirstMiB, "MiB", flatMiB),
	}
}

// memoryJob records so many minutes of the clock, fast, and writes what it took.
// Sound that such speed has lost is no fault, and told beside.
func memoryJob(w io.Writer, minutes float64) error {
	dir, err := os.MkdirTemp("", "lagwright-faults")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	rec, err := take.Create(takeIn(dir), calib.Format{RateHz: clockRate, Channels: clockChannels})
	if err != nil {
		return err
	}
	c, err := startReplay(&capture.Replay{Source: clockSource, Speed: minutes * 60 / fastS}, rec)
	if err != nil {
		return err
	}
	var m memoryFound
	for done := false; !done; time.Sleep(10 * time.Millisecond) {
		status := c.Status()
		at := float64(status.Frames+status.Lost) / clockRate
		if m.FirstMiB == 0 && at >= 60 {
			m.FirstMiB = residentMiB(os.Getpid())
		}
		done = at >= minutes*60
	}
	m.LastMiB = residentMiB(os.Getpid())
	result := c.Stop()
	m.RecordedS, m.LostS = result.DurationS(), float64(result.Lost)/clockRate
	if _, err := rec.Finish(); err != nil {
		return err
	}
	return json.NewEncoder(w).Encode(m)
}

// residentMiB is the memory that a process holds now.
func residentMiB(pid int) float64 { return procfs.MemoryMiB(strconv.Itoa(pid), "VmRSS") }

// longTake records in real time, and looks at every frame of it afterwards.
func (r *faults) longTake(ctx context.Context) ([]attempt, []target.Figure) {
	st, rec := r.staged(ctx)
	defer st.close()
	r.t.Logf("recording for %g minutes", r.minutes)
	first, last := 0.0, 0.0
	for minute := 1.0; minute <= r.minutes && ctx.Err() == nil; minute++ {
		select {
		case <-ctx.Done():
		case <-time.After(time.Minute):
		}
		last = residentMiB(rec.cmd.Process.Pid)
		if minute == 1 {
			first = last
		}
		r.t.Logf("%g minutes: %.1f MiB", minute, last)
	}
	moment := st.witness.now()
	must.Do(r.t, rec.signal("INT"))
	a := attempt{fault: "long take", wrong: rec.ends(0, ""),
		moment: fmt.Sprintf("%g minutes: %.1f MiB after the first, %.1f at the end", r.minutes, first, last)}
	a = rec.finished(a, &st.witness, moment)
	a, uncounted := counted(a, takeIn(rec.dir), &st.witness, moment)
	return []attempt{r.note(a)}, append(judged("long", []attempt{a}),
		target.Plain("long_memory_first", first, "MiB"), target.Plain("long_memory_last", last, "MiB"),
		target.AtMost("long_memory_growth", last-first, "MiB", flatMiB), target.AtMost("long_uncounted", uncounted*clockRate, "frames", 0))
}
