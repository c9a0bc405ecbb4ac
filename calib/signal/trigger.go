package signal

import "math"

// The trigger's constants are common practice, no published source; the ratio
// of short-term to long-term energy is Allen (1978), Bull. Seismol. Soc. Am.
// 68:1521-1532, in its recursive form.
const (
	lowHz      = 180 // band in which hits are looked for: above rumble,
	higherHz   = 600 // or, where tones fill that, above those
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
	high, low     biquad
	useLow        bool
	kShort, kLong float64
	short, long   float64
	strike, again int64
	n             int64
	on            bool
	candidates    []candidate
	floor         levels
	blockLen      int64
	blockSum      float64
	blockN        int64
	clip          clipping
	warmUp        int64
	slow          slow
	silences      silences
	jumps         jumps
}

func newTrigger(rate, lowHz float64) *trigger {
	return &trigger{
		high: highPass(lowHz, rate), low: lowPass(highHz, rate), useLow: rate > 3*highHz,
		kShort: 1 - math.Exp(-1/(shortS*rate)), kLong: 1 - math.Exp(-1/(longS*rate)),
		strike: int64(strikeS * rate), again: int64(againS * rate),
		blockLen: max(int64(blockS*rate), 1), warmUp: int64(2 * shortS * rate), slow: newSlow(rate), silences: silences{blockS: blockS},
	}
}

// settle sets the high-pass as if the first sample had lasted for ever, so that
// an offset makes no step.
func (t *trigger) settle(x float64) {
	t.high.z1, t.high.z2 = -t.high.b0*x, t.high.b2*x
}

// feed takes the next samples.
func (t *trigger) feed(block []float32) {
	if t.n == 0 && len(block) > 0 {
		t.settle(finite(block[0]))
	}
	for _, s := range block {
		t.clip.note(s)
		x := finite(s)
		t.slow.add(x)
		t.jumps.note(x)
		y := t.high.run(x)
		if t.useLow {
			y = t.low.run(y)
		}
		t.energy(y*y + silence)
		t.n++
	}
}

// finite returns a sample, or 0 for what is no number: one such sample in a
// broken file must not deafen the filters for the rest of it.
func finite(s float32) float64 {
	if s-s != 0 {
		return 0
	}
	return float64(s)
}

// energy takes the energy of the next sample.
func (t *trigger) energy(e float64) {
	t.blockSum += e
	if t.blockN++; t.blockN == t.blockLen {
		t.floor.add(t.blockSum / float64(t.blockN))
		t.silences.note(t.blockSum / float64(t.blockN))
		t.blockSum, t.blockN = 0, 0
	}
	t.short += t.kShort * (e - t.short)
	if t.n < t.warmUp {
		t.long += (e - t.long) / float64(t.n+1) // a plain mean, until there is a past to weigh
		return
	}
	t.long += t.kLong * (e - t.long)
	t.judge()
}

func (t *trigger) judge() {
	if !t.on {
		if t.short > triggerOn*t.long {
			t.begin()
		}
		return
	}
	last := &t.candidates[len(t.candidates)-1]
	switch since := t.n - last.frame; {
	case since > t.again && t.short > triggerOn*last.peak && t.short > triggerOff*t.long:
		t.begin()
	case since <= t.strike:
		last.peak = max(last.peak, t.short)
	}
	if t.short < triggerOff*t.long {
		t.on = false
	}
}

func (t *trigger) begin() {
	t.on = true
	t.candidates = append(t.candidates, candidate{frame: t.n, peak: t.short, before: t.long})
}
