package capture

import (
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/ring"
)

// Sink is where sound goes: a take.Recorder is one.
type Sink interface {
	// Write takes whole frames, which are valid during the call only. An error
	// ends the recording.
	Write(interleaved []float32) error
	// Lost says that so many frames are missing before a frame, counted from 0 in
	// what was written. It may be about a frame that was written before.
	Lost(frame, lost int64)
}

const (
	ringS     = 5                     // seconds of sound that wait for a slow disk
	stampRoom = 4096                  // deliveries that wait; they come every few ms
	drainTick = 10 * time.Millisecond // how often the ring is emptied
	blockS    = 0.1                   // most that a sink is given at once
	// A device that sends nothing for this long is gone; the first sound of a
	// wireless one takes longer. Sound servers of a busy computer were late by over a second.
	stallAfter, firstSound = 3 * time.Second, 5 * time.Second
	standstill             = 500 * time.Millisecond // without a look: this program or the computer did not run
)

// Status is how a recording stands.
type Status struct {
	Frames int64 // handed to the sink
	Lost   int64 // frames that are missing, in all gaps
	Gaps   []Gap // in the order they were found
}

// Result is what a recording came to.
type Result struct {
	Format calib.Format
	Status // its gaps by frame
	// Err is one sentence that says why the recording ended by itself, and nil
	// after Stop. What came before is kept either way.
	Err error
}

// DurationS returns the length of what was recorded in seconds, gaps not counted.
func (r Result) DurationS() float64 { return float64(r.Frames) / float64(r.Format.RateHz) }

// Capture is a recording that runs. Its methods may be called from any goroutine.
type Capture struct {
	device Device
	format calib.Format
	stream Stream
	sink   Sink
	meters []meter
	began  time.Time

	// from the device's thread to the drain
	sound   *ring.Ring[float32]
	stamps  *ring.Ring[stamp]
	dropped atomic.Int64
	gone    atomic.Bool

	// of the drain
	watch   watch
	heard   time.Duration // when sound came last
	looked  time.Duration // when trouble was looked for last
	awake   time.Duration // since when this program itself has not stood still
	seen    int64         // dropped frames that are counted already
	asleep  time.Duration
	refused bool // the sink takes no more

	frames   atomic.Int64
	mu       sync.Mutex // guards gaps
	gaps     []Gap
	stopOnce sync.Once
	stop     chan struct{}
	done     chan struct{}
	result   Result
}

// Start records the first channels of a device until Stop is called, the device
// fails or the sink refuses. Zeros in f ask for the device's own rate and for all
// its channels, at most MostChannels. begin is told what the device really gives,
// and returns where the sound goes. The error is one sentence; a sink that begin
// returned before it got none of the sound.
func Start(sound Sound, d Device, f calib.Format, begin func(calib.Format) (Sink, error)) (*Capture, error) {
	if f.Channels != 0 && (f.Channels < LeastChannels || f.Channels > MostChannels) {
		return nil, i18n.Errorf("a recording cannot have %d channels: it needs %d to %d, all of one device", f.Channels, LeastChannels, MostChannels)
	}
	c := &Capture{device: d, stop: make(chan struct{}), done: make(chan struct{})}
	stream, err := sound.OpenInput(d, f, c.put, func() { c.gone.Store(true) })
	if err != nil {
		return nil, err
	}
	c.stream, c.format = stream, stream.Format()
	if c.format.Channels < LeastChannels {
		stream.Stop()
		return nil, i18n.Errorf("%s has one channel only, and reference and voice need one each: %w", d.Name, ErrTwoDevices)
	}
	if c.sink, err = begin(c.format); err != nil {
		stream.Stop()
		return nil, err
	}
	c.meters = make([]meter, c.format.Channels)
	c.sound = ring.New[float32](ringS * c.format.RateHz * c.format.Channels)
	c.stamps = ring.New[stamp](stampRoom)
	c.watch.rate = float64(c.format.RateHz)
	c.asleep = asleep()
	c.began = time.Now()
	if err := stream.Start(); err != nil {
		stream.Stop()
		return nil, err
	}
	go c.drain()
	return c, nil
}

// put is called on the device's thread.
func (c *Capture) put(interleaved []float32) {
	kept := c.sound.Put(interleaved)
	if kept < len(interleaved) {
		c.dropped.Add(int64((len(interleaved) - kept) / c.format.Channels))
	}
	one := [1]stamp{{
		at:      time.Since(c.began),
		kept:    c.sound.In() / int64(c.format.Channels),
		dropped: c.dropped.Load(),
	}}
	c.stamps.Put(one[:]) // one that finds no room is missed by nobody
}

// Format returns what the device really gives.
func (c *Capture) Format() calib.Format { return c.format }

// Levels returns how loud each channel is, the first one at index 0.
func (c *Capture) Levels() []Level {
	levels := make([]Level, len(c.meters))
	for i := range c.meters {
		levels[i] = c.meters[i].level()
	}
	return levels
}

// Status returns how the recording stands.
func (c *Capture) Status() Status {
	c.mu.Lock()
	defer c.mu.Unlock()
	s := Status{Frames: c.frames.Load(), Gaps: slices.Clone(c.gaps)}
	for _, g := range s.Gaps {
		s.Lost += g.Lost
	}
	return s
}

// Done is closed once the recording has ended, by Stop or by itself.
func (c *Capture) Done() <-chan struct{} { return c.done }

// Stop ends the recording, hands all sound that came to the sink and returns what
// it came to. The sink is not used afterwards. Calling it again returns the same.
func (c *Capture) Stop() Result {
	c.stopOnce.Do(func() { close(c.stop) })
	<-c.done
	return c.result
}
