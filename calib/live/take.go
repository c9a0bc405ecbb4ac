package live

import (
	"context"
	"errors"
	"os"
	"sync"
	"sync/atomic"
	"time"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/playback"
	"lagwright/calib/take"
)

// Take is a take while it is played, both hands on the crank: the machine leads,
// and whoever looks on samples Now. Its methods may be called from any goroutine.
type Take struct {
	bench *bench.Bench
	mics  machine.Microphones
	id    int
	plan  handsfree.Plan
	aloud Aloud
	rec   *take.Recorder
	sound *capture.Capture
	ears  ears
	press chan struct{}
	left  chan struct{} // closed by Leave
	leave sync.Once
	cut   atomic.Pointer[context.CancelFunc] // ends the measuring under way
	done  chan struct{}

	mu   sync.Mutex
	now  Moment
	take machine.Take
	err  error
}

// Moment is how a live take stands.
type Moment struct {
	Say       handsfree.Say
	Levels    []capture.Level // of every channel, channel 1 first
	RecordedS float64
	Gaps      int           // places where sound was lost
	LostMS    float64       // how much, in all
	Reading   calib.Reading // of the target's voice so far
	Sound     *take.File    // grows; nil until sound has come; from Say.Stop on it may be closed, and reading it fail
	Fault     error         // why the recording ended by itself; nil where it did not
}

// Aloud is what sounds while a take is played. Its zero value is silence.
type Aloud struct {
	Ring     func(playback.Tone) // sounds a tone
	ClickBPM float64             // tempo of the guide click that runs; 0 = none
}

// Record begins a take with the machine's microphones, or of the simulated machine
// where the machine is its own; then sound is not used. What it returns leads the
// take until that is over.
func Record(b *bench.Bench, sound capture.Sound, aloud Aloud) (*Take, error) {
	if err := b.ReadOnly(); err != nil {
		return nil, err
	}
	m, sweep := b.Machine(), b.View().Sweep
	if m.Build.PracticeSeed != 0 {
		var err error
		if sound, m.Microphones, err = replay(b); err != nil {
			return nil, err
		}
	}
	mics, err := microphonesOf(m)
	if err != nil {
		return nil, err
	}
	device, err := find(sound, mics.Device)
	if err != nil {
		return nil, err
	}
	voice, _ := mics.Of(m.Target.Voice)
	fromBPM := m.Target.TempoBPM
	if !sweep.None() {
		fromBPM = sweep.FromBPM
	}
	l := &Take{
		bench: b, mics: mics, aloud: aloud, press: make(chan struct{}, 1), left: make(chan struct{}), done: make(chan struct{}),
		plan: handsfree.Plan{
			TargetBPM: fromBPM, ToBPM: sweep.ToBPM, PerBeat: m.Build.PerBeat, Reference: mics.Reference, Voice: voice.Channel, LimitMS: limitOf(m), LeastHits: b.View().Hits,
		},
	}
	if aloud.Ring == nil {
		l.aloud.Ring = func(playback.Tone) {}
	}
	id, path := b.NewTake()
	l.id = id
	want := calib.Format{RateHz: mics.RateHz, Channels: mics.Channels}
	l.sound, err = capture.Start(sound, device, want, func(got calib.Format) (_ capture.Sink, err error) {
		if got != want {
			return nil, i18n.Errorf("%s gives %d channels at %d Hz and not %d at %d: set the microphones up again", device.Name, got.Channels, got.RateHz, want.Channels, want.RateHz)
		}
		l.rec, err = take.Create(path, got)
		return l.rec, err
	})
	if err != nil {
		if l.rec != nil {
			l.rec.Discard()
		}
		return nil, err
	}
	l.ears = ears{path: l.rec.Path(), plan: l.plan}
	go l.lead()
	return l, nil
}

// replay is the simulated machine, its crank turned as in a shop: it plays in real
// time, after a moment in which nothing moves.
func replay(b *bench.Bench) (capture.Sound, *machine.Microphones, error) {
	id, _ := b.NewTake()
	play := bench.Simulated
	play.Hits, play.LeadS = replayHits, replayLeadS
	recording, on, err := b.Simulate(id, play)
	if err != nil {
		return nil, nil, err
	}
	sound := &capture.Replay{Source: recording}
	d, err := sound.Inputs()
	on.Device = d[0].Name
	return sound, &on, err
}

const (
	replayHits  = 40
	replayLeadS = 1.5
)

// microphonesOf returns how the machine is recorded.
func microphonesOf(m machine.Machine) (machine.Microphones, error) {
	if m.Microphones == nil {
		return machine.Microphones{}, i18n.Errorf("no microphones are set up for this machine: choose Record > Microphones first")
	}
	if _, ok := m.Microphones.Of(m.Target.Voice); !ok {
		return machine.Microphones{}, i18n.Errorf("the %s has no microphone: choose Record > Microphones and say on which channel it is", m.Target.Voice)
	}
	return *m.Microphones, nil
}

// find returns the input of a name.
func find(sound capture.Sound, name string) (capture.Device, error) {
	inputs, err := sound.Inputs()
	if err != nil {
		return capture.Device{}, err
	}
	for _, d := range inputs {
		if d.Name == name {
			return d, nil
		}
	}
	return capture.Device{}, i18n.Errorf("%s is not there: plug it in, or choose another device under Record > Microphones", name)
}

// limitOf returns how far a lag may lie from zero, as far as it is known before a
// take: the tolerance, or half a step where the plate is coarser.
func limitOf(m machine.Machine) float64 {
	step := m.Build.Plate.StepBeats() * calib.PeriodMS(m.Target.TempoBPM)
	return max(m.ToleranceMS, step/2)
}

// Reference returns the channel of the reference.
func (l *Take) Reference() int { return l.plan.Reference }

// Voice returns the channel of the target's voice.
func (l *Take) Voice() int { return l.plan.Voice }

// Names returns what is on each channel, channel 1 first; empty = nothing.
func (l *Take) Names() []string {
	names := make([]string, l.mics.Channels)
	names[l.plan.Reference-1] = machine.ReferenceRole()
	for _, v := range l.mics.Voices {
		names[v.Channel-1] = v.Voice
	}
	return names
}

// Press starts and stops, as space, enter and the foot switch do.
func (l *Take) Press() {
	select {
	case l.press <- struct{}{}:
	default: // one is on its way already
	}
	l.interrupt()
}

// Leave ends the take at once, however short a while ago it began: its machine is
// about to close. A press as soon after another would be taken for a bouncing switch.
func (l *Take) Leave() {
	l.leave.Do(func() { close(l.left) })
	l.interrupt()
}

// interrupt ends the measuring under way: on a busy computer it takes seconds, and
// what came in has to be heeded at once.
func (l *Take) interrupt() {
	if cut := l.cut.Load(); cut != nil {
		(*cut)()
	}
}

// Done is closed once the take is over, measured and kept.
func (l *Take) Done() <-chan struct{} { return l.done }

// Now returns how the take stands.
func (l *Take) Now() Moment {
	l.mu.Lock()
	defer l.mu.Unlock()
	m := l.now
	m.Levels = l.sound.Levels()
	status := l.sound.Status()
	rate := float64(l.mics.RateHz)
	m.RecordedS, m.Gaps, m.LostMS = float64(status.Frames)/rate, len(status.Gaps), 1000*float64(status.Lost)/rate
	return m
}

// Kept returns what was kept once Done is closed: a take, or neither a take nor an
// error where nobody played.
func (l *Take) Kept() (t machine.Take, err error) {
	<-l.done
	return l.take, l.err
}

// ticks is how often the recording so far is measured.
const ticks = 250 * time.Millisecond

// lead is the life of a take.
func (l *Take) lead() {
	defer close(l.done)
	began := time.Now()
	state, say := handsfree.Begin(l.plan)
	l.show(say)
	tick := time.NewTicker(ticks)
	defer tick.Stop()
	for !say.Stop {
		ctx, cut := context.WithCancel(context.Background())
		l.cut.Store(&cut)
		event := l.next(tick.C)
		if event != handsfree.Nothing {
			cut() // there is no time to measure
		}
		heard := l.ears.hear(ctx, say.Phase)
		cut()
		heard.AtS, heard.Event, heard.Gaps = time.Since(began).Seconds(), event, len(l.sound.Status().Gaps)
		state, say = handsfree.Next(state, heard)
		l.show(say)
	}
	l.finish(say)
}

// next waits for the next tick, or for what does not wait for a tick.
func (l *Take) next(tick <-chan time.Time) handsfree.Event {
	select { // first of all: a tick may be due as well
	case <-l.left:
		return handsfree.Left
	case <-l.press:
		return handsfree.Pressed
	default:
	}
	select {
	case <-l.left:
		return handsfree.Left
	case <-l.press:
		return handsfree.Pressed
	case <-l.sound.Done():
		return handsfree.Lost
	case <-tick:
		return handsfree.Nothing
	}
}

// show puts what the machine says where it is seen and heard.
func (l *Take) show(say handsfree.Say) {
	l.mu.Lock()
	l.now.Say, l.now.Reading, l.now.Sound = say, l.ears.reading, l.ears.file
	l.mu.Unlock()
	if say.Tone != "" {
		l.aloud.Ring(say.Tone)
	}
}

// finish ends the recording, and measures and keeps it where anybody played.
func (l *Take) finish(say handsfree.Say) {
	result := l.sound.Stop()
	l.ears.close()
	path, err := l.rec.Finish()
	if result.Err != nil {
		l.mu.Lock()
		l.now.Fault = result.Err
		l.mu.Unlock()
	}
	switch {
	case err != nil:
		l.err = errors.Join(result.Err, err)
		return
	case !say.Keep && !l.ears.any:
		os.Remove(path) // nothing struck
		l.err = result.Err
		return
	}
	l.take, l.err = l.bench.Keep(context.Background(), bench.Recorded{
		ID: l.id, Path: path, Origin: machine.RecordedFrom(l.mics.Device),
		On: l.mics, FromS: say.FromS, ClickBPM: l.aloud.ClickBPM,
	}, nil)
	if l.err == nil {
		l.aloud.Ring(toneOf(l.bench.View()))
	}
}

// toneOf returns the tone that tells what the last take led to.
func toneOf(v *loop.View) playback.Tone {
	switch {
	case v.Stage == loop.Tight:
		return playback.Tight
	case v.Last == nil || v.Last.Outcome.Again():
		return playback.Trouble
	case v.Last.LagMS < 0:
		return playback.Early
	}
	return playback.Late
}
