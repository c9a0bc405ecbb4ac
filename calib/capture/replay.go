package capture

import (
	"cmp"
	"sync"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Replay is a Sound without a sound card: its one input plays a recording, and
// then silence, as a microphone does at an instrument at rest. Its one output
// plays into Played. For tests and for practising.
type Replay struct {
	Source calib.Source
	Speed  float64                     // seconds of sound in a second; 0 is 1
	Played func(interleaved []float32) // hears the output; may be nil
	EndAt  int64                       // frame at which the device says that it ended; 0 is never
}

// replayName is what a Replay calls its devices.
const replayName = "Replay"

// Inputs lists the one there is.
func (r *Replay) Inputs() ([]Device, error) {
	return []Device{{ID: "replay", Name: replayName, System: "Lagwright", Default: true,
		Channels: r.Source.Channels(), RateHz: int(r.Source.Rate())}}, nil
}

// Outputs lists the one there is.
func (r *Replay) Outputs() ([]Device, error) { return r.Inputs() }

// OpenInput plays the recording, whose rate cannot be chosen.
func (r *Replay) OpenInput(_ Device, f calib.Format, put func([]float32), ended func()) (Stream, error) {
	own := calib.Format{RateHz: int(r.Source.Rate())}
	if f.RateHz != 0 && f.RateHz != own.RateHz {
		return nil, i18n.Errorf("%s gives %d frames a second, not %d: leave the rate out", replayName, own.RateHz, f.RateHz)
	}
	var err error
	if own.Channels, err = Wanted(replayName, f.Channels, r.Source.Channels()); err != nil {
		return nil, err
	}
	s := &replaying{format: own, speed: cmp.Or(r.Speed, 1)}
	at := int64(0)
	s.deliver = func(frames int64) bool {
		if r.EndAt > 0 {
			frames = min(frames, r.EndAt-at)
		}
		for frames > 0 {
			n := min(frames, deliveryFrames)
			r.read(s.block[:n*int64(own.Channels)], at, own.Channels)
			put(s.block[:n*int64(own.Channels)])
			at += n
			frames -= n
		}
		if at == r.EndAt && at > 0 {
			ended()
			return false
		}
		return true
	}
	return s, nil
}

// deliveryFrames is the most that comes at once.
const deliveryFrames = 1024

// read fills block with frames of the recording, and silence behind its end.
func (r *Replay) read(block []float32, at int64, channels int) {
	var mono [deliveryFrames]float32
	frames := len(block) / channels
	for c := range channels {
		got := 0
		if at < r.Source.Frames() {
			got, _ = r.Source.ReadAt(mono[:frames], c+1, at)
		}
		clear(mono[got:frames])
		for i, v := range mono[:frames] {
			block[i*channels+c] = v
		}
	}
}

// OpenOutput plays at 48 kHz in stereo unless asked for something else.
func (r *Replay) OpenOutput(_ Device, f calib.Format, fill func([]float32), _ func()) (Stream, error) {
	f = calib.Format{RateHz: cmp.Or(f.RateHz, 48000), Channels: cmp.Or(f.Channels, 2)}
	s := &replaying{format: f, speed: cmp.Or(r.Speed, 1)}
	s.deliver = func(frames int64) bool {
		block := make([]float32, frames*int64(f.Channels))
		fill(block)
		if r.Played != nil {
			r.Played(block)
		}
		return true
	}
	return s, nil
}

// replaying is a stream that the clock drives.
type replaying struct {
	format  calib.Format
	speed   float64
	deliver func(frames int64) (goOn bool)
	block   [deliveryFrames * MostChannels]float32

	once       sync.Once
	stop, done chan struct{}
}

func (s *replaying) Format() calib.Format { return s.format }

func (s *replaying) Start() error {
	s.stop, s.done = make(chan struct{}), make(chan struct{})
	go func() {
		defer close(s.done)
		tick := time.NewTicker(10 * time.Millisecond)
		defer tick.Stop()
		began, sent := time.Now(), int64(0)
		for {
			select {
			case <-s.stop:
				return
			case <-tick.C:
			}
			due := int64(time.Since(began).Seconds() * s.speed * float64(s.format.RateHz))
			if due > sent && !s.deliver(due-sent) {
				return
			}
			sent = due
		}
	}()
	return nil
}

func (s *replaying) Stop() error {
	if s.stop != nil {
		s.once.Do(func() { close(s.stop) })
		<-s.done
	}
	return nil
}
