package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/capture/device"
	"lagwright/calib/signal"
	"lagwright/calib/take"
)

// computer is where sound comes from; tests put a recording in its place.
var computer capture.Sound = device.Sound{}

// wish is what record was asked for.
type wish struct {
	line
	format  calib.Format
	seconds float64
	opt     signal.Options
}

func recordTake(ctx context.Context, l line, out io.Writer) error {
	w := wish{l, calib.Format{RateHz: flagValue[int](l, "rate"), Channels: flagValue[int](l, "channels")}, flagValue[float64](l, "seconds"),
		signal.Options{Reference: flagValue[int](l, "reference"), Voice: flagValue[int](l, "voice"), PerBeat: 1}}
	if err := w.check(); err != nil {
		return usageError{err}
	}
	devices, err := computer.Inputs()
	if err != nil {
		return err
	}
	if flagValue[bool](l, "list") {
		return listDevices(devices, flagValue[bool](l, "json"), out)
	}
	d, err := choose(devices, strings.Join(flagValue[several](l, "device"), ""))
	if err != nil {
		return err
	}
	path, err := w.record(ctx, d, out)
	if path == "" || !flagValue[bool](l, "measure") {
		return err
	}
	m, failed := measureFile(context.WithoutCancel(ctx), path, w.opt) // what ends the recording does not end the measuring
	if failed == nil {
		m.print(out)
	}
	return errors.Join(err, failed)
}

func (w wish) check() error {
	most := max(w.opt.Reference, w.opt.Voice)
	switch {
	case len(flagValue[several](w.line, "device")) > 1:
		return capture.ErrTwoDevices
	case flagValue[bool](w.line, "json") && !flagValue[bool](w.line, "list"):
		return errors.New("-json goes with -list")
	case w.format.RateHz < 0:
		return errors.New("-rate is a number of frames a second, such as 48000")
	case w.format.Channels != 0 && (w.format.Channels < capture.LeastChannels || w.format.Channels > capture.MostChannels):
		return fmt.Errorf("-channels is %d to %d", capture.LeastChannels, capture.MostChannels)
	case !(w.seconds >= 0 && w.seconds <= 7*24*3600):
		return errors.New("-seconds is how long to record, at most a week")
	case w.format.Channels > 0 && most > w.format.Channels:
		return fmt.Errorf("channel %d is not among the %d to be recorded", most, w.format.Channels)
	}
	return checkOptions(w.opt)
}

func listDevices(devices []capture.Device, asJSON bool, out io.Writer) error {
	if asJSON {
		if devices == nil {
			devices = []capture.Device{}
		}
		return writeJSON(out, devices)
	}
	if len(devices) == 0 {
		return errNoDevice
	}
	for i, d := range devices {
		chosen := ""
		if d.Default {
			chosen = ", the system default"
		}
		has := "tells its channels and rate when it records"
		if d.Channels > 0 && d.RateHz > 0 {
			has = fmt.Sprintf("%d channels at %d Hz", d.Channels, d.RateHz)
		}
		fmt.Fprintf(out, "%2d  %s (%s, %s%s)\n", i+1, d.Name, d.System, has, chosen)
	}
	return nil
}

var errNoDevice = errors.New("this computer has no device to record from: plug one in, or look into its sound settings")

// choose finds a device by its number in the list, its name, or a part of the
// name that no other has; the system default for "".
func choose(devices []capture.Device, want string) (capture.Device, error) {
	if len(devices) == 0 {
		return capture.Device{}, errNoDevice
	}
	if want == "" {
		i := slices.IndexFunc(devices, func(d capture.Device) bool { return d.Default })
		return devices[max(i, 0)], nil
	}
	if n, err := strconv.Atoi(want); err == nil && n >= 1 && n <= len(devices) {
		return devices[n-1], nil
	}
	var found []capture.Device
	for _, d := range devices {
		if d.Name == want || d.ID == want {
			return d, nil
		}
		if strings.Contains(strings.ToLower(d.Name), strings.ToLower(want)) {
			found = append(found, d)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return capture.Device{}, fmt.Errorf("there is no device %q: lagwright record -list shows what there is", want)
	}
	return capture.Device{}, fmt.Errorf("%d devices are called something with %q: give the number that lagwright record -list shows", len(found), want)
}

// record records until it is long enough, interrupted or something fails, and
// returns where the take is, "" for none. With a path, an error says why it ended
// early.
func (w wish) record(ctx context.Context, d capture.Device, out io.Writer) (path string, err error) {
	var r *take.Recorder
	c, err := capture.Start(computer, d, w.format, func(f calib.Format) (sink capture.Sink, err error) {
		if most := max(w.opt.Reference, w.opt.Voice); flagValue[bool](w.line, "measure") && most > f.Channels {
			return nil, fmt.Errorf("%s has no channel %d: it gives %d", d.Name, most, f.Channels)
		}
		r, err = take.Create(cmp.Or(flagValue[string](w.line, "o"), freeTake()), f)
		return r, err
	})
	if err != nil {
		if r != nil {
			r.Discard()
		}
		return "", err
	}
	f := c.Format()
	fmt.Fprintf(out, "recording %d channels at %d Hz from %s to %s; Ctrl-C ends it\n", f.Channels, f.RateHz, d.Name, r.Path())
	w.wait(ctx, c)
	result := c.Stop()
	path, err = r.Finish()
	if r.Frames() == 0 {
		path = ""
	} else {
		printResult(out, path, result)
	}
	return path, errors.Join(result.Err, err)
}

// wait returns once enough is recorded, or nothing more will be.
func (w wish) wait(ctx context.Context, c *capture.Capture) {
	for w.seconds == 0 || float64(c.Status().Frames) < w.seconds*float64(c.Format().RateHz) {
		select {
		case <-ctx.Done():
			return
		case <-c.Done():
			return
		case <-time.After(10 * time.Millisecond):
		}
	}
}

// freeTake is the first name of a take that is free here.
func freeTake() string {
	for n := 1; ; n++ {
		base := fmt.Sprintf("take-%03d", n)
		_, done := os.Lstat(base + ".wav")
		_, growing := os.Lstat(base + ".part.wav")
		if done != nil && growing != nil {
			return base + ".wav"
		}
	}
}

// causes says in words how sound was lost.
var causes = map[capture.Cause]string{
	capture.Overrun: "overrun: this computer or its disk was too slow",
	capture.Missed:  "gap: the device sent less than it should",
	capture.Slept:   "gap: this computer was asleep",
}

// printResult says how long a take is and what was lost of it, by its worst places.
func printResult(out io.Writer, path string, r capture.Result) {
	rate := float64(r.Format.RateHz)
	lost := "no overruns, no gaps"
	if len(r.Gaps) > 0 {
		lost = fmt.Sprintf("%.3f s lost at %d places", float64(r.Lost)/rate, len(r.Gaps))
	}
	fmt.Fprintf(out, "%s: %.2f s of %d channels at %d Hz, %s\n", path, r.DurationS(), r.Format.Channels, r.Format.RateHz, lost)
	worst := slices.SortedStableFunc(slices.Values(r.Gaps), func(a, b capture.Gap) int { return cmp.Compare(b.Lost, a.Lost) })
	for _, g := range worst[:min(len(worst), mostGaps)] {
		fmt.Fprintf(out, "  lost: %.3f s at %.2f s (%s)\n", float64(g.Lost)/rate, float64(g.Frame)/rate, causes[g.Cause])
	}
}

// mostGaps is how many of a take's gaps are told one by one.
const mostGaps = 3
