package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"runtime/pprof"

	"lagwright/calib/signal"
	"lagwright/calib/take"
	"lagwright/internal/procfs"
)

// outcome is what a job of bench reports, as one line of JSON.
type outcome struct {
	LagMS   float64
	Used    int     // pairs
	PeakMiB float64 // most memory the job held; 0 where the system does not say
}

// benchJob does one job in a process of its own and writes its outcome.
func benchJob(ctx context.Context, w io.Writer, job string, files []string) (err error) {
	var o outcome
	switch {
	case job == "measure" && len(files) == 1:
		o, err = measureFile(ctx, files[0])
	case job == "decode" && len(files) == 1:
		err = decodeFile(files[0])
	case job == "profile" && len(files) == 2:
		o, err = profileFile(ctx, files[0], files[1])
	default:
		err = usageError(fmt.Sprintf("bench has no job %q with %d files", job, len(files)))
	}
	if err != nil {
		return err
	}
	// Not getrusage's ru_maxrss: that one a child inherits from whoever started it.
	o.PeakMiB = procfs.MemoryMiB("self", "VmHWM")
	return json.NewEncoder(w).Encode(o)
}

// measureFile measures a take as the program does.
func measureFile(ctx context.Context, path string) (o outcome, err error) {
	f, err := take.Open(path)
	if err != nil {
		return o, err
	}
	defer f.Close()
	r, err := signal.Measure(ctx, f, signal.Options{})
	if err != nil {
		return o, fmt.Errorf("measuring %s: %w", path, err)
	}
	return outcome{LagMS: r.LagMS, Used: r.Used()}, nil
}

// decodeBlock is how many samples are decoded at a time, as many as measuring
// reads.
const decodeBlock = 1 << 14

// decodeFile reads each channel of a take once and does nothing with it: no way
// of measuring can be faster.
func decodeFile(path string) error {
	f, err := take.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	buf := make([]float32, decodeBlock)
	for channel := 1; channel <= f.Channels(); channel++ {
		for at := int64(0); at < f.Frames(); {
			n, err := f.ReadAt(buf, channel, at)
			if err != nil && err != io.EOF {
				return err
			}
			at += int64(n)
		}
	}
	return nil
}

// profiled is how often a take is measured for a profile, which looks a hundred
// times a second.
const profiled = 2

// profileFile writes to the path to a profile of how a take is measured.
func profileFile(ctx context.Context, path, to string) (o outcome, err error) {
	w, err := os.Create(to)
	if err != nil {
		return o, err
	}
	defer w.Close()
	if err := pprof.StartCPUProfile(w); err != nil {
		return o, err
	}
	defer pprof.StopCPUProfile()
	for range profiled {
		if o, err = measureFile(ctx, path); err != nil {
			return o, err
		}
	}
	return o, nil
}
