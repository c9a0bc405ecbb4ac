package capture_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
	"lagwright/internal/target"
	"lagwright/internal/testpulse"
)

const (
	kills     = 20
	atOnce    = 4               // recordings that run side by side
	latest    = 6 * time.Second // moment of a kill, after the first sound
	endings   = 5               // of the server
	stalls    = 3
	frozenFor = 7 * time.Second
)

// kill ends the program at once (SIGKILL) at random moments.
func (r *faults) kill(ctx context.Context) ([]attempt, []target.Figure) {
	st := must.Get(r.stage(ctx))(r.t)
	defer st.close()
	n := deeptest.Of(1, kills)
	attempts, failed := make([]attempt, n), make([]error, n)
	for from := 0; from < n; from += atOnce {
		var group sync.WaitGroup
		for i := from; i < min(from+atOnce, n); i++ {
			after := time.Duration(r.random.Int64N(int64(latest)))
			group.Go(func() { attempts[i], failed[i] = r.killOnce(ctx, st, after) })
		}
		group.Wait()
		for i := from; i < min(from+atOnce, n); i++ {
			must.Do(r.t, failed[i])
			r.note(attempts[i])
		}
	}
	return attempts, judged("killed", attempts)
}

func (r *faults) killOnce(ctx context.Context, st *soundStage, after time.Duration) (a attempt, err error) {
	dir := r.t.TempDir()
	rec, err := r.record(ctx, st.Server, dir)
	if err != nil {
		return a, err
	}
	time.Sleep(after)
	moment := st.witness.now()
	rec.cmd.Process.Kill()
	rec.cmd.Wait()
	a = attempt{fault: "program killed", moment: fmt.Sprintf("%.2f s after its first sound", after.Seconds())}
	return rescued(a, dir, &st.witness, moment), nil
}

// rescued gives what a killed program left its name, and reads it.
func rescued(a attempt, dir string, w *witness, upTo int64) attempt {
	a.lostS = float64(upTo) / clockRate
	left := take.Unfinished(dir)
	if len(left) != 1 {
		a.wrong = fmt.Sprintf("unfinished takes: %q", left)
		return a
	}
	path, err := take.Rescue(left[0])
	if err != nil {
		a.wrong = err.Error()
		return a
	}
	t, err := trackOf(path)
	a.keptS, a.lostS = t.keptS(), t.lostS(upTo)
	switch {
	case err != nil:
		a.wrong = err.Error()
	case t.first == 0:
		a.wrong = "there is no sound in it"
	case w.sounded(t.jumps) > 0 || t.astray > 0:
		a.wrong = fmt.Sprintf("%d frames are missing in between, %d astray", w.sounded(t.jumps), t.astray)
	case filepath.Base(path) != takeName:
		a.wrong = "it is called " + filepath.Base(path)
	}
	return a
}

// killedTake kills the program while a take is played into it, and measures what is
// left as the builder would: it says what the file that was played says.
func (r *faults) killedTake(ctx context.Context) ([]attempt, []target.Figure) {
	dir, sound := r.t.TempDir(), r.t.TempDir()
	s := must.Get(testpulse.Start(sound, stageFormat))(r.t)
	defer s.Kill()
	machine, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Seed: r.seed})
	file := filepath.Join(sound, "played.wav")
	must.Do(r.t, take.Write(ctx, file, machine, nil))
	want, _, err := r.measure(ctx, file)
	must.Do(r.t, err)
	rec := must.Get(r.record(ctx, s, dir))(r.t)
	err = s.Play(ctx, file)
	rec.cmd.Process.Kill()
	rec.cmd.Wait()
	must.Do(r.t, err)
	a := attempt{fault: "program killed, then measured", moment: "as a take ends"}
	off := math.Inf(1)
	if left := take.Unfinished(dir); len(left) != 1 {
		a.wrong = fmt.Sprintf("unfinished takes: %q", left)
	} else if lag, durationS, err := r.measure(ctx, left[0]); err != nil {
		a.wrong = err.Error()
	} else {
		a.keptS, off = durationS, math.Abs(lag-want)
	}
	return []attempt{r.note(a)}, []target.Figure{target.AtMost("killed_lag_off", off, "ms", lagOffMS)}
}

// measure has the program measure a take.
func (r *faults) measure(ctx context.Context, path string) (lagMS, durationS float64, err error) {
	var takes []struct {
		LagMS     float64 `json:"lag_ms"`
		DurationS float64 `json:"duration_s"`
		Error     string  `json:"error"`
	}
	var out strings.Builder
	if err := runInto(ctx, &out, r.bin, "measure", "-json", path); err != nil {
		return 0, 0, fmt.Errorf("measuring ends with %w: %s", err, out.String())
	}
	if err := json.Unmarshal([]byte(out.String()), &takes); err != nil || len(takes) != 1 || takes[0].Error != "" {
		return 0, 0, fmt.Errorf("measuring says %q", out.String())
	}
	return takes[0].LagMS, takes[0].DurationS, nil
}

// serverDies kills the sound server while it is recorded from.
func (r *faults) serverDies(ctx context.Context) (attempts []attempt, _ []target.Figure) {
	for range deeptest.Of(1, endings) {
		attempts = append(attempts, r.note(r.serverEnds(ctx, "sound server killed", "stopped by itself", func(s *testpulse.Server) error { s.Kill(); return nil })))
	}
	return attempts, judged("server_killed", attempts)
}

// stall stops the sound server, so that its device sends nothing and says nothing.
func (r *faults) stall(ctx context.Context) (attempts []attempt, _ []target.Figure) {
	for range stalls {
		attempts = append(attempts, r.note(r.serverEnds(ctx, "device stalls", "has sent nothing for", (*testpulse.Server).Freeze)))
	}
	return attempts, judged("stalled", attempts)
}

func (r *faults) serverEnds(ctx context.Context, fault, says string, end func(*testpulse.Server) error) attempt {
	st, rec := r.staged(ctx)
	defer st.close()
	after := time.Duration(r.random.Int64N(int64(latest / 2)))
	time.Sleep(after)
	must.Do(r.t, end(st.Server))
	died := time.Now()
	wrong := rec.ends(1, says)
	a := attempt{fault: fault, wrong: wrong,
		moment: fmt.Sprintf("%.2f s after the first sound, told within %.1f s", after.Seconds(), time.Since(died).Seconds())}
	return rec.finished(a, &st.witness, st.witness.heard())
}

// freeze stops the program itself for a while, as a computer does that is short of
// memory: what it missed has to be counted.
func (r *faults) freeze(ctx context.Context) ([]attempt, []target.Figure) {
	st, rec := r.staged(ctx)
	defer st.close()
	for _, step := range []struct {
		signal string
		after  time.Duration
	}{{"STOP", 2 * time.Second}, {"CONT", frozenFor}, {"INT", 3 * time.Second}} {
		time.Sleep(step.after)
		must.Do(r.t, rec.signal(step.signal))
	}
	moment := st.witness.now()
	a := attempt{fault: "program frozen", moment: fmt.Sprintf("for %g s", frozenFor.Seconds()), wrong: rec.ends(0, "")}
	a, uncounted := counted(a, takeIn(rec.dir), &st.witness, moment)
	return []attempt{r.note(a)}, append(judged("frozen", []attempt{a}), target.AtMost("frozen_uncounted", uncounted, "s", 0.1))
}

// counted holds the gaps that a take tells of against those that it has. What is
// missing in between is lost.
func counted(a attempt, path string, w *witness, upTo int64) (_ attempt, uncountedS float64) {
	t, err := trackOf(path)
	if err != nil {
		a.wrong = err.Error()
		return a, math.Inf(1)
	}
	f, err := take.Open(path)
	if err != nil {
		a.wrong = err.Error()
		return a, math.Inf(1)
	}
	defer f.Close()
	told := int64(0)
	for _, g := range f.Gaps() {
		told += g.Lost
	}
	a.keptS, a.lostS = t.keptS(), t.lostS(upTo)
	missing := w.sounded(t.jumps)
	a.moment += fmt.Sprintf(": %.3f s missing in between, %.3f s told", float64(missing)/clockRate, float64(told)/clockRate)
	if a.wrong == "" && t.astray > 0 {
		a.wrong = fmt.Sprintf("%d frames astray", t.astray)
	}
	return a, math.Abs(float64(missing-told)) / clockRate
}

// fullDisks is how much room there is, in KiB.
var fullDisks = []int{600, 1100, 1501}

// fullDisk records onto a disk that fills up: a small one in memory where this user
// may mount one, else a limit on the size of a file.
func (r *faults) fullDisk(ctx context.Context) (attempts []attempt, _ []target.Figure) {
	st := must.Get(r.stage(ctx))(r.t)
	defer st.close()
	for _, kib := range fullDisks[:deeptest.Of(1, len(fullDisks))] {
		attempts = append(attempts, r.note(r.fullDiskOnce(ctx, st, kib)))
	}
	return attempts, judged("full_disk", attempts)
}

func (r *faults) fullDiskOnce(ctx context.Context, st *soundStage, kib int) attempt {
	dir := r.t.TempDir()
	a := attempt{fault: "disk full", moment: fmt.Sprintf("%d KiB on a disk in memory", kib)}
	var wrapped []string
	mount := exec.CommandContext(ctx, "mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%dk", kib), "tmpfs", dir)
	if mount.Run() == nil {
		defer exec.Command("umount", dir).Run()
	} else {
		a.moment = fmt.Sprintf("a limit of %d KiB on a file", kib)
		wrapped = []string{"sh", "-c", fmt.Sprintf(`ulimit -f %d && exec "$0" "$@"`, 2*kib)} // blocks of 512 bytes (POSIX)
	}
	rec := must.Get(r.record(ctx, st.Server, dir, wrapped...))(r.t)
	a.wrong = rec.ends(1, "make room")
	return rec.finished(a, &st.witness, st.witness.now())
}
