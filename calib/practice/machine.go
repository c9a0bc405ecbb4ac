package practice

import (
	"math"

	"lagwright/calib"
)

// Voice is one voice of the machine and the way its shot takes.
type Voice struct {
	Name        string
	HeightMM    float64 // free fall from gate to voice
	GateMS      float64 // from the programme's pin to the moment the shot falls
	OffsetBeats float64 // A of the law: how late the pin sits, in beats
	Sound       Sound
	Rebound     float64 // share of its speed that shot keeps in its one rebound; 0 = none
}

// DelayMS returns D of the law: gate and fall together.
func (v Voice) DelayMS() float64 { return v.GateMS + calib.FallMS(v.HeightMM) }

// Machine is a hand-cranked machine whose law is known.
type Machine struct {
	Name              string
	Plate             calib.Plate
	Voices            []Voice
	Reference         Sound   // what the reference sounds like; it has no delay of its own
	JitterMS          float64 // standard deviation of a voice's lag from hit to hit
	FrameMS           float64 // how long sound travels through the frame to the other microphone
	CrankTurnsPerBeat float64 // turns of the crank in one beat
	MainsHz           float64
	Habit             Disturb // what disturbs a take unless Play says otherwise
}

// Default returns "Weir Lane No. 2": steel shot on a tub drum, an elm block and
// a brass bar. Every number is invented, but for the mode ratios.
func Default() Machine {
	return Machine{
		Name:  "Weir Lane No. 2",
		Plate: calib.Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6},
		Voices: []Voice{
			{
				Name: "tub drum", HeightMM: 285, GateMS: 4.2, OffsetBeats: 0.021,
				Sound:   Sound{ContactMS: 2.6, Modes: ring(membrane, 118, 0.42)},
				Rebound: 0.22,
			},
			{
				Name: "elm block", HeightMM: 214, GateMS: 3.1, OffsetBeats: -0.034,
				Sound:   Sound{ContactMS: 0.8, Modes: ring([]float64{1, 2.42, 4.1}, 655, 0.09)},
				Rebound: 0.28,
			},
			{
				Name: "brass bar", HeightMM: 188, GateMS: 5.6, OffsetBeats: 0.043,
				Sound:   Sound{ContactMS: 0.35, Modes: ring(freeBar, 1175, 1.1)},
				Rebound: 0.3,
			},
		},
		Reference:         Sound{ContactMS: 0.45, Modes: ring([]float64{1, 2.31, 3.77}, 940, 0.12)},
		JitterMS:          1.1,
		FrameMS:           0.7,
		CrankTurnsPerBeat: 0.5,
		MainsHz:           50,
		Habit: Disturb{
			HumDB: -46, HarmonicsDB: None, NoiseDB: -50, LeakDB: -23,
			ClunkDB: -34, ClatterDB: -34, RollDB: -54,
			MeshDB: None, SwellDB: None, KnockDB: None, KnocksPerS: None,
			MissedShare: 0.01, DoubleShare: 0.01,
			WowPct: 0.7, DriftPct: 0.9,
			DCOffset: 0.002,
		},
	}
}

// Voice returns the voice of that name, and whether there is one.
func (m Machine) Voice(name string) (Voice, bool) {
	for _, v := range m.Voices {
		if v.Name == name {
			return v, true
		}
	}
	return Voice{}, false
}

// LagMS returns the lag by the machine's true law, in ms and positive when the
// voice is late: D + A·P − f·s·P, at a beat period P in ms and a setting s in
// steps. It returns NaN for a voice the machine has not got.
func (m Machine) LagMS(voice string, periodMS float64, setting int) float64 {
	v, ok := m.Voice(voice)
	if !ok {
		return math.NaN()
	}
	return v.DelayMS() + m.angle(v, setting)*periodMS
}

// angle returns A − f·s: how far behind its beat the pin of v passes the gate.
func (m Machine) angle(v Voice, setting int) float64 {
	return v.OffsetBeats - m.Plate.StepBeats()*float64(setting)
}

// mustVoice returns the voice of that name, or the first for an empty name.
func (m Machine) mustVoice(name string) Voice {
	if name == "" && len(m.Voices) > 0 {
		return m.Voices[0]
	}
	v, ok := m.Voice(name)
	if !ok {
		panic("practice: a voice is asked for that the machine has not got")
	}
	return v
}
