package main

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/target"
)

// The trial of sweeps as hits alone, without sound: what their equation can tell of a
// machine that scatters, wobbles, misses and strikes wild.
const (
	trialMachines   = 200
	trialSeconds    = 60
	trialWildShare  = 0.05
	trialWildMS     = 250.0 // either way
	trialPickMS     = 0.05  // by which a hit is picked wrongly
	trialDelaySD    = 1.4   // ms
	trialOffsetSD   = 0.0024
	trialMissShare  = 0.05
	trialMostJitter = 3.0 // ms
	trialMostWowPct = 1.5
)

// trialFigures plays random machines through one sweep each, by their hits.
func trialFigures(ctx context.Context, machines int) ([]target.Figure, error) {
	scores := make([]sweepScore, machines)
	err := each(ctx, machines, func(i int) { scores[i] = trialSweep(uint64(i)) })
	if err != nil {
		return nil, err
	}
	sum := sumSweeps(scores)
	return []target.Figure{
		target.AtLeast("sweep_trial_law_told", 100*sum.told, "%", sweepToldPct),
		target.AtMost("sweep_trial_delay_rms", sum.delay, "ms", trialDelaySD),
		target.AtMost("sweep_trial_offset_rms", sum.offset, "beats", trialOffsetSD),
		target.Between("sweep_trial_interval_covers_law", percent(sum.covered), "%", coverageLow, coverageHigh),
	}, nil
}

func allTrialFigures(ctx context.Context) ([]target.Figure, error) {
	return trialFigures(ctx, trialMachines)
}

// trialSweep plays one machine.
func trialSweep(seed uint64) sweepScore {
	r := rand.New(rand.NewPCG(seed, 77))
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	m := practice.Default()
	m.JitterMS, m.CrankTurnsPerBeat = between(0.5, trialMostJitter), between(0.2, 0.9)
	m.Habit.WowPct, m.Habit.MissedShare, m.Habit.DoubleShare = between(0.1, trialMostWowPct), trialMissShare, practice.None
	m.Voices[0].HeightMM, m.Voices[0].OffsetBeats = between(50, 800), between(-0.5, 0.3)
	from := between(56, 72)
	p := practice.Play{Voice: m.Voices[0].Name, TempoBPM: from, Seed: seed, Sweep: practice.Sweep{ToBPM: between(120, 150), Seconds: trialSeconds, Uneven: between(0, 0.8)}}
	truth := m.Hits(p)
	picked := func(atS float64) signal.Hit { return signal.Hit{TimeS: atS + trialPickMS/1000*r.NormFloat64()} }
	var reference, voice []signal.Hit
	for _, s := range truth.ReferenceHitsS {
		reference = append(reference, picked(s))
	}
	for _, s := range truth.VoiceHitsS {
		h := picked(s)
		if r.Float64() < trialWildShare {
			h.TimeS += trialWildMS / 1000 * between(-1, 1)
		}
		voice = append(voice, h)
	}
	slices.SortFunc(voice, func(a, b signal.Hit) int { return int(math.Copysign(1, a.TimeS-b.TimeS)) })
	var referenceS []float64
	for _, h := range reference {
		referenceS = append(referenceS, h.TimeS)
	}
	reading := calib.Read(signal.Pairs(reference, voice, signal.Options{}), referenceS, nil, 1)
	s := sweepScore{trap: "trial", seed: seed}
	s.compare(reading, playedLaw(m, p))
	return s
}
