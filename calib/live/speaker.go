package live

import (
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/playback"
)

// Speaker is one output: tones, the guide click and takes to listen to, all at once
// if need be. Its methods may be called from any goroutine.
type Speaker struct {
	stream    capture.Stream
	rate      float64
	chime     *playback.Chime
	click     atomic.Pointer[playback.Click]
	listening atomic.Pointer[playback.Listening]
	gone      atomic.Bool
	filled    atomic.Int64 // times the device asked for sound
	quiet     atomic.Int64 // frames since something sounded

	mono []float32 // the callback's own

	mu    sync.Mutex    // guards the two
	stop  chan struct{} // ends the feeding; nil while nothing is listened to
	ended chan struct{} // closed once it has ended
}

// mostFrames is how many frames the callback mixes at a time, each for both ears.
const mostFrames, sides = 4096, 2

// NewSpeaker opens an output.
func NewSpeaker(sound capture.Sound, d capture.Device) (*Speaker, error) {
	s := &Speaker{mono: make([]float32, mostFrames)}
	stream, err := sound.OpenOutput(d, calib.Format{Channels: sides}, s.fill, func() { s.gone.Store(true) })
	if err != nil {
		return nil, err
	}
	s.stream, s.rate = stream, float64(stream.Format().RateHz)
	s.chime = playback.NewChime(s.rate)
	if err := stream.Start(); err != nil {
		stream.Stop()
		return nil, err
	}
	return s, nil
}

// Rate returns the output's frames per second in Hz.
func (s *Speaker) Rate() float64 { return s.rate }

// Gone reports whether the output ended by itself.
func (s *Speaker) Gone() bool { return s.gone.Load() }

// QuietS is for how long nothing has sounded, in s.
func (s *Speaker) QuietS() float64 { return float64(s.quiet.Load()) / s.rate }

// Ring sounds a tone.
func (s *Speaker) Ring(t playback.Tone) {
	s.quiet.Store(0)
	s.chime.Ring(t)
}

// Click begins the guide click at a tempo, quietly, with a peak that it rises to.
func (s *Speaker) Click(tempoBPM, level float64) {
	s.quiet.Store(0)
	s.click.Store(playback.NewClick(tempoBPM, s.rate, level))
}

// StopClick ends it.
func (s *Speaker) StopClick() { s.click.Store(nil) }

// feedEvery is how often a take that is listened to is read ahead.
const feedEvery = 50 * time.Millisecond

// Listen plays a take in place of what was listened to before, until it ends or
// Silence. over, which may be nil, hears on another goroutine why it ended: nil at
// the take's end.
func (s *Speaker) Listen(l *playback.Listening, over func(error)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.silence()
	stop, ended := make(chan struct{}), make(chan struct{})
	s.stop, s.ended = stop, ended
	s.quiet.Store(0)
	s.listening.Store(l)
	go func() {
		err, silenced := s.feed(l, stop)
		s.listening.CompareAndSwap(l, nil)
		close(ended)
		if !silenced && over != nil {
			over(err)
		}
	}()
}

// errGone is what a listener is told whose headphones were unplugged.
var errGone = i18n.Fixed(i18n.Say("the output stopped by itself: check its plug and the sound settings, then listen again"))

// deafAfter is how long an output that asks for no sound counts as there: a sound
// server that died does not always say so.
const deafAfter = 3 * time.Second

// feed reads ahead for a take until it ends, or the output does.
func (s *Speaker) feed(l *playback.Listening, stop <-chan struct{}) (err error, silenced bool) {
	tick := time.NewTicker(feedEvery)
	defer tick.Stop()
	filled, at := s.filled.Load(), time.Now()
	for {
		if err := l.Feed(); err != nil || l.Ended() {
			return err, false
		}
		if now := s.filled.Load(); now != filled {
			filled, at = now, time.Now()
		}
		if s.Gone() || time.Since(at) > deafAfter {
			s.gone.Store(true) // so that another is opened next time
			return errGone, false
		}
		select {
		case <-stop:
			return nil, true
		case <-tick.C:
		}
	}
}

// Silence ends what is listened to. Its takes are not read any more afterwards.
func (s *Speaker) Silence() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.silence()
}

// silence is Silence where mu is held.
func (s *Speaker) silence() {
	if s.stop != nil {
		close(s.stop)
		<-s.ended
		s.stop = nil
	}
}

// Close gives the output back.
func (s *Speaker) Close() {
	s.Silence()
	s.stream.Stop()
}

// fill is called on the device's thread.
func (s *Speaker) fill(dst []float32) {
	s.filled.Add(1)
	for part := range slices.Chunk(dst, mostFrames*sides) {
		s.mix(part)
	}
}

// mix makes frames, left and right in turn.
func (s *Speaker) mix(stereo []float32) {
	mono := s.mono[:len(stereo)/sides]
	clear(stereo)
	s.quiet.Add(int64(len(mono)))
	if l := s.listening.Load(); l != nil {
		l.Fill(stereo)
		s.quiet.Store(0)
	}
	if s.chime.Fill(mono) {
		add(stereo, mono)
		s.quiet.Store(0)
	}
	if c := s.click.Load(); c != nil {
		c.Fill(mono)
		add(stereo, mono)
		s.quiet.Store(0)
	}
}

// add puts mono sound on both ears.
func add(stereo, mono []float32) {
	for i, v := range mono {
		stereo[2*i] += v
		stereo[2*i+1] += v
	}
}
