package live

import (
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/playback"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// unplugged plays nothing and ends when told to.
type unplugged struct {
	capture.Replay
	ended func()
}

func (u *unplugged) OpenOutput(_ capture.Device, f calib.Format, _ func([]float32), ended func()) (capture.Stream, error) {
	u.ended = ended
	return dead{calib.Format{RateHz: 48000, Channels: f.Channels}}, nil
}

type dead struct{ f calib.Format }

func (d dead) Format() calib.Format { return d.f }
func (dead) Start() error           { return nil }
func (dead) Stop() error            { return nil }

// Who listens is told that the headphones are gone, also where nothing but the
// silence says so.
func TestListeningEndsWithTheOutput(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for _, says := range []bool{true, false} {
			u := &unplugged{}
			s := must.Get(NewSpeaker(u, capture.Device{}))(t)
			defer s.Close()
			said := make(chan error, 1)
			s.Listen(playback.NewListening(s.Rate(), playback.Take{Source: silence, Reference: 1, Voice: 2}), func(err error) { said <- err })
			select {
			case err := <-said:
				t.Fatalf("it ended by itself: %v", err)
			case <-time.After(3 * feedEvery):
			}
			if says {
				u.ended()
			}
			select {
			case err := <-said:
				if err != errGone || !s.Gone() {
					t.Errorf("it says %v", err)
				}
			case <-time.After(5 * time.Minute):
				t.Errorf("nobody is told (the device says so: %v)", says)
			}
		}
	})
}

const scantRate = 100

// scant is silence of so few samples that it is read at once.
var scant = soundtest.Made{RateHz: scantRate, Of: 2, Long: quickRate}

// Of takes that are listened to at the same moment one is left: none is fed any more
// once there is silence.
func TestListeningAtOnce(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := must.Get(NewSpeaker(&unplugged{}, capture.Device{}))(t)
		defer s.Close()
		var all sync.WaitGroup
		for range 4 {
			all.Go(func() {
				for range 100 {
					l := playback.NewListening(scantRate, playback.Take{Source: scant, Reference: 1, Voice: 2})
					s.Listen(l, func(err error) { t.Errorf("one that was silenced is told %v", err) })
				}
			})
		}
		all.Wait()
		s.Silence()
		time.Sleep(2 * deafAfter) // what is fed still finds by then that nothing plays it
	})
}

// How long nothing has sounded is counted from the end of a tone, and not while the guide
// click goes; nor from before what is to sound, though the device asked for none of it yet.
func TestQuiet(t *testing.T) {
	s := must.Get(NewSpeaker(&unplugged{}, capture.Device{}))(t)
	second := make([]float32, 2*48000)
	defer s.Close()
	for _, c := range []struct {
		what string
		do   func()
		want float64
	}{
		{"nothing", func() {}, 1},
		{"a tone of less than a second", func() { s.Ring(playback.Teach()[0].Tone) }, 0.5},
		{"the click", func() { s.Click(90, playback.ClickLevel) }, 0},
		{"no click", func() { s.StopClick(); s.fill(make([]float32, 10*len(second))) }, 11},
		{"listening", func() {
			s.Listen(playback.NewListening(scantRate, playback.Take{Source: scant, Reference: 1, Voice: 2}), nil)
		}, 0},
	} {
		if c.do(); c.want == 0 && s.QuietS() != 0 {
			t.Errorf("%s: quiet for %g s before it sounds", c.what, s.QuietS())
		}
		if s.fill(second); s.QuietS() > c.want || s.QuietS() < c.want-0.5 {
			t.Errorf("%s: quiet for %g s, want %g", c.what, s.QuietS(), c.want)
		}
	}
}
