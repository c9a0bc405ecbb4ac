package capture_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"time"

	"lagwright/calib"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/internal/testpulse"
)

// soundStage is a sound server that plays the clock, with a witness.
type soundStage struct {
	*testpulse.Server
	dir     string
	witness witness
	stop    context.CancelFunc
	players sync.WaitGroup
}

var stageFormat = calib.Format{RateHz: clockRate, Channels: clockChannels}

// stage starts one.
func (r *faults) stage(ctx context.Context) (*soundStage, error) {
	dir, err := os.MkdirTemp("", "lagwright-sound") // a short name, since that of a socket may not be long
	if err != nil {
		return nil, err
	}
	st := &soundStage{dir: dir}
	if st.Server, err = testpulse.Start(dir, stageFormat); err != nil {
		os.RemoveAll(dir)
		return nil, err
	}
	ctx, st.stop = context.WithCancel(ctx)
	st.players.Go(func() { st.Feed(ctx, stageFormat, &clockSound{}) }) // it and the witness may die with their server
	st.players.Go(func() { st.Hear(ctx, stageFormat, &st.witness) })
	if err := await(ctx, "the witness hears the clock", func() bool { return st.witness.heard() > 0 }); err != nil {
		st.close()
		return nil, err
	}
	return st, nil
}

func (st *soundStage) close() {
	st.stop()
	st.Kill()
	st.players.Wait()
	os.RemoveAll(st.dir)
}

// patience is when a program counts as hung.
const patience = 3 * time.Minute

// await waits until something is so.
func await(ctx context.Context, what string, so func() bool) error {
	for deadline := time.Now().Add(patience); !so(); time.Sleep(5 * time.Millisecond) {
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case time.Now().After(deadline):
			return fmt.Errorf("%s: not within %v", what, patience)
		}
	}
	return nil
}

// recording is the program that is tried, recording from a stage.
type recording struct {
	dir       string
	cmd       *exec.Cmd
	out, errs bytes.Buffer
}

// record starts the program in a folder and waits until sound is on the disk.
// wrapped, if any, is a command that runs it.
func (r *faults) record(ctx context.Context, st *testpulse.Server, dir string, wrapped ...string) (*recording, error) {
	args := append(wrapped, r.bin, "record", "-device", "bench", "-o", takeIn(dir))
	rec := &recording{dir: dir, cmd: exec.CommandContext(ctx, args[0], args[1:]...)}
	rec.cmd.Env = append(os.Environ(), st.Env()...)
	rec.cmd.Stdout, rec.cmd.Stderr = &rec.out, &rec.errs
	if err := rec.cmd.Start(); err != nil {
		return nil, err
	}
	err := await(ctx, "the program records", func() bool { return rec.size() > 0 })
	if err != nil {
		rec.cmd.Process.Kill()
		rec.cmd.Wait()
		return nil, fmt.Errorf("%w: %s%s", err, &rec.out, &rec.errs)
	}
	return rec, nil
}

// staged is the program recording from a stage of its own, which is to be closed.
func (r *faults) staged(ctx context.Context) (*soundStage, *recording) {
	st := must.Get(r.stage(ctx))(r.t)
	rec, err := r.record(ctx, st.Server, r.t.TempDir())
	if err != nil {
		st.close()
		r.t.Fatal(err)
	}
	return st, rec
}

// size is how many bytes of sound lie on the disk, whatever the header says.
func (rec *recording) size() int64 {
	const header = 4096 // of a growing take
	for _, path := range append(take.Unfinished(rec.dir), takeIn(rec.dir)) {
		if info, err := os.Stat(path); err == nil {
			return max(0, info.Size()-header)
		}
	}
	return 0
}

// ends waits for the program's own end and says what is wrong with it: it has to
// exit with a status and one sentence that says something.
func (rec *recording) ends(status int, says string) (wrong string) {
	late := time.AfterFunc(patience, func() { rec.cmd.Process.Kill() })
	defer late.Stop()
	rec.cmd.Wait()
	said, code := rec.errs.String(), rec.cmd.ProcessState.ExitCode()
	switch {
	case code != status:
		return fmt.Sprintf("exit status %d: %s", code, strings.TrimSpace(said))
	case says != "" && (strings.Count(said, "\n") != 1 || !strings.Contains(said, says)):
		return fmt.Sprintf("it said %q", said)
	case says == "" && said != "":
		return fmt.Sprintf("it said %q", said)
	}
	return ""
}

// finished holds what a program left that ended by itself against the clock: a
// take under its own name, without a warning and with nothing missing in between.
func (rec *recording) finished(a attempt, w *witness, upTo int64) attempt {
	t, err := trackOf(takeIn(rec.dir))
	if err != nil {
		a.wrong, a.lostS = err.Error(), float64(upTo)/clockRate
		return a
	}
	a.keptS, a.lostS = t.keptS(), t.lostS(upTo)
	if missing := w.sounded(t.jumps); a.wrong == "" && (missing > 0 || t.astray > 0) {
		a.wrong = fmt.Sprintf("%d frames are missing in between, %d astray", missing, t.astray)
	}
	if left := take.Unfinished(rec.dir); a.wrong == "" && len(left) > 0 {
		a.wrong = fmt.Sprintf("left %s", left)
	}
	return a
}

// signal sends a signal by name; Windows, where this builds too, has none.
func (rec *recording) signal(name string) error {
	return exec.Command("kill", "-"+name, strconv.Itoa(rec.cmd.Process.Pid)).Run()
}
