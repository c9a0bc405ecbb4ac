package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat"
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
	if err := setUp(ctx, h, benchNeeds()); err != nil {
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
	if err != nil {
		return err
	}
	for _, fig := range figures {
		h.say("%s", fig)
	}
	return missed(figures)
}

// parseBench reads the verb's arguments. The targets are stated for 10 minutes.
func parseBench(args []string) (f benchFlags, err error) {
	set := flag.NewFlagSet("bench", flag.ContinueOnError)
	set.SetOutput(io.Discard)
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

// benchNeeds is what the verb takes besides Go.
func benchNeeds() []need {
	return slices.DeleteFunc(slices.Clone(testNeeds), func(n need) bool { return n.apt != "aubio-tools" })
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

// profileLines is how many functions of each list of the profile are shown.
const profileLines = 12

// profile says in which functions of ours the time goes: in them alone, what
// they call elsewhere counted as theirs, and with all they call. The whole lists
// lie where it says.
func (b *benchmark) profile(ctx context.Context, path string) error {
	dir := cacheDir()
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	raw, text := filepath.Join(dir, "bench.pprof"), filepath.Join(dir, "bench-profile.txt")
	if _, err := b.job(ctx, "profile", path, raw); err != nil {
		return err
	}
	b.h.say("where the processors' time goes (all of it in %s; go tool pprof shows more of %s):", text, raw)
	whole := ""
	for _, l := range []struct{ order, title string }{
		{"-flat", "in our functions alone"},
		{"-cum", "with all they call"},
	} {
		list, err := b.h.output(ctx, "go", "tool", "pprof", "-top", l.order, "-show=^lagwright/", raw)
		if err != nil {
			return fmt.Errorf("go tool pprof failed (%v) on %s", err, raw)
		}
		whole += list + "\n"
		b.h.say("%s", shares(list, l.title, l.order == "-cum"))
	}
	return os.WriteFile(text, []byte(whole), 0o666)
}

// shares makes a short table of a list by pprof -top: of each of the first
// functions its share, alone or with all that it calls.
func shares(list, title string, whole bool) string {
	table, rows := "  "+title, 0
	for line := range strings.Lines(list) {
		_, name, ours := strings.Cut(line, " lagwright/")
		// Time, share and sum of shares alone, time and share with calls, name.
		columns := strings.Fields(line)
		nameless := strings.Contains(name, ".func") // says little
		if !ours || nameless || len(columns) < 6 || rows == profileLines {
			continue
		}
		share := columns[1]
		if whole {
			share = columns[4]
		}
		table += fmt.Sprintf("\n    %7s  %s", share, strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(name), "(inline)")))
		rows++
	}
	return table
}

// memory measures a take that is much larger than the memory it may use.
func (b *benchmark) memory(ctx context.Context) ([]figure, error) {
	if b.h.goos != "linux" {
		b.h.say("memory is looked at on Linux only")
		return nil, nil
	}
	b.h.say("playing %g minutes at %g kHz, 32-bit float", b.minutes, b.bigRate/1000)
	path := filepath.Join(b.dir, "big.wav")
	defer os.Remove(path)
	rec, truth := benchPlay(b.minutes, b.bigRate)
	if err := writeFloat(ctx, path, rec); err != nil {
		return nil, err
	}
	rec = nil
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	start := time.Now()
	o, err := b.job(ctx, "measure", path)
	if err != nil {
		return nil, err
	}
	return []figure{
		plain("big_take", float64(info.Size())/1e6, "MB"),
		plain("measure_big", time.Since(start).Seconds(), "s"),
		atMost("peak_memory_big", o.PeakMiB, "MiB", peakMiB),
		atMost("lag_error_big", benchTake{truth: truth}.offMS(o), "ms", benchErrorMS),
	}, nil
}
