package signal

import "math"

// The trigger's constants are common practice, no published source; the ratio
// of short-term to long-term energy is Allen (1978), Bull. Seismol. Soc. Am.
// 68:1521-1532, in its recursive form.
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
	strike, again int64
	n             int64
	on            bool
	candidates    []candidate
	levels        []float32 // of its blocks, dB
	blockLen      int
	blockSum      float64
	blockN        int
	warmUp        int64
}

func newTrigger(rate float64) *trigger {
	return &trigger{
		band:   newBand(rate),
		kShort: 1 - math.Exp(-1/(shortS*rate)), kLong: 1 - math.Exp(-1/(longS*rate)),
		strike: int64(strikeS * rate), again: int64(againS * rate),
		blockLen: max(int(blockS*rate), 1), warmUp: max(int64(2*shortS*rate), 2*tonesOrder),
	}
}

// feed takes the next samples.
func (t *trigger) feed(block []float32) {
	if t.n == 0 && len(block) > 0 {
		t.band.high.settle(finite(block[0]))
	}
	for len(block) > 0 {
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
		y := band.high.run(finite(s))
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

// finite returns a sample, or 0 for what is no number: one such sample in a
// broken file must not deafen the filters for the rest of it.
func finite(s float32) float64 {
	if s-s != 0 {
		return 0
	}
	return float64(s)
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
	case since > t.again && short > triggerOn*last.peak && short > triggerOff*long:
		t.candidates = append(t.candidates, begun)
	case since <= t.strike:
		last.peak = max(last.peak, short)
	}
	if short < triggerOff*long {
		t.on = false
	}
}
