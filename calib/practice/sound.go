package practice

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// Mode is one damped mode of a sounding body.
type Mode struct {
	Hz     float64 // frequency of the undamped mode
	DecayS float64 // time in which it falls by 60 dB
	Weight float64 // its share of the sound, relative to the other modes
}

// Sound is what a contact microphone hears when something is struck: modes
// driven by a force that lasts ContactMS and has the shape of half a sine.
type Sound struct {
	ContactMS float64
	WayMS     float64 // how long it takes from where the body is struck to its microphone
	Modes     []Mode
	Rattle    float64 // wires or loose parts: noise that the blow wakes, r.m.s. relative to the modes' peak
	RattleS   float64 // time in which that noise falls by 60 dB
}

// Mode ratios of ideal bodies. The membrane's are the zeros of the Bessel
// functions J0, J1, J2, J0, J3, J1 over the first one; the bar's are those of a
// free-free Euler-Bernoulli bar. Written from memory; the tests compute them
// anew from their characteristic equations.
var (
	membrane = []float64{1, 1.5933, 2.1355, 2.2954, 2.6531, 2.9173}
	freeBar  = []float64{1, 2.7565, 5.4039}
)

// ring returns modes at the given ratios above a lowest frequency. Higher modes
// are weaker and die sooner; how much is invented.
func ring(ratios []float64, lowestHz, decayS float64) []Mode {
	modes := make([]Mode, len(ratios))
	for i, r := range ratios {
		modes[i] = Mode{Hz: lowestHz * r, DecayS: decayS / r, Weight: math.Pow(r, -0.7)}
	}
	return modes
}

// below returns the sound without the modes that a recording at the given rate
// could not hold.
func (s Sound) below(rate float64) Sound {
	var kept []Mode
	for _, m := range s.Modes {
		if m.Hz < 0.45*rate {
			kept = append(kept, m)
		}
	}
	s.Modes = kept
	return s
}

// throughFrame returns the sound as it arrives at the other microphone: the
// frame softens the blow and swallows high modes and most of the rattle. By how
// much is invented.
func (s Sound) throughFrame() Sound {
	const cornerHz, softer = 900, 1.7
	far := Sound{ContactMS: softer * s.ContactMS, Modes: make([]Mode, len(s.Modes)), Rattle: s.Rattle / 4, RattleS: s.RattleS}
	for i, m := range s.Modes {
		m.Weight /= 1 + m.Hz*m.Hz/(cornerHz*cornerHz)
		far.Modes[i] = m
	}
	return far
}

// The machine's own noises: a gate arm meeting its stop, spent shot landing in
// the tray, and whatever else knocks on the frame. Invented.
var (
	clunk   = Sound{ContactMS: 1.9, Modes: ring([]float64{1, 1.83, 3.2}, 285, 0.07)}
	clatter = Sound{ContactMS: 0.9, Modes: ring([]float64{1, 1.57, 2.9, 4.4}, 520, 0.11)}
	knock   = Sound{ContactMS: 1.2, Modes: ring([]float64{1, 1.71, 2.6}, 390, 0.15)}
)

// silentDB is how far below its peak a strike may fall before it is cut off.
const silentDB = 100

// instrument is a sound made ready for one sample rate, with a peak of 1.
type instrument struct {
	rate     float64
	wayS     float64 // from where it is struck to the microphone
	contactS float64
	modes    []voicedMode
	rattle   float64 // r.m.s.
	rattleS  float64 // time in which it falls by 60 dB
}

// voicedMode is one mode's answer to the contact pulse. While the pulse lasts
// the microphone hears Re(forced·e^(iΩt) + free·e^(λt)); afterwards only
// Re(free·(1+e^(−λT))·e^(λt)) is left.
type voicedMode struct {
	forced, free complex128
	omega        complex128 // iΩ, of the pulse
	lambda       complex128 // pole of the mode
	after        complex128 // 1 + e^(−λT)
	lengthS      float64    // when the mode has died away
}

// prepare returns the sound at a sample rate in Hz, scaled to a peak of 1.
func (s Sound) prepare(rate float64) instrument {
	in := instrument{rate: rate, contactS: s.ContactMS / 1000}
	for _, m := range s.below(rate).Modes {
		in.modes = append(in.modes, m.driven(in.contactS))
	}
	by := complex(1/in.peak(), 0)
	for i := range in.modes {
		in.modes[i].forced *= by
		in.modes[i].free *= by
	}
	in.wayS = s.WayMS / 1000
	in.rattle, in.rattleS = s.Rattle, s.RattleS
	return in
}

// driven solves x″ + 2αx′ + ω₀²x = sin(Ωt) from rest for the acceleration x″,
// which is what a contact microphone hears, with Ω = π/T for a contact time T.
// Half a sine is a sine from 0 plus the same sine from T, so the answer to the
// pulse is the answer to the sine plus itself T later: the forced parts cancel
// from T on, and the free parts add. The coefficients are the residues of the
// Laplace transform s²Ω / ((s²+2αs+ω₀²)(s²+Ω²)).
func (m Mode) driven(contactS float64) voicedMode {
	w0 := 2 * math.Pi * m.Hz
	alpha := math.Ln10 * 3 / m.DecayS // 60 dB is a factor 10³
	wd := math.Sqrt(w0*w0 - alpha*alpha)
	big := math.Pi / contactS
	lambda, iBig := complex(-alpha, wd), complex(0, big)

	transfer := 1 / (iBig*iBig + complex(2*alpha, 0)*iBig + complex(w0*w0, 0))
	forced := complex(-big*big, 0) * transfer / 1i
	free := lambda * lambda * complex(big/wd, 0) / (1i * (lambda*lambda + complex(big*big, 0)))
	weight := complex(m.Weight, 0)
	return voicedMode{
		forced: weight * forced, free: weight * free,
		omega: iBig, lambda: lambda, after: 1 + cmplx.Exp(-lambda*complex(contactS, 0)),
		lengthS: m.DecayS * silentDB / 60,
	}
}

// peak returns the largest magnitude of the sound, looked for eight times as
// finely as the samples lie, in the pulse and the 20 ms that follow.
func (in instrument) peak() float64 {
	fine := in
	fine.rate *= 8
	buf := make([]float32, int(fine.rate*(in.contactS+0.02)))
	fine.strike(buf, 0, 1)
	var peak float64
	for _, x := range buf {
		peak = max(peak, math.Abs(float64(x)))
	}
	return peak
}

// strike adds one strike to buf. It begins at atS, in seconds from buf's first
// sample, which need not fall on a sample, and has the given peak.
func (in instrument) strike(buf []float32, atS, peak float64) {
	atS += in.wayS
	for i := range in.modes {
		in.modes[i].add(buf, in.rate, atS, in.contactS, peak)
	}
	if in.rattle > 0 {
		in.addRattle(buf, atS, peak*in.rattle)
	}
}

// addRattle adds noise that sets in over the contact and dies away. Its luck is
// that of the moment it begins.
func (in instrument) addRattle(buf []float32, atS, rms float64) {
	const silent = 1e-3 // of its start, where it is cut off
	src := rand.NewPCG(math.Float64bits(atS), 0)
	first := max(int(math.Ceil(atS*in.rate)), 0)
	die, rise := math.Pow(10, -3/(in.rattleS*in.rate)), math.Exp(-1/(in.contactS*in.rate))
	lack := math.Exp(-(float64(first)/in.rate - atS) / in.contactS) // of its full strength
	for level := 1.0; first < len(buf) && level > silent; first++ {
		buf[first] += float32(rms * level * (1 - lack) * bell(src.Uint64()))
		level *= die
		lack *= rise
	}
}

// add runs the mode as one complex product a sample, started at the exact time
// of the first sample after atS.
func (m *voicedMode) add(buf []float32, rate, atS, contactS, peak float64) {
	first := max(int(math.Ceil(atS*rate)), 0)
	landed := min(max(int(math.Ceil((atS+contactS)*rate)), first), len(buf))
	end := min(int(math.Ceil((atS+m.lengthS)*rate)), len(buf))
	t := complex(float64(first)/rate-atS, 0)

	gain, step := complex(peak, 0), complex(1/rate, 0)
	free, turn := gain*m.free*cmplx.Exp(m.lambda*t), cmplx.Exp(m.lambda*step)
	forced, push := gain*m.forced*cmplx.Exp(m.omega*t), cmplx.Exp(m.omega*step)
	for n := first; n < landed; n++ {
		buf[n] += float32(real(free) + real(forced))
		free *= turn
		forced *= push
	}
	if landed < end {
		ringOut(buf[landed:end], free*m.after, turn)
	}
}

// ringOut adds the real part of z, z·turn, z·turn² and so on. It runs four
// samples abreast, since each product has to wait for the one before it.
func ringOut(buf []float32, z, turn complex128) {
	z1, z2, z3 := z*turn, z*turn*turn, z*turn*turn*turn
	leap := turn * turn * turn * turn
	for len(buf) >= 4 {
		buf[0] += float32(real(z))
		buf[1] += float32(real(z1))
		buf[2] += float32(real(z2))
		buf[3] += float32(real(z3))
		z, z1, z2, z3 = z*leap, z1*leap, z2*leap, z3*leap
		buf = buf[4:]
	}
	for i := range buf {
		buf[i] += float32(real(z))
		z *= turn
	}
}
