package signal

import (
	"cmp"
	"context"
	"math"
	"slices"

	"lagwright/calib"
)

// The trigger's constants are common practice, no published source; the ratio
// of short-term to long-term energy is Allen (1978), Bull. Seismol. Soc. Am.
// 68:1521-1532 (from memory), in its recursive form.
const (
	lowHz      = 180 // band in which hits are looked for: above rumble
	highHz     = 9000
	shortS     = 0.0007 // time constant of the short-term energy
	longS      = 0.025  // of the long-term energy
	triggerOn  = 4.5    // ratio at which a candidate begins
	triggerOff = 2      // ratio at which the next may
	strikeS    = 0.012  // a strike is loudest within this time
	againS     = 0.004  // later than this, a rise by triggerOn over the peak is a new strike
	blockS     = 0.005  // blocks whose mean energies tell the noise floor
	markBlocks = 5      // from one mark to the next
	settleS    = 0.075  // in which the long-term energy has forgotten what was changed
	silence    = 1e-20  // energy that stands for none at all, -200 dB
)

// candidate is a moment that may be a hit.
type candidate struct {
	frame  int64   // where the ratio passed triggerOn
	peak   float64 // largest short-term energy of the strike
	before float64 // long-term energy at frame
}

// trigger is the first pass over a channel: samples go in by blocks of any
// length, candidates and statistics come out.
type trigger struct {
	band          band
	kShort, kLong float64
	short, long   float64
	strike, anew  int64
	n             int64
	on            bool
	marks         []mark // one every markLen samples
	markLen       int64
	candidates    []candidate
	levels        []float32 // of its blocks, dB
	blockLen      int
	blockSum      float64
	blockN        int
	warmUp        int64
}

// mark is where a trigger can go on from.
type mark struct {
	high, low   past
	short, long float64
	on          bool
}

func newTrigger(rate float64) *trigger {
	blockLen := max(int(blockS*rate), 1)
	return &trigger{
		band:   newBand(rate),
		kShort: 1 - math.Exp(-1/(shortS*rate)), kLong: 1 - math.Exp(-1/(longS*rate)),
		strike: int64(strikeS * rate), anew: int64(againS * rate),
		blockLen: blockLen, markLen: int64(markBlocks * blockLen), warmUp: max(int64(2*shortS*rate), 2*tonesOrder),
	}
}

// feed takes the next samples, which are finite.
func (t *trigger) feed(block []float32) {
	if t.n == 0 && len(block) > 0 {
		t.band.high.settle(float64(block[0]))
	}
	for len(block) > 0 {
		if t.n%t.markLen == 0 {
			t.marks = append(t.marks, mark{t.band.high.past, t.band.low.past, t.short, t.long, t.on})
		}
		n, kLong := min(len(block), t.blockLen-t.blockN), t.kLong
		if t.n < t.warmUp { // a plain mean, until there is a past to weigh
			n, kLong = 1, 1/float64(t.n+1)
		}
		t.blockSum += t.hear(block[:n], kLong)
		t.blockN += n
		block = block[n:]
		if t.blockN == t.blockLen {
			t.levels = append(t.levels, float32(decibels(t.blockSum/float64(t.blockN))))
			t.blockSum, t.blockN = 0, 0
		}
	}
}

// hear takes the next samples, of which the last few weigh kLong each in the
// long-term energy, and returns their energy. All steps are in one loop: each
// waits for its own sample before, and meanwhile the others go on.
func (t *trigger) hear(block []float32, kLong float64) (sum float64) {
	band, short, long := t.band, t.short, t.long
	kShort, keepShort, keepLong := t.kShort, 1-t.kShort, 1-kLong
	for i, s := range block {
		y := band.high.run(float64(s))
		if band.both {
			y = band.low.run(y)
		}
		e := y*y + silence
		sum += e
		short = kShort*e + keepShort*short
		long = kLong*e + keepLong*long
		if t.on || short > triggerOn*long {
			t.judge(short, long, t.n+int64(i))
		}
	}
	t.band, t.short, t.long = band, short, long
	t.n += int64(len(block))
	return sum
}

// clean makes 0 of what is no finite number (an exponent of ones, IEEE 754): it would deafen the filters.
func clean(x []float32) {
	const ones = 0xFF << 23
	for i, v := range x {
		if math.Float32bits(v)&ones == ones {
			x[i] = 0
		}
	}
}

// judge looks whether a candidate begins or ends at sample n.
func (t *trigger) judge(short, long float64, n int64) {
	if n < t.warmUp {
		return
	}
	begun := candidate{frame: n, peak: short, before: long}
	if !t.on {
		t.on = true
		t.candidates = append(t.candidates, begun)
		return
	}
	last := &t.candidates[len(t.candidates)-1]
	switch since := n - last.frame; {
	case since > t.anew && short > triggerOn*last.peak && short > triggerOff*long:
		t.candidates = append(t.candidates, begun)
	case since <= t.strike:
		last.peak = max(last.peak, short)
	}
	if short < triggerOff*long {
		t.on = false
	}
}

// first returns the index of the first candidate that begins at a frame or later.
func (t *trigger) first(frame int64) int {
	i, _ := slices.BinarySearchFunc(t.candidates, frame, func(c candidate, f int64) int { return cmp.Compare(c.frame, f) })
	return i
}

// from returns a trigger that goes on from a mark, with the candidate before it.
func (t *trigger) from(frame int64) *trigger {
	u, m, i := *t, t.marks[frame/t.markLen], t.first(frame)
	u.band.high.past, u.band.low.past, u.short, u.long, u.on = m.high, m.low, m.short, m.long, m.on
	u.n, u.blockSum, u.blockN, u.levels, u.marks = frame, 0, 0, nil, nil
	u.candidates = slices.Clone(t.candidates[max(i-1, 0):i])
	return &u
}

// again returns the trigger as it would be, had it heard the channel as it is in src,
// where that was changed in some stretches. Only these are heard again, each from
// before a strike that they may belong to.
func (t *trigger) again(ctx context.Context, src calib.Source, channel int, changed []stretch) (*trigger, error) {
	var runs [][2]int64 // frames
	for _, s := range changed {
		from := max(int64((s.fromS-strikeS)*src.Rate()), 0) / t.markLen * t.markLen
		to := min((int64((s.toS+settleS)*src.Rate())/t.markLen+1)*t.markLen, src.Frames())
		if n := len(runs); n > 0 && from <= runs[n-1][1] {
			runs[n-1][1] = max(runs[n-1][1], to)
		} else if from < to {
			runs = append(runs, [2]int64{from, to})
		}
	}
	u, heard := *t, make([][]candidate, len(runs))
	u.levels, u.candidates, u.marks = slices.Clone(t.levels), nil, nil // a leak is taken out once
	err := inParallel(ctx, len(runs), func(i int) error {
		from, to := runs[i][0], runs[i][1]
		part := t.from(from)
		err := listen(ctx, src, channel, from, to, func(float64) {}, part.feed)
		copy(u.levels[from/int64(t.blockLen):], part.levels)
		heard[i] = part.candidates[part.first(from):]
		return err
	})
	at := int64(0)
	for i, run := range runs {
		u.candidates = append(append(u.candidates, t.candidates[t.first(at):t.first(run[0])]...), heard[i]...)
		at = run[1]
	}
	u.candidates = append(u.candidates, t.candidates[t.first(at):]...)
	return &u, err
}
