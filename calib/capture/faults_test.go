package capture_test

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"lagwright/internal/deeptest"
	"lagwright/internal/target"
)

// The faults of recording are tried on the program itself, which records from a
// PulseAudio server of its own. The suite tries one of those that differ most; with
// LAGWRIGHT_DEEP=1, as the verb faults of cmd/dev sets it, there are all, at other
// moments each time. LAGWRIGHT_LONG records in real time for so many
// minutes instead. Figures are logged for the verb, which holds them against their
// targets.

// What a fault may cost.
const (
	mostLostS = 1.0 // all but the last second is there
	lagOffMS  = 1.0 // of a take that broke off, whose last hit may be missing
	flatMiB   = 4.0 // memory from one minute to the last
)

// faults is one run of the test.
type faults struct {
	t       *testing.T
	bin     string // the program
	minutes float64
	random  *rand.Rand
	seed    uint64
}

// attempt is one fault that was tried once.
type attempt struct {
	fault  string
	moment string  // when it struck, in words
	keptS  float64 // of sound
	lostS  float64 // that had sounded and is not there
	wrong  string  // what should not have happened; most of the time nothing
}

// memoryMinutes has this program record fast, in a process of its own.
const memoryMinutes = "LAGWRIGHT_TEST_MEMORY"

func TestMain(m *testing.M) {
	if minutes, err := strconv.ParseFloat(os.Getenv(memoryMinutes), 64); err == nil {
		if err := memoryJob(os.Stdout, minutes); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func TestFaultsOfRecording(t *testing.T) {
	if testing.Short() {
		t.Skip("it needs sound and the program")
	}
	r := &faults{t: t, bin: os.Getenv("LAGWRIGHT_BIN"), minutes: 30, seed: deeptest.Seed(t)}
	if r.bin == "" {
		t.Skip("LAGWRIGHT_BIN names no program to try: run go run ./cmd/dev test")
	}
	r.random = rand.New(rand.NewPCG(r.seed, 1))
	tries := []func(context.Context) ([]attempt, []target.Figure){r.kill, r.fullDisk, r.serverDies}
	if deeptest.On() {
		tries = append(tries, r.killedTake, r.stall, r.freeze, r.overrun, r.memory)
	}
	if minutes, err := strconv.ParseFloat(os.Getenv("LAGWRIGHT_LONG"), 64); err == nil {
		r.minutes = minutes
		tries = tries[:0]
		tries = append(tries, r.longTake)
	}
	for _, try := range tries {
		attempts, figures := try(t.Context())
		for _, f := range figures {
			t.Logf("%s%s", target.Word, f)
		}
		for _, a := range attempts {
			if a.wrong != "" { // how much is lost is a figure, which a busy computer may miss
				t.Errorf("%s, %s: %.2f s kept, %.2f s lost, %s", a.fault, a.moment, a.keptS, a.lostS, a.wrong)
			}
		}
	}
}

// note logs how an attempt went.
func (r *faults) note(a attempt) attempt {
	r.t.Logf("tried: %s | 1 | %s: %.2f s kept, %.2f s lost", a.fault, a.moment, a.keptS, a.lostS)
	return a
}

func runInto(ctx context.Context, out io.Writer, args ...string) error {
	cmd := exec.CommandContext(ctx, args[0], args[1:]...)
	cmd.Stdout, cmd.Stderr = out, os.Stderr
	return cmd.Run()
}

// wrong counts what did not go as it should.
func wrong(rows []attempt) (n int) {
	for _, a := range rows {
		if a.wrong != "" {
			n++
		}
	}
	return n
}

// judged is the figures that every fault has.
func judged(name string, rows []attempt) []target.Figure {
	worst := 0.0
	for _, a := range rows {
		worst = max(worst, a.lostS)
	}
	return []target.Figure{
		target.AtMost(name+"_lost_worst", worst, "s", mostLostS),
		target.AtMost(name+"_wrong", float64(wrong(rows)), "takes", 0),
	}
}

// takeName is what takes are called here.
const takeName = "take-001.wav"

func takeIn(dir string) string { return filepath.Join(dir, takeName) }
