package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"text/tabwriter"
	"time"
)

// What a fault may cost.
const (
	mostLostS = 1.0 // all but the last second is there
	lagOffMS  = 1.0 // of a take that broke off, whose last hit may be missing
	flatMiB   = 4.0 // memory from one minute to the last
)

// faultFlags is what the faults verb can be told.
type faultFlags struct {
	seed    uint64
	long    bool    // the recording that takes its time, and nothing else
	minutes float64 // length of the long recording
	job     string  // what a child of this verb does
}

// faultRun is one run of the verb.
type faultRun struct {
	h *host
	faultFlags
	self, bin, dir string // this program, the one that is tried, and room for its takes
	random         *rand.Rand
}

// attempt is one fault that was tried once.
type attempt struct {
	fault  string
	moment string  // when it struck, in words
	times  int     // how often, where that is not once
	keptS  float64 // of sound
	lostS  float64 // that had sounded and is not there
	wrong  string  // what should not have happened; most of the time nothing

	happened string // in words, where what may be lost is not sound
}

// tryFaults tries what goes wrong while a take is recorded and a session is saved, and
// says what is left. FAULTS.md beside this file says what, and what must be left.
func tryFaults(ctx context.Context, h *host, args []string) error {
	f, err := parseFaults(args)
	if err != nil {
		return err
	}
	if f.job != "" {
		return memoryJob(h.stdout, f.minutes)
	}
	if h.goos != "linux" {
		return usageError("faults tries recording with a PulseAudio server of its own, which there is on Linux only")
	}
	if err := setUp(ctx, h, faultNeeds()); err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return fmt.Errorf("this program does not find itself to run its jobs: %w", err)
	}
	dir, err := os.MkdirTemp("", "lagwright-faults")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	r := &faultRun{h, f, self, binary(h, dir), dir, rand.New(rand.NewPCG(f.seed, 1))}
	if err := build(ctx, h, r.bin); err != nil {
		return err
	}
	figures, err := r.all(ctx)
	if err != nil {
		return err
	}
	for _, fig := range figures {
		h.say("%s", fig)
	}
	return missed(figures)
}

// parseFaults reads the verb's arguments. Moments are others in each run unless a
// seed is given.
func parseFaults(args []string) (f faultFlags, err error) {
	set := flag.NewFlagSet("faults", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.Uint64Var(&f.seed, "seed", uint64(time.Now().UnixNano()), "")
	set.BoolVar(&f.long, "long", false, "")
	set.Float64Var(&f.minutes, "minutes", 30, "")
	set.StringVar(&f.job, "job", "", "")
	err = set.Parse(args)
	if err != nil || set.NArg() > 0 || !(f.minutes >= 2 && f.minutes <= 24*60) || f.job != "" && f.job != "memory" {
		return f, usageError("usage: faults [-seed N] [-long] [-minutes LENGTH]: -long records in real time, 30 minutes unless -minutes says otherwise, 2 at least, at 17 MB of disk a minute")
	}
	return f, nil
}

// faultNeeds is what the verb takes besides Go.
func faultNeeds() []need {
	sound := slices.DeleteFunc(slices.Clone(testNeeds), func(n need) bool { return n.apt != "pulseaudio" && n.apt != "pulseaudio-utils" })
	return slices.Concat(buildNeeds, sound)
}

// all tries one fault after the other, shows the table and returns the figures.
func (r *faultRun) all(ctx context.Context) (figures []figure, err error) {
	tries := []func(context.Context) ([]attempt, []figure, error){
		r.kill, r.killedTake, r.powerCut, r.fullDisk, r.serverDies, r.stall, r.freeze, r.overrun, r.memory, r.saving,
	}
	if r.long {
		tries = tries[:0]
		tries = append(tries, r.longTake)
	} else {
		r.h.say("seed %d", r.seed)
	}
	var attempts []attempt
	for _, try := range tries {
		some, more, err := try(ctx)
		if err == nil {
			err = ctx.Err()
		}
		if err != nil {
			return nil, err
		}
		attempts, figures = append(attempts, some...), append(figures, more...)
	}
	r.table(attempts)
	return figures, nil
}

// note says how an attempt went, as it goes.
func (r *faultRun) note(a attempt) attempt {
	happened := "as it should"
	if a.wrong != "" {
		happened = a.wrong
	}
	if a.happened != "" {
		r.h.say("  %s, %d times: %s, %s", a.fault, a.times, a.happened, happened)
		return a
	}
	r.h.say("  %s, %s: %.2f s kept, %.2f s lost, %s", a.fault, a.moment, a.keptS, a.lostS, happened)
	return a
}

// table writes a row for each fault.
func (r *faultRun) table(attempts []attempt) {
	w := tabwriter.NewWriter(r.h.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "fault or input\ttimes\twhat happened\tlost")
	for len(attempts) > 0 {
		fault := attempts[0].fault
		end := slices.IndexFunc(attempts, func(a attempt) bool { return a.fault != fault })
		if end < 0 {
			end = len(attempts)
		}
		happened, lost := outcomeOf(attempts[:end])
		fmt.Fprintf(w, "%s\t%d\t%s\t%s\n", fault, timesOf(attempts[:end]), happened, lost)
		attempts = attempts[end:]
	}
	w.Flush()
}

// outcomeOf says what happened in the attempts of one fault, and what they lost.
func outcomeOf(rows []attempt) (happened, lost string) {
	happened = rows[0].happened
	lost = "nothing"
	if happened == "" {
		happened = span(rows, func(a attempt) float64 { return a.keptS }) + " s kept"
		lost = span(rows, func(a attempt) float64 { return a.lostS }) + " s"
	}
	for _, a := range rows {
		if a.wrong != "" {
			happened = fmt.Sprintf("%d of %d went wrong; %s", wrong(rows), len(rows), a.wrong)
			if a.happened != "" {
				lost = "see there"
			}
		}
	}
	return happened, lost
}

// span says from where to where a number goes.
func span(rows []attempt, of func(attempt) float64) string {
	low, high := of(rows[0]), of(rows[0])
	for _, a := range rows {
		low, high = min(low, of(a)), max(high, of(a))
	}
	if len(rows) == 1 {
		return fmt.Sprintf("%.2f", low)
	}
	return fmt.Sprintf("%.2f to %.2f", low, high)
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
func judged(name string, rows []attempt) []figure {
	worst := 0.0
	for _, a := range rows {
		worst = max(worst, a.lostS)
	}
	return []figure{
		atMost(name+"_lost_worst", worst, "s", mostLostS),
		atMost(name+"_wrong", float64(wrong(rows)), "takes", 0),
	}
}

// room makes a new folder for takes.
func (r *faultRun) room() (string, error) { return os.MkdirTemp(r.dir, "take") }

// takeName is what takes are called here.
const takeName = "take-001.wav"

func takeIn(dir string) string { return filepath.Join(dir, takeName) }
