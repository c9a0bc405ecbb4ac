package practice

import "math"

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
