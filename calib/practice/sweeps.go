package practice

import "slices"

// Sweeps returns the traps of takes in which the tempo changes on purpose: their lags
// are judged at tempos all over what was played.
func Sweeps() []Trap {
	set := func(name, about string, more func(*setup)) Trap {
		return Trap{"sweep-" + name, about, nil, func(s *setup) {
			s.sweep()
			if more != nil {
				more(s)
			}
		}}
	}
	every := func(beats int) func(*setup) { return func(s *setup) { s.p.Every = beats } }
	down := func(s *setup) { s.p.TempoBPM, s.p.Sweep.ToBPM = s.p.Sweep.ToBPM, s.p.TempoBPM }
	traps := []Trap{
		set("up", "from the slowest song's tempo to the fastest", nil),
		set("down", "from the fastest to the slowest", down),
		set("back", "up and down again", func(s *setup) { s.p.Sweep.Back = true }),
		set("narrow", "over a third of the usual range", func(s *setup) { s.p.Sweep.ToBPM = s.p.TempoBPM * s.between(1.15, 1.35) }),
		set("quick", "in 20 to 30 s", func(s *setup) { s.p.Sweep.Seconds = s.between(20, 30) }),
		set("uneven", "a ramp that hurries here and lingers there", func(s *setup) { s.p.Sweep.Uneven = s.between(0.6, 0.95) }),
		set("stages", "in 4 to 8 stages", func(s *setup) { s.p.Sweep.Stages = 4 + s.r.IntN(5) }),
		set("stop", "a stop of 2 to 8 s in the middle", func(s *setup) { s.p.Sweep.StopS = s.between(2, 8) }),
		set("wow", "a crank that is up to 1.5 % uneven within a turn", func(s *setup) {
			s.knobs().WowPct = s.between(0.8, 1.5)
			s.m.CrankTurnsPerBeat = pick(s.r, 0.25, 0.5, 0.75)
		}),
		set("missed", "up to a quarter of the drops miss, others let two go", func(s *setup) {
			s.knobs().MissedShare, s.knobs().DoubleShare = s.between(0.1, 0.25), s.between(0.05, 0.2)
		}),
		set("loose-gate", "a gate that scatters the hits by 2 to 4 ms", func(s *setup) { s.m.JitterMS = s.between(2, 4) }),
		set("every-2", "the voice strikes on every second beat", every(2)),
		set("every-4", "the voice strikes on every fourth beat", every(4)),
		set("turned", "the plate stands anywhere, so that the lag may be half a beat and more", func(s *setup) { s.lag = [2]float64{-0.6, 0.6} }),
	}
	beside := []string{"hum-50", "clatter", "clunk", "leak", "bounces"}
	for _, t := range Traps() {
		if slices.Contains(beside, t.Name) {
			traps = append(traps, set(t.Name, "beside it: "+t.About, t.set))
		}
	}
	return traps
}

// sweep makes a case of a take that goes through the tempos of a set list.
func (s *setup) sweep() {
	s.p.TempoBPM = s.between(52, 72)
	s.p.Sweep = Sweep{ToBPM: s.p.TempoBPM * s.between(1.8, 2.6), Seconds: s.between(40, 75), Uneven: s.between(0, 0.5)}
	s.p.Every, s.p.Rate = 1, pick(s.r, 44100.0, 48000)
	s.lag = [2]float64{-0.3, 0.35}
}
