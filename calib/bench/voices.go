package bench

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/signal"
	"lagwright/calib/take"
)

// Channels returns which channel is likely to be which in a recording with count
// channels: as in the last take that had as many and whose reference was not corrected, else
// reference 1, voice 2. With more than two channels the voices have each their own; with two,
// the one microphone is on the voice that the loop aims at.
func (b *Bench) Channels(count int) machine.Microphones { return channelsFor(b.Machine(), count) }

func channelsFor(m machine.Machine, count int) machine.Microphones {
	ch := machine.Microphones{Channels: count, Reference: 1}
	on := func(voice string, channel int) {
		if count <= 2 {
			voice = m.Target.Voice
		}
		ch.Voices = append(ch.Voices, machine.Microphone{Voice: voice, Channel: channel})
	}
	for _, t := range slices.Backward(m.Takes) {
		if t.Channels == count && !t.Corrected {
			ch.Reference = t.Reference
			for _, h := range t.Heard {
				on(h.Voice, h.Channel)
			}
			return ch
		}
	}
	for i, v := range m.Build.Voices {
		if i == 0 || i+2 <= count {
			on(v, i+2)
		}
	}
	return ch
}

// voicesOn returns the microphones on voices of the machine, that on the one that the
// loop aims at first, then in the machine's order. It refuses what cannot be.
func voicesOn(ch machine.Microphones, s machine.Machine) (mics []machine.Microphone, err error) {
	for _, v := range append([]string{s.Target.Voice}, s.Build.Voices...) {
		if m, ok := ch.Of(v); ok && !slices.Contains(mics, m) {
			mics = append(mics, m)
		}
	}
	if len(mics) == 0 || mics[0].Voice != s.Target.Voice {
		return nil, i18n.Errorf("no channel carries the %s, which you are working on: choose it, or work on another voice first", s.Target.Voice)
	}
	return mics, machine.Microphones{Reference: ch.Reference, Voices: mics}.CheckChannels()
}

// check opens a recording, and refuses it before anything is copied where the channels
// are not in it.
func check(path string, ch machine.Microphones, s machine.Machine) (*take.File, error) {
	mics, err := voicesOn(ch, s)
	if err != nil {
		return nil, err
	}
	f, err := take.Open(path)
	if err != nil {
		return nil, err
	}
	most := ch.Reference
	for _, m := range mics {
		most = max(most, m.Channel)
	}
	if most > f.Channels() {
		defer f.Close()
		if f.Channels() == 1 {
			return nil, i18n.Errorf("%s has one channel only: record reference and voice side by side in one file", path)
		}
		return nil, i18n.Errorf("channel %d is not in %s, which has %d: record reference and voice side by side in one file, or choose other channels", most, path, f.Channels())
	}
	return f, nil
}

// atOnce is how many voices are measured at once: each hears the reference anew,
// and memory has to stay bounded.
const atOnce = 2

// hear measures every voice of a recording against the reference. A voice in which
// nothing is heard is no failure: its reading says so.
func hear(ctx context.Context, path string, reference int, mics []machine.Microphone, perBeat int, progress func(float64)) ([]calib.Reading, error) {
	f, err := take.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	progressOf := shares(progress, len(mics))
	readings := make([]calib.Reading, len(mics))
	all, ctx := errgroup.WithContext(ctx)
	all.SetLimit(atOnce)
	for i, m := range mics {
		all.Go(func() (err error) {
			readings[i], err = Measure(ctx, f, signal.Options{Reference: reference, Voice: m.Channel, PerBeat: perBeat, Progress: progressOf(i)})
			return err
		})
	}
	if err := all.Wait(); err != nil { // the first: the others only stopped for it
		return nil, err
	}
	distrustMixed(readings, mics)
	return readings, nil
}

// distrustMixed warns of the other readings where one found the reference on its
// voice's channel: they were measured against what may be no reference.
func distrustMixed(readings []calib.Reading, mics []machine.Microphone) {
	at := slices.IndexFunc(readings, func(r calib.Reading) bool { return r.Has(calib.WarnSwapped) })
	for i := range readings {
		if at >= 0 && !readings[i].Has(calib.WarnSwapped) {
			readings[i].Warnings = append(readings[i].Warnings, calib.Warn(calib.WarnSwapped, i18n.Say(
				"the reference seems to be on channel %d, the %s's: stop the crank, wait for rest, then check which microphone is plugged in where before going by this reading", mics[at].Channel, mics[at].Voice)))
		}
	}
}

// part maps the progress of one part of a job onto that of the whole.
func part(progress func(float64), from, to float64) func(float64) {
	if progress == nil {
		return nil
	}
	return func(x float64) { progress(from + (to-from)*math.Min(math.Max(x, 0), 1)) }
}

// shares returns the progress of each of some parts that run at once; nil where nobody
// listens to that of the whole.
func shares(report func(float64), parts int) func(part int) func(float64) {
	var mu sync.Mutex
	all := make([]float64, parts)
	return func(part int) func(float64) {
		if report == nil {
			return nil
		}
		return func(x float64) {
			mu.Lock()
			defer mu.Unlock()
			all[part] = x
			report(stat.Mean(all, nil))
		}
	}
}

// Measure reads the lag from a recording. The reading carries the warnings of
// the file and of the signal.
func Measure(ctx context.Context, f *take.File, opt signal.Options) (calib.Reading, error) {
	reading, err := signal.Measure(ctx, f, opt)
	if err != nil {
		return calib.Reading{}, fmt.Errorf("%s: %w", f.Path(), err)
	}
	reading.Warnings = slices.Concat(f.Warnings(), reading.Warnings)
	return reading, nil
}
