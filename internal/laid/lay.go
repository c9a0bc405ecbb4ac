// Package laid makes takes with known lags from single strikes that others recorded, or
// that another simulation than calib/practice makes, in recorded noise. Measuring is
// judged by sounds that were not made for this program. It is used by tests and cmd/dev
// only, and needs sox and the packages of Debian that hold the recordings.
package laid

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"

	"lagwright/calib"
)

// laying is a take that is being laid from recorded strikes.
type laying struct {
	*rand.Rand
	sounds           *Sounds
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

// Kind is one kind of takes, with what is hard about it.
type Kind struct {
	Name, About string
	NoAnswer    bool // there is no lag in it to be told
	set         func(*laying)
}

// Kinds are all there are.
var Kinds = []Kind{
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

// Take is a take and what is known of it.
type Take struct {
	calib.Recording
	LagMS float64 // positive = voice late
	Hits  int     // of the voice
	About string  // which sounds it was laid from, and how
}

// Lay lays a take. The same seed lays the same take; each kind has its own luck.
func (k Kind) Lay(s *Sounds, seed uint64) Take {
	hash := fnv.New64a()
	hash.Write([]byte(k.Name))
	l := newLaying(rand.New(rand.NewPCG(seed, hash.Sum64())), s)
	k.set(l)
	return Take{l.lay(), 1000 * l.lagS, l.hits, fmt.Sprintf("%s after %s, %.0f BPM every %d, jitter %.2f ms", l.voice.name, l.reference.name, 60/l.periodS, l.every, 1000*l.jitterS)}
}

// newLaying draws what differs from take to take.
func newLaying(r *rand.Rand, s *Sounds) *laying {
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
		pitches := l.sounds.instruments[l.IntN(len(l.sounds.instruments))]
		if in := pitches[l.IntN(len(pitches))]; is(in) {
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

// lay lays the take.
func (l *laying) lay() calib.Recording {
	beats := l.hits * l.every
	samples := int(layRate * (1.5 + float64(beats)*l.periodS + longestS))
	var ch, heard [2][]float64
	for i := range ch {
		ch[i] = make([]float64, samples)
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
	if other := l.between(0.31, 1.2); l.otherClock {
		for math.Abs(other-1)*float64(beats) < 0.5 { // as good as in step: that has a lag
			other = l.between(0.31, 1.2)
		}
		for at := 0.9; at < 0.8+float64(beats)*l.periodS; at += other * l.periodS {
			l.strike(ch[1], l.voice, at+0.002*l.NormFloat64(), 1)
		}
	}
	if l.music {
		music := l.sounds.musics[l.IntN(len(l.sounds.musics))]
		addNoise(ch[1], music, 0, 0.5/loudest(music))
	}
	for i := range ch {
		heard[i] = l.leak(ch[1-i], ch[i], gainOf(l.leakDB[i^1]))
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
	return calib.Recording{RateHz: layRate, Samples: [][]float32{scaled(heard[0], l.between(-14, -3)), scaled(heard[1], l.between(-14, -3))}}
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
	at := int(math.Round((atS - s.onsetS) * layRate))
	for i, v := range lowPass(s.x, 7000*math.Exp2(force)) { // a soft strike is a dull one, which begins where the sharp one does
		if at+i >= 0 && at+i < len(x) {
			x[at+i] += gain * v
		}
	}
}

// leak returns a channel's own sound with what comes through the frame from the other,
// later and duller.
func (l *laying) leak(from, own []float64, gain float64) []float64 {
	heard, late := slices.Clone(own), int(l.between(0.0003, 0.0015)*layRate)
	floats.AddScaled(heard[late:], gain, lowPass(from, l.between(1500, 6000))[:len(from)-late])
	return heard
}

func addNoise(x, noise []float64, from int, gain float64) {
	for i := range x {
		x[i] += gain * noise[(from+i)%len(noise)]
	}
}

// scaled is a channel with a peak in dB of full scale.
func scaled(x []float64, peakDB float64) []float32 {
	gain, y := gainOf(peakDB)/loudest(x), make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(gain * v)
	}
	return y
}

// madeInstrument returns an instrument that is no relative of the practice machine's:
// a contact whose force is a raised sine strikes modes, each with a phase of its own, as
// the air between does; some strike twice, a click before the body; some ring for a second.
// Soft strikes touch for longer.
func madeInstrument(r *rand.Rand, ringS float64) instrument {
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	type mode struct{ hz, decayS, gain, phase float64 }
	modes := make([]mode, 3+r.IntN(8))
	base := 150 * math.Exp2(between(0, 4))
	for i := range modes {
		hz := base * (1 + float64(i)*between(0.4, 1.3))
		modes[i] = mode{hz, ringS * between(0.3, 1) / math.Sqrt(hz/base), between(0.2, 1) / float64(i+1), between(0, 2*math.Pi)}
	}
	contactS := 0.0002 * math.Pow(10, r.Float64())
	stageS, click := 0.0, 0.0
	if r.IntN(3) == 0 {
		stageS, click = between(0.001, 0.005), between(0.1, 0.25)
	}
	in := instrument{name: "made", ringS: ringS}
	for _, softer := range []float64{1.6, 1.25, 1, 0.8} {
		n := int((leadS + stageS + math.Min(longestS, 5*ringS)) * layRate)
		s := stroke{onsetS: leadS, level: 1 / softer}
		// One stage of it: the force through each mode's own response, sample by sample.
		stage := func(fromS, contactS, up float64) []float64 {
			x := make([]float64, n)
			length := int(contactS * layRate)
			for _, m := range modes {
				turn := 2 * math.Pi * m.hz * up / layRate
				if turn > 0.9*math.Pi {
					continue
				}
				keep := math.Exp(-1 / (m.decayS / up * layRate))
				re, im := 0.0, 0.0
				sin, cos := math.Sincos(turn)
				for i, at := 0, int(fromS*layRate); at < n; i, at = i+1, at+1 {
					force := 0.0
					if i <= length {
						force = (1 - math.Cos(2*math.Pi*float64(i)/float64(length+1))) / float64(length+1)
					}
					re, im = keep*(re*cos-im*sin)+force, keep*(re*sin+im*cos)
					x[at] += m.gain * (re*math.Cos(m.phase) + im*math.Sin(m.phase))
				}
			}
			floats.Scale(1/loudest(x), x)
			return x
		}
		x := stage(leadS+stageS, contactS*softer, 1)
		if click > 0 {
			floats.AddScaled(x, click, stage(leadS, 0.0003, 2))
		}
		peak, fades := loudest(x), fadesS*ringS*layRate // nothing rings and then stops
		for i := range x {
			left := math.Min(1, float64(n-i)/fades)
			x[i] *= left * left / peak
		}
		s.x = x
		in.strikes = append(in.strikes, s)
	}
	return in
}
