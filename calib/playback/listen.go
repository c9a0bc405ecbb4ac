package playback

import (
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"lagwright/calib"
	"lagwright/calib/ring"
)

// Take is a take to listen to.
type Take struct {
	Source           calib.Source
	Reference, Voice int       // channels, from 1
	HitsS            []float64 // of the reference, in order: by them two takes are aligned
}

// Ears is what goes to which ear.
type Ears int

// Split has the reference on the left and the voice on the right; Mixed has both
// on both.
const (
	Split Ears = iota
	Mixed
)

// Listening plays a take, whole or round one hit, at full speed or slowed, and
// another one in its place at a press. Slowed sound is deeper: nothing is done to
// its pitch, so that what struck first is still first.
//
// Reading a file takes time that an audio callback has not got. So Feed, which the
// caller calls every 50 ms or so, reads and prepares a little ahead, and Fill,
// which the callback calls, only copies. What is changed is heard after at most
// AheadS. Fill belongs to the callback; all else may be called from any goroutine.
type Listening struct {
	mu      sync.Mutex
	rate    float64
	takes   []Take
	which   int
	two     bool    // there is another take, or will be at the next Feed
	asked   int     // which take will play then
	place   float64 // of the next sample, in frames of the take
	fromS   float64 // of the stretch that is played
	toS     float64
	loop    bool
	speed   float64
	ears    Ears
	changes []func()
	since   int // frames since a seam
	done    bool

	kernel      kernel
	kernelStep  float64
	left, right []float32
	out         [][2]float32
	readers     [2]reader

	ring   *ring.Ring[[2]float32]
	volume atomic.Uint32 // bits of a float32
	ended  atomic.Bool
	gain   float32 // the callback's
}

const (
	// AheadS is how far ahead of the ear Feed works, s.
	AheadS = 0.2
	// QuietVolume is the volume it starts with: 20 dB down.
	QuietVolume = 0.1

	seamS = 0.005 // fade where sound is cut
	riseS = 0.5   // from silence to full volume
	piece = 512   // frames prepared at once
)

// NewListening returns what plays a take, whole and at full speed, for an output's
// rate.
func NewListening(rateHz float64, t Take) *Listening {
	l := &Listening{rate: rateHz, takes: []Take{t}, speed: 1, ring: ring.New[[2]float32](int(AheadS*rateHz) + 1),
		left: make([]float32, piece), right: make([]float32, piece), out: make([][2]float32, piece)}
	l.whole()
	l.SetVolume(QuietVolume)
	return l
}

// change lets a change happen at the next Feed, behind a short fade.
func (l *Listening) change(f func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.changes = append(l.changes, f)
}

// Compare gives the other take, which Switch changes to.
func (l *Listening) Compare(other Take) {
	l.mu.Lock()
	l.two, l.asked = true, 0
	l.mu.Unlock()
	l.change(func() {
		if l.which == 1 {
			l.swap()
		}
		l.takes = append(l.takes[:1:1], other)
	})
}

// Switch changes to the other take and back. It goes on at the same distance from
// the same reference hit, so that the ear hears what changed. Without another take
// it does nothing.
func (l *Listening) Switch() {
	l.mu.Lock()
	if l.two {
		l.asked = 1 - l.asked
	}
	l.mu.Unlock()
	l.change(l.swap)
}

func (l *Listening) swap() {
	if len(l.takes) < 2 {
		return
	}
	was, now := l.takes[l.which], l.takes[1-l.which]
	at := l.place / was.Source.Rate()
	anchor := at
	if l.loop {
		anchor = (l.fromS + l.toS) / 2
	}
	shift := aligned(was.HitsS, now.HitsS, anchor)
	l.which = 1 - l.which
	if l.loop {
		l.fromS, l.toS = l.fromS+shift, l.toS+shift
	} else {
		l.fromS, l.toS = 0, seconds(now.Source)
	}
	l.place = math.Max(at+shift, 0) * now.Source.Rate()
}

// aligned returns by how much later the hit nearest to a time is in another take.
func aligned(was, now []float64, atS float64) float64 {
	if len(was) == 0 || len(now) == 0 {
		return 0
	}
	n, _ := slices.BinarySearch(was, atS)
	if n == len(was) || n > 0 && atS-was[n-1] <= was[n]-atS {
		n--
	}
	n = min(n, len(now)-1)
	return now[n] - was[min(n, len(was)-1)]
}

func seconds(s calib.Source) float64 { return float64(s.Frames()) / s.Rate() }

// Which returns which take plays, as the last Switch has it: 0 the first, 1 the other.
func (l *Listening) Which() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.asked
}

// Whole plays the whole take from its beginning, once.
func (l *Listening) Whole() { l.change(l.whole) }

func (l *Listening) whole() {
	l.fromS, l.toS, l.loop, l.place = 0, seconds(l.takes[l.which].Source), false, 0
	l.done = false
}

// LoopHit plays round the n-th reference hit of the first take, from 0, or round
// that of the other take which it is compared with, again and again.
func (l *Listening) LoopHit(n int, beforeS, afterS float64) {
	l.change(func() {
		hits := l.takes[0].HitsS
		if n < 0 || n >= len(hits) {
			return
		}
		at := hits[n]
		if l.which == 1 {
			at += aligned(hits, l.takes[1].HitsS, at)
		}
		l.round(at-beforeS, at+afterS)
	})
}

// round plays from one time to another, in s of the take, again and again. Times that
// leave nothing to play do nothing.
func (l *Listening) round(fromS, toS float64) {
	src := l.takes[l.which].Source
	if from := math.Max(fromS, 0); toS-from > 2*seamS && from < seconds(src) {
		l.fromS, l.toS, l.loop, l.place = from, toS, true, from*src.Rate()
		l.done = false
	}
}

// Speed sets how fast the take is played: 1, 1/2, 1/4, or anything between 1/16
// and 2.
func (l *Listening) Speed(s float64) {
	l.change(func() { l.speed = math.Max(1./16, math.Min(s, 2)) })
}

// Ears sets what goes to which ear.
func (l *Listening) Ears(e Ears) { l.change(func() { l.ears = e }) }

// SetVolume sets the volume, from 0 to 1. It rises slowly to it.
func (l *Listening) SetVolume(v float64) {
	l.volume.Store(math.Float32bits(float32(math.Max(0, math.Min(v, 1)))))
}

// AtS returns what is heard just now, in s of the take that plays.
func (l *Listening) AtS() float64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	at := l.place/l.takes[l.which].Source.Rate() - l.speed*float64(l.ring.Held())/l.rate
	if span := l.toS - l.fromS; l.loop && at < l.fromS && span > 0 {
		at += span * math.Ceil((l.fromS-at)/span)
	}
	return math.Max(at, 0)
}

// Ended reports whether the take was heard to its end.
func (l *Listening) Ended() bool { return l.ended.Load() && l.ring.Held() == 0 }

// Feed reads and prepares what will be heard next. It returns an error where the
// take cannot be read; the error does not name the file, which the caller knows.
func (l *Listening) Feed() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.changes) > 0 && l.ring.Room() >= l.seam() {
		if err := l.cut(); err != nil {
			return err
		}
	}
	for !l.done {
		n := min(piece, l.ring.Room())
		if n == 0 {
			break
		}
		made, err := l.make(n, 0)
		if err != nil {
			return err
		}
		l.ring.Put(l.out[:made])
	}
	l.ended.Store(l.done)
	return nil
}

// seam is how many frames a fade takes.
func (l *Listening) seam() int { return min(max(int(seamS*l.rate), 1), piece) }

// cut fades out what plays and makes the changes.
func (l *Listening) cut() error {
	if l.since > 0 && !l.done {
		n, err := l.make(l.seam(), l.seam())
		if err != nil {
			return err
		}
		l.ring.Put(l.out[:n])
	}
	for _, f := range l.changes {
		f()
	}
	l.changes, l.since = nil, 0
	return nil
}

// make prepares up to n frames in out; where fade is not 0 they fade out over so
// many. It returns how many there are.
func (l *Listening) make(n, fade int) (int, error) {
	t := l.takes[l.which]
	step := l.speed * t.Source.Rate() / l.rate
	left := int(math.Ceil((l.toS*t.Source.Rate() - l.place) / step))
	if left <= 0 && !l.loop {
		l.done = true
		return 0, nil
	} else if left <= 0 {
		l.place, l.since = l.fromS*t.Source.Rate(), 0
		left = int(math.Ceil((l.toS - l.fromS) * t.Source.Rate() / step))
	}
	n = min(n, left)
	if step != l.kernelStep {
		l.kernel, l.kernelStep = newKernel(step), step
	}
	if err := l.readers[0].read(l.left[:n], t.Source, t.Reference, l.place, step, l.kernel); err != nil {
		return 0, err
	}
	if err := l.readers[1].read(l.right[:n], t.Source, t.Voice, l.place, step, l.kernel); err != nil {
		return 0, err
	}
	for i := range n {
		g := l.seamGain(l.since+i) * l.seamGain(left-i-1)
		if fade > 0 {
			g *= l.seamGain(fade - i - 1)
		}
		l.out[i] = l.heard(g*l.left[i], g*l.right[i])
	}
	l.place, l.since = l.place+float64(n)*step, l.since+n
	return n, nil
}

// seamGain is the gain a number of frames away from a seam.
func (l *Listening) seamGain(frames int) float32 {
	n := l.seam()
	if frames >= n {
		return 1
	}
	return float32(0.5 - 0.5*math.Cos(math.Pi*float64(frames)/float64(n)))
}

// heard puts the channels on the ears.
func (l *Listening) heard(reference, voice float32) [2]float32 {
	if l.ears == Mixed {
		both := (reference + voice) / 2
		return [2]float32{both, both}
	}
	return [2]float32{reference, voice}
}

// Fill fills dst with stereo frames, left and right in turn. Where Feed came too
// late there is silence. It neither allocates, locks nor waits.
func (l *Listening) Fill(dst []float32) {
	target := math.Float32frombits(l.volume.Load())
	rise := float32(1 / (riseS * l.rate))
	for part := l.ring.Peek(len(dst) / 2); len(part) > 0; part = l.ring.Peek(len(dst) / 2) {
		for i, f := range part {
			l.gain += max(-rise, min(target-l.gain, rise))
			dst[2*i], dst[2*i+1] = l.gain*f[0], l.gain*f[1]
		}
		l.ring.Drop(len(part))
		dst = dst[2*len(part):]
	}
	clear(dst)
}
