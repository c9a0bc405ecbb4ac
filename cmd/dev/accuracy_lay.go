package main

import (
	"math"
	"math/rand/v2"

	"lagwright/calib/practice"
)

// laying is a take that is being laid from recorded strikes.
type laying struct {
	*rand.Rand
	sounds           *sounds
	reference, voice instrument
	clunk            *instrument
	periodS          float64
	every, hits      int
	lagS, jitterS    float64
	forceDB          float64    // spread of the force from strike to strike
	leakDB           [2]float64 // of the reference in the voice's channel, and the other way round
	clunkDB          float64
	noiseDB          float64 // r.m.s. below the strikes' peak
	unsteady         bool
	otherClock       bool // the voice keeps a time of its own
	leakAlone        bool // the voice's channel hears nothing but the reference's leak
	oneMicrophone    bool // both channels hear the same
	music            bool // instead of the voice
}

// sounds is what takes are laid from.
type sounds struct {
	instruments    []instrument
	steady, bursts [][]float64
	musics         [][]float64
}

// realTrap is a family of takes laid from recorded strikes.
type realTrap struct {
	name     string
	about    string
	noAnswer bool
	set      func(*laying)
}

func realTraps() []realTrap {
	return []realTrap{
		{"plain", "a long lag in a quiet room", false, func(*laying) {}},
		{"near", "a lag of less than 5 ms", false, func(l *laying) { l.lagS = l.between(-0.005, 0.005) }},
		{"near-leak", "the same with a leak both ways", false, func(l *laying) {
			l.lagS = l.between(-0.005, 0.015)
			l.leakDB = [2]float64{l.between(-32, -14), l.between(-32, -14)}
		}},
		{"leak", "a loud leak both ways", false, func(l *laying) {
			l.leakDB = [2]float64{l.between(-18, -8), l.between(-18, -8)}
		}},
		{"clunk", "another sound before each strike", false, func(l *laying) {
			l.clunk, l.clunkDB = l.another(), l.between(-20, -8)
		}},
		{"force", "strikes of very different force", false, func(l *laying) {
			l.forceDB = l.between(4, 7)
			l.voice = l.choose(func(in instrument) bool { return len(in.strikes) > 1 })
		}},
		{"noise", "a noisy room", false, func(l *laying) { l.noiseDB = l.between(-42, -32) }},
		{"bursts", "noise that comes and goes", false, func(l *laying) { l.noiseDB, l.unsteady = l.between(-42, -32), true }},
		{"fast-ring", "a bar that rings on struck on every beat of a fast tempo", false, func(l *laying) {
			l.voice = l.choose(func(in instrument) bool { return in.ringS > 0.4 })
			l.periodS, l.every, l.hits = 60/l.between(130, 175), 1, 24+l.IntN(20)
			l.leakDB[1] = l.between(-26, -12)
		}},
		{"made", "strikes of another simulation than the practice machine's", false, func(l *laying) { l.made(0.02, 0.3) }},
		{"made-near", "the same with a short lag, and a leak both ways", false, func(l *laying) {
			l.made(0.02, 0.3)
			l.lagS = l.between(-0.005, 0.02)
			l.leakDB = [2]float64{l.between(-32, -14), l.between(-32, -14)}
		}},
		{"made-ring", "the same, ringing for a second at a fast tempo, with a leak", false, func(l *laying) {
			l.made(0.3, 1)
			l.periodS, l.every, l.hits = 60/l.between(120, 170), 1, 24+l.IntN(20)
			l.leakDB = [2]float64{l.between(-32, -12), l.between(-32, -12)}
		}},
		{"other-clock", "a voice that keeps another time", true, func(l *laying) { l.otherClock = true }},
		{"leak-alone", "a microphone that hears only the other's leak", true, func(l *laying) { l.leakAlone, l.leakDB[0] = true, l.between(-24, -6) }},
		{"one-microphone", "both plugs on one microphone", true, func(l *laying) { l.oneMicrophone = true }},
		{"music", "music instead of the voice", true, func(l *laying) { l.music = true }},
	}
}

// newLaying draws what differs from take to take.
func newLaying(r *rand.Rand, s *sounds) *laying {
	l := &laying{Rand: r, sounds: s}
	l.reference = l.choose(func(in instrument) bool { return in.ringS < 0.5 })
	l.voice = l.choose(func(in instrument) bool { return in.name != l.reference.name })
	l.periodS, l.every, l.hits = 60/l.between(60, 150), []int{1, 1, 2, 4}[r.IntN(4)], 10+r.IntN(16)
	l.lagS = l.between(0.02, math.Min(0.18, 0.4*l.periodS)) * []float64{-1, 1, 1}[r.IntN(3)]
	l.jitterS, l.forceDB = l.between(0.0003, 0.0015), l.between(0.5, 2)
	l.leakDB = [2]float64{l.between(-50, -30), l.between(-50, -30)}
	l.noiseDB = l.between(-62, -48)
	return l
}

func (l *laying) between(low, high float64) float64 { return low + (high-low)*l.Float64() }

// choose returns an instrument of a kind by chance.
func (l *laying) choose(is func(instrument) bool) instrument {
	for {
		if in := l.sounds.instruments[l.IntN(len(l.sounds.instruments))]; is(in) {
			return in
		}
	}
}

// made takes instruments of another simulation, of which the voice rings so long.
func (l *laying) made(leastS, mostS float64) {
	l.reference, l.voice = madeInstrument(l.Rand, l.between(0.02, 0.15)), madeInstrument(l.Rand, l.between(leastS, mostS))
}

// another returns an instrument that is neither the reference nor the voice, and short.
func (l *laying) another() *instrument {
	in := l.choose(func(in instrument) bool {
		return in.name != l.reference.name && in.name != l.voice.name && in.ringS < 0.3
	})
	return &in
}

const crankUneven = 0.004 // of the period, as a standard deviation

// lay lays the take, and says how late the voice is in ms.
func (l *laying) lay() (take *practice.Recording, lagMS float64) {
	beats := l.hits * l.every
	samples := int(layRate * (1.5 + float64(beats)*l.periodS + longestS))
	var ch, heard [2][]float64
	for i := range ch {
		ch[i], heard[i] = make([]float64, samples), make([]float64, samples)
	}
	for i := range beats {
		beat := 0.8 + float64(i)*l.periodS + crankUneven*l.periodS*l.NormFloat64()
		l.strike(ch[0], l.reference, beat, 1)
		at := beat + l.lagS + l.jitterS*l.NormFloat64()
		if i%l.every != 0 || l.otherClock || l.leakAlone || l.music {
			continue
		}
		l.strike(ch[1], l.voice, at, 1)
		if l.clunk != nil {
			l.strike(ch[1], *l.clunk, at-0.11-l.jitterS*l.NormFloat64()-0.4*math.Abs(l.lagS), gainOf(l.clunkDB)*l.voice.loud()/l.clunk.loud())
		}
	}
	if other := l.between(0.31, 1.2) * l.periodS; l.otherClock {
		for at := 0.9; at < 0.8+float64(beats)*l.periodS; at += other {
			l.strike(ch[1], l.voice, at+0.002*l.NormFloat64(), 1)
		}
	}
	if l.music {
		music := l.sounds.musics[l.IntN(len(l.sounds.musics))]
		addNoise(ch[1], music, 0, 0.5/math.Abs(music[loudestOf(music)]))
	}
	for i := range ch {
		l.leak(heard[i], ch[1-i], ch[i], gainOf(l.leakDB[i^1]))
		noises := l.sounds.steady
		if l.unsteady {
			noises = l.sounds.bursts
		}
		noise := noises[l.IntN(len(noises))]
		addNoise(heard[i], noise, l.IntN(len(noise)), gainOf(l.noiseDB)/rms(noise))
	}
	if l.oneMicrophone {
		for i := range heard[0] {
			heard[0][i] += heard[1][i]
			heard[1][i] = 0.7 * heard[0][i]
		}
	}
	return practice.NewRecording(layRate, recorded(heard[0], l.between(-14, -3)), recorded(heard[1], l.between(-14, -3))), 1000 * l.lagS
}

// strike adds a strike that begins at a time. Its force decides which of the recorded
// strikes it is, how loud, and where there is but one recorded how dull.
func (l *laying) strike(x []float64, in instrument, atS, gain float64) {
	force := math.Max(-2.5, math.Min(l.NormFloat64(), 1.5))
	n := len(in.strikes)
	which := (n - 1) * 2 / 3
	if l.forceDB > 3 {
		which = int(math.Round((force + 2) / 3.5 * float64(n-1)))
	} else if n > 1 {
		which += l.IntN(2)
	}
	s := in.strikes[min(max(which, 0), n-1)]
	gain *= gainOf(l.forceDB * (force - 0.5))
	// A soft strike is a dull one: one pole, which begins where the sharp one does.
	keep := math.Exp(-2 * math.Pi * 7000 * math.Exp2(force) / layRate)
	at, y := int(math.Round((atS-s.onsetS)*layRate)), 0.0
	for i, v := range s.x {
		y += (1 - keep) * (float64(v) - y)
		if at+i >= 0 && at+i < len(x) {
			x[at+i] += gain * y
		}
	}
}

// leak fills heard with a channel's own sound and what comes through the frame from
// the other, later and duller.
func (l *laying) leak(heard, from, own []float64, gain float64) {
	late := int(l.between(0.0003, 0.0015) * layRate)
	keep, y := math.Exp(-2*math.Pi*l.between(1500, 6000)/layRate), 0.0
	for i := range heard {
		if i >= late {
			y += (1 - keep) * (from[i-late] - y)
		}
		heard[i] = own[i] + gain*y
	}
}

func addNoise(x, noise []float64, from int, gain float64) {
	for i := range x {
		x[i] += gain * noise[(from+i)%len(noise)]
	}
}

// recorded scales a channel to a peak in dB of full scale.
func recorded(x []float64, peakDB float64) []float32 {
	gain := gainOf(peakDB) / math.Abs(x[loudestOf(x)])
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(gain * v)
	}
	return y
}
