package main

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
)

// What the study's machines are like, and what goes wrong with them. The ranges
// are the study's own; how often builders err is common practice, no published
// source.
const (
	studyHits     = 6    // voice hits of a take
	hitEvery      = 2    // beats from one to the next
	playedOff     = 0.01 // standard deviation of the played tempo, as a share
	driftShare    = 0.005
	usualBadShare = 0.03 // of the takes
	badLeastMS    = 20   // by which a bad take's lag is off
	badMostMS     = 80
	miscountShare = 0.02 // of the moves
)

// How often a builder errs who errs in more ways than to miscount by one step.
const (
	untoldShare     = 0.02  // moves made and not told
	wrongWayShare   = 0.005 // of the moves
	wrongVoiceShare = 0.005 // of the takes
	mostCounted     = 8     // steps by which such a builder miscounts
)

// studyMachine is a random machine of one voice and its builder.
type studyMachine struct {
	delayMS, offset, step, jitterMS float64
	setting                         int // where the plate truly stands
	told                            int // where the builder takes it to stand
	takes                           int
	badShare                        float64
	flags                           studyFlags
	rng                             *rand.Rand
}

// machine makes one of the study's machines.
func (f studyFlags) machine(i uint64) *studyMachine {
	rng := rand.New(rand.NewPCG(f.seed, i))
	between := func(low, high float64) float64 { return low + (high-low)*rng.Float64() }
	m := &studyMachine{
		badShare: usualBadShare, delayMS: between(120, 330), offset: between(-0.05, 0.05), step: 1 / math.Round(between(36, 96)),
		jitterMS: between(0.5, 3), flags: f, rng: rng,
	}
	if f.stress {
		m.badShare = stressBadShare
	} else if f.errors { // it has its own
		m.badShare = 0
	}
	if f.anywhere {
		m.offset += rng.Float64() - 0.5
	}
	return m
}

// lag returns the true lag in ms at a beat period and true setting.
func (m *studyMachine) lag(periodMS float64, setting int) float64 {
	return m.delayMS + (m.offset-m.step*float64(setting))*periodMS
}

// off is how far in ms a voice truly is from where it belongs: from the nearest
// beat where setting 0 says nothing of whole beats.
func (m *studyMachine) off(periodMS float64, setting int) float64 {
	lag := m.lag(periodMS, setting)
	if m.flags.anywhere {
		lag = math.Remainder(lag, periodMS)
	}
	return lag
}

// limit is how far from zero a lag may lie at a period.
func (m *studyMachine) limit(periodMS float64) float64 {
	return math.Max(calib.DefaultToleranceMS, m.step*periodMS/2)
}

// turn moves the plate to a setting, now and then by a step too many or too few. An
// erring builder does more than that wrong.
func (m *studyMachine) turn(to int) {
	by := to - m.told
	if by == 0 {
		return
	}
	switch at := m.rng.Float64(); {
	case at < miscountShare:
		most := 1
		if m.flags.erring {
			most = 1 + m.rng.IntN(mostCounted)
		}
		by += most * (1 - 2*m.rng.IntN(2))
	case m.flags.erring && at < miscountShare+untoldShare:
		to = m.told
	case m.flags.erring && at < miscountShare+untoldShare+wrongWayShare:
		by = -by
	}
	m.setting, m.told = m.setting+by, to
}

// strike records a take of so many hits at a tempo, as near as the player gets, and reads it.
func (m *studyMachine) strike(tempoBPM float64, hits int) calib.Reading {
	m.takes++
	period := calib.PeriodMS(tempoBPM * (1 + playedOff*m.rng.NormFloat64()))
	drift := driftShare * m.rng.NormFloat64() / float64(hits*hitEvery)
	when := func(beat float64) float64 { return period * (beat + drift*beat*beat/2) } // ms
	off := m.amiss()
	if m.flags.erring && m.rng.Float64() < wrongVoiceShare {
		other := studyFlags{seed: m.rng.Uint64()}.machine(0)
		off = other.lag(period, 0) - m.lag(period, 0)
	}
	var reference, voice []float64
	for beat := range hits*hitEvery + 2 {
		reference = append(reference, when(float64(beat))/1000)
	}
	for hit := range hits {
		released := float64(hit*hitEvery+1) + m.offset - m.step*float64(m.setting)
		voice = append(voice, (when(released)+m.delayMS+m.scatter()+off)/1000)
	}
	return calib.Read(studyPairs(reference, voice), reference, voice, 1)
}

// What a player makes of a sweep of a minute that is asked for (invented), and what
// measuring its sound adds: that much, from hit to hit, lies between the delays that
// calib/signal measures in the sweeps of calib/practice and those of the hits themselves.
const (
	sweepLeastS, sweepMostS = 25, 65 // seconds
	sweepShort              = 0.15   // of the way to the last tempo that it may lack
	sweepUneven             = 0.8
	sweepLeastWow           = 0.1 // %, within a turn
	sweepMostWow            = 1.5
	sweepMissShare          = 0.05
	sweepPickMS             = 0.8
)

// sweep records a take that goes from a tempo to another, as well as the player does,
// and reads it. Voices of one take have the same luck with their crank.
func (m *studyMachine) sweep(fromBPM, toBPM float64, luck uint64) calib.Reading {
	m.takes++
	player := rand.New(rand.NewPCG(luck, 0))
	between := func(low, high float64) float64 { return low + (high-low)*player.Float64() }
	from := fromBPM * (1 + playedOff*player.NormFloat64())
	crank := practice.Machine{
		Voices:            []practice.Voice{{Name: "voice", GateMS: m.delayMS, OffsetBeats: m.offset - m.step*float64(m.setting)}},
		CrankTurnsPerBeat: between(0.2, 0.9), JitterMS: 0,
		Habit: practice.Disturb{WowPct: between(sweepLeastWow, sweepMostWow), MissedShare: sweepMissShare, DoubleShare: practice.None},
	}
	truth := crank.Hits(practice.Play{Voice: "voice", TempoBPM: from, Every: 1, Seed: luck, Sweep: practice.Sweep{
		ToBPM: toBPM - (toBPM-fromBPM)*between(0, sweepShort), Seconds: between(sweepLeastS, sweepMostS), Uneven: between(0, sweepUneven)}})
	off := m.amiss()
	var reference, voice []signal.Hit
	for _, s := range truth.ReferenceHitsS {
		reference = append(reference, signal.Hit{TimeS: s})
	}
	for _, s := range truth.VoiceHitsS {
		voice = append(voice, signal.Hit{TimeS: s + (m.scatter()+sweepPickMS*m.rng.NormFloat64()+off)/1000})
	}
	slices.SortFunc(voice, func(a, b signal.Hit) int { return cmp.Compare(a.TimeS, b.TimeS) })
	return calib.Read(signal.Pairs(reference, voice, signal.Options{}), truth.ReferenceHitsS, nil, 1)
}

// amiss returns by how many ms all hits of a take are off.
func (m *studyMachine) amiss() float64 {
	if m.rng.Float64() >= m.badShare {
		return 0
	}
	off := badLeastMS + (badMostMS-badLeastMS)*m.rng.Float64()
	return math.Copysign(off, m.rng.NormFloat64())
}

// What the stress does to the study: more bad takes, and a scatter that the plan
// does not reckon with.
const (
	stressBadShare = 0.10
	stressWild     = 0.15 // share of the hits that scatter
	stressTimes    = 4    // so many times as much
)

// scatter returns the lag of one hit from the law.
func (m *studyMachine) scatter() float64 {
	s := m.jitterMS * m.rng.NormFloat64()
	if m.flags.stress && m.rng.Float64() < stressWild {
		s *= stressTimes
	}
	return s
}

// studyPairs pairs the voice hits with the reference hits nearest to them, as one
// take alone allows: a lag beyond half a beat shows as one from the other side, but
// for all hits alike, as measuring has it too.
func studyPairs(reference, voice []float64) []calib.Pair {
	middle := len(voice) / 2
	nearest := floats.NearestIdx(reference, voice[middle])
	var pairs []calib.Pair
	for i, v := range voice {
		if at := nearest + (i-middle)*hitEvery; at >= 0 && at < len(reference) {
			pairs = append(pairs, calib.Pair{ReferenceS: reference[at], VoiceS: v, LagMS: 1000 * (v - reference[at]), Used: true})
		}
	}
	return pairs
}
