package main

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib/take"
)

// What measuring may cost.
const (
	aubioShare   = 0.333 // of the time aubioonset needs, a third
	shortShare   = 4     // the long take is this many times as long as the short one
	linearRatio  = 4.6   // and may take this many times as long to measure
	peakMiB      = 200.0 // for a take of 10 minutes at memoryRate
	benchErrorMS = 1.0   // of the lag: speed counts for nothing where the reading is wrong
)

const (
	benchRate  = 48000.0
	memoryRate = 192000.0
	aubioHop   = 128
)

// benchFlags is what the bench verb can be told.
type benchFlags struct {
	rounds  int
	minutes float64 // length of the long take
	job     string  // what a child of this verb does, and with which files
	files   []string
}

// bench times how long takes are measured beside another program that listens
// for onsets, and says how much memory that needs and where the time goes. All
// that is timed runs as a program of its own, so that each starts afresh.
func bench(ctx context.Context, h *host, args []string) error {
	f, err := parseBench(args)
	if err != nil {
		return err
	}
	if f.job != "" {
		return benchJob(ctx, h.stdout, f.job, f.files)
	}
	if err := setUp(ctx, h, needsOf("aubio-tools", "sox")); err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return fmt.Errorf("this program does not find itself to run its jobs: %w", err)
	}
	dir, err := os.MkdirTemp("", "lagwright-bench")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	b := &benchmark{h, f, self, dir, benchRate, memoryRate}
	figures, err := b.figures(ctx)
	return cmp.Or(err, h.verdict(figures))
}

// parseBench reads the verb's arguments. The targets are stated for 10 minutes.
func parseBench(args []string) (f benchFlags, err error) {
	set := flags()
	set.IntVar(&f.rounds, "n", 5, "")
	set.Float64Var(&f.minutes, "minutes", 10, "")
	set.StringVar(&f.job, "job", "", "")
	err = set.Parse(args)
	f.files = set.Args()
	if err != nil || f.rounds < 1 || !(f.minutes >= 0.25 && f.minutes <= 30) || (len(f.files) > 0) != (f.job != "") {
		return f, usageError("usage: bench [-n ROUNDS] [-minutes LENGTH]: targets are stated for 10 minutes, 0.25 to 30 can be had; needs 1 GB of disk and of memory")
	}
	return f, nil
}

// benchmark is one run of the verb.
type benchmark struct {
	h *host
	benchFlags
	self, dir     string  // this program, and where its takes lie
	rate, bigRate float64 // Hz
}

// figures does all there is to do. The big take comes last and is the only one
// of its size on the disk.
func (b *benchmark) figures(ctx context.Context) ([]figure, error) {
	b.h.say("playing %g and %g minutes of the simulated machine at %g kHz, 24 bit", b.minutes, b.minutes/shortShare, b.rate/1000)
	long, err := b.play(ctx, "long", b.minutes)
	if err != nil {
		return nil, err
	}
	short, err := b.play(ctx, "short", b.minutes/shortShare)
	if err != nil {
		return nil, err
	}
	figures, err := b.race(ctx, long, short)
	if err != nil {
		return nil, err
	}
	if err := b.profile(ctx, long.stereo); err != nil {
		return nil, err
	}
	memory, err := b.memory(ctx)
	return append(figures, memory...), err
}

// contender is something that is timed.
type contender struct {
	name string
	run  func(ctx context.Context) error
	took []float64 // s, one a round
}

// race times the contenders in turn, round by round, so that whatever else the
// machine does meets all of them.
func (b *benchmark) race(ctx context.Context, long, short benchTake) ([]figure, error) {
	var heard outcome
	ours, part, decode, aubio := b.contender("measure", long, &heard), b.contender("measure", short, new(outcome)),
		b.contender("decode", long, new(outcome)), b.aubio(long)
	for round := range b.rounds {
		line := ""
		for _, c := range []*contender{ours, part, decode, aubio} {
			start := time.Now()
			if err := c.run(ctx); err != nil {
				return nil, err
			}
			c.took = append(c.took, time.Since(start).Seconds())
			line += fmt.Sprintf("  %s %.2f s", c.name, c.took[round])
		}
		b.h.say("round %d:%s", round+1, line)
	}
	b.h.say("the floor: decoding alone takes %.2f s of %.2f s, one channel after the other; measuring used up to %d processors",
		median(decode.took), median(ours.took), runtime.GOMAXPROCS(0))
	return []figure{
		plain("measure_long", median(ours.took), "s"),
		plain("aubio_long", median(aubio.took), "s"),
		atMost("measure_of_aubio", median(ours.took)/median(aubio.took), "ratio", aubioShare),
		plain("measure_short", median(part.took), "s"),
		atMost("measure_long_of_short", median(ours.took)/median(part.took), "ratio", linearRatio),
		plain("decode_long", median(decode.took), "s"),
		plain("decode_of_measure", 100*median(decode.took)/median(ours.took), "%"),
		atMost("lag_error_long", long.offMS(heard), "ms", benchErrorMS),
	}, nil
}

func median(xs []float64) float64 {
	return stat.Quantile(0.5, stat.Empirical, slices.Sorted(slices.Values(xs)), nil)
}

// contender is a job of this program on the stereo take; what it made of the
// take ends in o.
func (b *benchmark) contender(job string, t benchTake, o *outcome) *contender {
	return &contender{name: job + " " + t.name, run: func(ctx context.Context) (err error) {
		*o, err = b.job(ctx, job, t.stereo)
		return err
	}}
}

// aubio is aubioonset on both channels, one after the other.
func (b *benchmark) aubio(t benchTake) *contender {
	return &contender{name: "aubio " + t.name, run: func(ctx context.Context) error {
		for _, mono := range t.mono {
			out, err := b.h.output(ctx, "aubioonset", "-H", strconv.Itoa(aubioHop), mono)
			if err != nil {
				return fmt.Errorf("aubioonset failed (%v) on %s", err, mono)
			}
			if out == "" {
				return fmt.Errorf("aubioonset heard nothing in %s, so its time says nothing", mono)
			}
		}
		return nil
	}}
}

// job has a child of this program do a job.
func (b *benchmark) job(ctx context.Context, job string, files ...string) (o outcome, err error) {
	var out strings.Builder
	args := append([]string{b.self, "bench", "-job", job}, files...)
	if err := b.h.runner.run(ctx, command{args: args, stdout: &out, stderr: b.h.stderr}); err != nil {
		return o, fmt.Errorf("the job %s of bench failed (%w)", job, err)
	}
	if err := json.Unmarshal([]byte(out.String()), &o); err != nil {
		return o, fmt.Errorf("the job %s of bench said %q: %w", job, out.String(), err)
	}
	return o, nil
}

// profile says in which functions of ours the time goes, with all they call.
func (b *benchmark) profile(ctx context.Context, path string) error {
	if err := os.MkdirAll(cacheDir(), 0o777); err != nil {
		return err
	}
	raw := filepath.Join(cacheDir(), "bench.pprof")
	if _, err := b.job(ctx, "profile", path, raw); err != nil {
		return err
	}
	b.h.say("where the processors' time goes (go tool pprof shows more of %s):", raw)
	return b.h.show(ctx, nil, "go", "tool", "pprof", "-top", "-cum", "-nodecount=25", "-show=^lagwright/", raw)
}

// memory measures a take that is much larger than the memory it may use.
func (b *benchmark) memory(ctx context.Context) ([]figure, error) {
	if b.h.goos != "linux" {
		b.h.say("memory is looked at on Linux only")
		return nil, nil
	}
	b.h.say("playing %g minutes at %g kHz, 24 bit", b.minutes, b.bigRate/1000)
	path := filepath.Join(b.dir, "big.wav")
	defer os.Remove(path)
	rec, truth := benchPlay(b.minutes, b.bigRate)
	if err := take.Write(ctx, path, rec, nil); err != nil {
		return nil, err
	}
	rec = nil
	start := time.Now()
	o, err := b.job(ctx, "measure", path)
	if err != nil {
		return nil, err
	}
	return []figure{
		plain("measure_big", time.Since(start).Seconds(), "s"),
		atMost("peak_memory_big", o.PeakMiB, "MiB", peakMiB),
		atMost("lag_error_big", benchTake{truth: truth}.offMS(o), "ms", benchErrorMS),
	}, nil
}
