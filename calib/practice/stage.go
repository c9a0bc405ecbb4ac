package practice

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"lagwright/calib"
)

// spreadDB is the usual standard deviation of loudness from hit to hit (invented).
const spreadDB = 1.5

// blow is one strike on an instrument.
type blow struct {
	on   instrument
	atS  float64
	peak float64
}

// stage turns a score into sound, one channel at a time.
type stage struct {
	rate   float64
	frames int
	seed   uint64
	peak   float64  // of an average hit
	blows  [][]blow // by channel
	m      Machine
	d      Disturb
	hum    complex128 // turn of the mains in one sample
	crank  complex128 // turn of the crank in one sample
	beat   func(atS float64) float64
	parts  []part // by channel, from the second
	faults []Fault
}

func newStage(m Machine, p Play, d Disturb, s score) *stage {
	st := &stage{
		rate: p.Rate, frames: int(math.Ceil(s.endS * p.Rate)), seed: p.Seed,
		peak: gain(p.PeakDBFS), m: m, d: d,
		hum:   turn(m.MainsHz, p.Rate),
		crank: turn(m.CrankTurnsPerBeat*p.TempoBPM/60, p.Rate),
		beat:  s.beat, parts: s.parts, blows: make([][]blow, 1+len(s.parts)),
	}
	r := luck(p.Seed, luckLoudness)
	st.setReference(s.truth.ReferenceHitsS, p, r)
	for i, part := range s.parts {
		if i > 0 {
			r = luck(p.Seed, stream(luckLoudness, i+1))
		}
		st.setVoice(i+1, part, r)
	}
	st.setKnocks()
	return st
}

func turn(hz, rate float64) complex128 { return cmplx.Exp(complex(0, 2*math.Pi*hz/rate)) }

// loudness returns the peak of one hit, at most two standard deviations from
// the average.
func (st *stage) loudness(r *rand.Rand) float64 {
	return st.peak * gain(level(st.d.SpreadDB)*min(max(r.NormFloat64(), -2), 2))
}

func (st *stage) setReference(hitsS []float64, p Play, r *rand.Rand) {
	near, far := st.pair(st.m.Reference)
	for k, at := range hitsS {
		peak := st.loudness(r)
		if k%p.PerBeat != 0 {
			peak *= gain(-p.AccentDB)
		}
		st.hit(0, near, far, at, peak)
	}
}

// setVoice sets every sound that a voice's drops make. Shot that rebounds with a share e
// of its speed is in the air for 2e fall times, and strikes e times as hard or
// less.
func (st *stage) setVoice(ch int, p part, r *rand.Rand) {
	v := p.voice
	near, far := st.pair(v.Sound)
	gate, tray := clunk.prepare(st.rate), clatter.prepare(st.rate)
	fallS := calib.FallMS(v.HeightMM) / 1000
	for _, dr := range p.drops {
		peak, second := st.loudness(r), st.loudness(r)
		again := v.Rebound * (0.5 + 0.5*r.Float64())
		st.set(ch, gate, dr.hitS-fallS, st.peak*gain(st.d.ClunkDB))
		if dr.missed {
			continue
		}
		st.hit(ch, near, far, dr.hitS, peak)
		st.hit(ch, near, far, dr.hitS+2*v.Rebound*fallS, again*peak)
		if dr.doubleS != 0 {
			st.hit(ch, near, far, dr.doubleS, second)
		}
		for every := range st.blows {
			st.set(every, tray, dr.trayS, st.peak*gain(st.d.ClatterDB))
		}
	}
}

// pair returns a sound as its own microphone and as the others hear it.
func (st *stage) pair(s Sound) (near, far instrument) {
	return s.prepare(st.rate), s.throughFrame().prepare(st.rate)
}

// hit sets a hit on its own channel and its leak on the others.
func (st *stage) hit(ch int, near, far instrument, atS, peak float64) {
	st.set(ch, near, atS, peak)
	for other := range st.blows {
		if other != ch {
			st.set(other, far, atS+st.m.FrameMS/1000, peak*gain(st.d.LeakDB))
		}
	}
}

func (st *stage) set(ch int, on instrument, atS, peak float64) {
	if peak > 0 {
		st.blows[ch] = append(st.blows[ch], blow{on, atS, peak})
	}
}

// render returns the samples of a channel, from 0, as a recorder would have them.
func (st *stage) render(ch int) []float32 {
	buf := make([]float32, st.frames)
	for _, b := range st.blows[ch] {
		b.on.strike(buf, b.atS, b.peak)
	}
	st.addNoise(buf, st.seed, stream(luckNoise, ch))
	st.addHarmonics(buf)
	st.addMesh(buf)
	if ch > 0 {
		st.addSwells(buf, ch)
	}
	if st.d.HumBurst == ch+1 {
		st.bursts(buf, ch, calib.WarnHumBurst, 0.25, 0.3, 0.9, st.humBurst)
	}
	record(buf, gain(st.d.GainDB), level(st.d.DCOffset))
	st.disconnect(buf, ch)
	round(buf, st.d.Bits)
	return buf
}

// addNoise adds hum, broadband noise and the rumble of rolling shot.
func (st *stage) addNoise(buf []float32, seed, stream uint64) {
	const (
		rumbleHz = 420 // corner of the rumble, invented
		third    = 0.4 // the hum's third harmonic, invented
		swell    = 0.6 // by how much the rumble swells in a turn, invented
	)
	hum, noise := st.peak*gain(st.d.HumDB), st.peak*gain(st.d.NoiseDB)
	k := 1 - math.Exp(-2*math.Pi*rumbleHz/st.rate)
	// A one-pole low-pass leaves k/(2−k) of white noise's power, and the swell
	// adds half its square.
	rumble := st.peak * gain(st.d.RollDB) / math.Sqrt(k/(2-k)*(1+swell*swell/2))
	if hum == 0 && noise == 0 && rumble == 0 {
		return
	}
	src := rand.NewPCG(seed, stream)
	z, wheel, low := complex(1, 0), complex(1, 0), 0.0
	for i := range buf {
		low += k * (bell(src.Uint64()) - low)
		x := hum*(imag(z)+third*imag(z*z*z)) + noise*bell(src.Uint64())
		x += rumble * (1 + swell*real(wheel)) * low
		buf[i] += float32(x)
		z *= st.hum
		wheel *= st.crank
	}
}

// bell returns a number with mean 0, standard deviation 1 and nearly a normal
// distribution: the sum of the four 16-bit quarters of a random number.
func bell(u uint64) float64 {
	const mean, sd = 4 * 65535.0 / 2, 37837.22 // 65536·√(4/12)
	sum := u&0xffff + u>>16&0xffff + u>>32&0xffff + u>>48
	return (float64(sum) - mean) / sd
}

// record does what a recorder does: gain, offset and the end of its range.
func record(buf []float32, by, offset float64) {
	for i, x := range buf {
		x = float32(by)*x + float32(offset)
		switch { // min and max are slower on floats
		case x > 1:
			x = 1
		case x < -1:
			x = -1
		}
		buf[i] = x
	}
}

// round rounds samples to that many bits, as a recorder stores them; no bits
// leave them as they are.
func round(buf []float32, bits int) {
	if bits == 0 {
		return
	}
	steps := math.Exp2(float64(bits - 1))
	for i, x := range buf {
		buf[i] = float32(math.Round(float64(x)*steps) / steps)
	}
}
