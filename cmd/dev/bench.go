package main

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/calib/take"
	"lagwright/internal/procfs"
	"lagwright/internal/target"
)

// What measuring may cost.
const (
	aubioShare   = 0.3   // of the time aubioonset needs
	shortShare   = 4     // the long take is this many times as long as the short one
	linearRatio  = 4.6   // and may take this many times as long to measure
	peakMiB      = 200.0 // for a take of 10 minutes at memoryRate
	benchErrorMS = 1.0   // of the lag: speed counts for nothing where the reading is wrong
)

const (
	benchRate  = 48000.0
	memoryRate = 192000.0
	benchTempo = 96.0 // BPM
	aubioHop   = 128
)

// bench times how long takes are measured beside another program that listens for
// onsets, and says how much memory that needs. Where the time goes, go test -bench=Measure -cpuprofile
// shows in calib/signal. The targets are stated for 10 minutes.
func bench(ctx context.Context, h *host, args []string) error {
	set, b := flags(), &benchmark{h: h, dir: h.work, rate: benchRate, bigRate: memoryRate}
	set.IntVar(&b.rounds, "n", 5, "")
	set.Float64Var(&b.minutes, "minutes", 10, "")
	if err := set.Parse(args); err != nil || b.rounds < 1 || !(b.minutes >= 0.25 && b.minutes <= 30) || set.NArg() > 0 {
		return usageError("usage: bench [-n ROUNDS] [-minutes LENGTH]: targets are stated for 10 minutes, 0.25 to 30 can be had; needs 1 GB of disk and of memory")
	}
	if err := setUp(ctx, h, []string{"aubio-tools", "sox"}); err != nil {
		return err
	}
	figures, err := b.figures(ctx)
	return cmp.Or(err, h.verdict(figures))
}

// outcome is what became of measuring a take.
type outcome struct {
	LagMS   float64
	Used    int     // pairs
	PeakMiB float64 // most memory that this program held meanwhile; 0 where the system does not say
}

// measure measures a take as the program does, with what other takes left in memory given
// back and forgotten.
func measure(ctx context.Context, path string) (o outcome, err error) {
	debug.FreeOSMemory()
	procfs.ForgetMost()
	f, err := take.Open(path)
	if err != nil {
		return o, err
	}
	defer f.Close()
	r, err := signal.Measure(ctx, f, signal.Options{})
	if err != nil {
		return o, fmt.Errorf("measuring %s: %w", path, err)
	}
	return outcome{r.LagMS, r.Used(), procfs.MemoryMiB("self", "VmHWM")}, nil
}

// benchmark is one run of the verb.
type benchmark struct {
	h             *host
	dir           string // where its takes lie
	rounds        int
	minutes       float64 // length of the long take
	rate, bigRate float64 // Hz
}

// figures does all there is to do: times the contenders in turn, round by round, so that
// whatever else the machine does meets all of them. The big take comes last and is the
// only one of its size on the disk.
func (b *benchmark) figures(ctx context.Context) ([]target.Figure, error) {
	long, truth, err := b.play(ctx, "long", b.minutes, b.rate)
	short, _, failed := b.play(ctx, "short", b.minutes/shortShare, b.rate)
	mono, unsplit := b.channels(ctx, long)
	if err := cmp.Or(err, failed, unsplit); err != nil {
		return nil, err
	}
	var heard outcome
	contenders := []struct {
		name string
		run  func() error
	}{
		{"measure_long", func() (err error) { heard, err = measure(ctx, long); return err }},
		{"aubio_long", func() error { return b.aubio(ctx, mono) }},
		{"measure_short", func() error { _, err := measure(ctx, short); return err }},
	}
	took := map[string][]float64{} // s, one a round
	for round := range b.rounds {
		line := ""
		for _, c := range contenders {
			start := time.Now()
			if err := c.run(); err != nil {
				return nil, err
			}
			took[c.name] = append(took[c.name], time.Since(start).Seconds())
			line += fmt.Sprintf("  %s %.2f s", c.name, took[c.name][round])
		}
		b.h.say("round %d:%s", round+1, line)
	}
	ours, aubio, part := median(took["measure_long"]), median(took["aubio_long"]), median(took["measure_short"])
	figures := []target.Figure{
		target.Plain("measure_long", ours, "s"),
		target.Plain("aubio_long", aubio, "s"),
		target.AtMost("measure_of_aubio", ours/aubio, "ratio", aubioShare),
		target.Plain("measure_short", part, "s"),
		target.AtMost("measure_long_of_short", ours/part, "ratio", linearRatio),
		target.AtMost("lag_error_long", heard.offMS(truth), "ms", benchErrorMS),
	}
	big, truth, err := b.play(ctx, "big", b.minutes, b.bigRate)
	defer os.Remove(big)
	if err != nil {
		return nil, err
	}
	start := time.Now()
	heard, err = measure(ctx, big)
	figures = append(figures, target.Plain("measure_big", time.Since(start).Seconds(), "s"), target.AtMost("lag_error_big", heard.offMS(truth), "ms", benchErrorMS))
	if b.h.goos == "linux" {
		figures = append(figures, target.AtMost("peak_memory_big", heard.PeakMiB, "MiB", peakMiB))
	}
	return figures, err
}

func median(xs []float64) float64 { return quantile(slices.Sorted(slices.Values(xs)), 0.5) }

// play writes a take of the simulated machine with its everyday habits.
func (b *benchmark) play(ctx context.Context, name string, minutes, rate float64) (path string, truth practice.Truth, err error) {
	b.h.say("playing %g minutes of the simulated machine at %g kHz, 24 bit", minutes, rate/1000)
	rec, truth := practice.Default().Play(practice.Play{TempoBPM: benchTempo, Hits: int(minutes*benchTempo) - 3, Rate: rate, Seed: 1})
	path = filepath.Join(b.dir, name+".wav")
	return path, truth, take.Write(ctx, path, rec, nil)
}

// channels takes a take apart with sox, for a program that would mix its channels.
func (b *benchmark) channels(ctx context.Context, stereo string) (mono []string, err error) {
	for _, channel := range []string{"1", "2"} {
		path := strings.TrimSuffix(stereo, ".wav") + channel + ".wav"
		mono, err = append(mono, path), cmp.Or(err, b.h.show(ctx, nil, "sox", stereo, path, "remix", channel))
	}
	return mono, err
}

// offMS returns how far a lag is off in ms, either way; infinitely far where less
// than half of the hits went into it.
func (o outcome) offMS(truth practice.Truth) float64 {
	if 2*o.Used < len(truth.VoiceHitsS) {
		return math.Inf(1)
	}
	return math.Abs(o.LagMS - truth.MeanLagMS)
}

// aubio is aubioonset on both channels, one after the other.
func (b *benchmark) aubio(ctx context.Context, mono []string) error {
	for _, channel := range mono {
		out, err := b.h.output(ctx, "aubioonset", "-H", strconv.Itoa(aubioHop), channel)
		if err != nil {
			return fmt.Errorf("aubioonset failed (%v) on %s", err, channel)
		}
		if out == "" {
			return fmt.Errorf("aubioonset heard nothing in %s, so its time says nothing", channel)
		}
	}
	return nil
}
