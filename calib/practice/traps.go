package practice

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"lagwright/calib"
)

// Trap is one thing that goes wrong with takes, as a family of seeded cases.
type Trap struct {
	Name   string   // lower case, words joined by hyphens
	About  string   // a sentence on what is wrong
	Expect []string // codes of the warnings that a reading must carry
	set    func(*setup)
}

// Make returns the machine and the take of one case. The same seed makes the
// same case; each trap draws its own random numbers.
func (t Trap) Make(seed uint64) (Machine, Play) {
	h := fnv.New64a()
	h.Write([]byte(t.Name))
	s := newSetup(luck(seed, h.Sum64()))
	t.set(s)
	return s.place()
}

// setup is a case that is being drawn up.
type setup struct {
	r   *rand.Rand
	m   Machine
	p   Play
	lag [2]float64 // range of the lag at the aimed tempo, in reference periods
	ms  [2]float64 // the same in ms, used where it is not empty
	max float64    // longest take in s, unless it needs that for its fewest hits
	few int        // fewest hits
}

// newSetup draws what differs from take to take in any shop: the voice, the
// tempo, the setting, the lag, the recorder and how well the machine is kept.
func newSetup(r *rand.Rand) *setup {
	s := &setup{r: r, m: Default(), lag: [2]float64{-0.45, 0.45}, max: 20, few: 4}
	s.p = Play{
		Voice:    s.m.Voices[r.IntN(len(s.m.Voices))].Name,
		TempoBPM: 48 * math.Pow(160.0/48, r.Float64()),
		Setting:  r.IntN(41) - 20,
		Hits:     8 + r.IntN(17),
		Every:    pick(r, 1, 1, 2, 4),
		Rate:     pick(r, 44100.0, 48000, 48000, 96000),
		PeakDBFS: s.between(-18, -5),
		Seed:     r.Uint64(),
	}
	s.vary(&s.m.Reference)
	s.vary(&s.voice().Sound)
	s.m.JitterMS = s.between(0.4, 1.5)
	s.m.FrameMS = s.between(0.3, 1.8)
	s.m.MainsHz = pick(r, 50.0, 60) * s.between(0.999, 1.001)
	s.m.Habit.LeakDB = s.between(-30, -18)
	return s
}

func pick[T any](r *rand.Rand, from ...T) T { return from[r.IntN(len(from))] }

func (s *setup) between(low, high float64) float64 { return low + (high-low)*s.r.Float64() }

func (s *setup) channel() int { return 1 + s.r.IntN(2) }

// vary makes another sound of the same kind, as no two drums are alike.
func (s *setup) vary(sound *Sound) {
	pitch, decay := s.between(0.7, 1.5), s.between(0.5, 1.6)
	sound.ContactMS *= s.between(0.6, 1.8)
	for i := range sound.Modes {
		m := &sound.Modes[i]
		m.Hz *= pitch * s.between(0.97, 1.03)
		m.DecayS *= decay
		m.Weight *= s.between(0.5, 1.5)
	}
}

// knobs is the machine's habit, which a trap changes; what it leaves is the
// usual little of everything.
func (s *setup) knobs() *Disturb { return &s.m.Habit }

// How long a strike travels to its own microphone in ms: 10 to 100 mm through wood or metal
// at some 500 m/s (invented). No recording shows it.
const nearWayMS, farWayMS = 0.02, 0.2

// place pins the voice where its lag comes out as drawn, at the aimed tempo and
// the drawn setting, and shortens the programme to the length of a take.
func (s *setup) place() (Machine, Play) {
	period := calib.PeriodMS(s.p.TempoBPM)
	if to := s.p.Sweep.ToBPM; to > 0 {
		period = (period + calib.PeriodMS(to)) / 2
	}
	s.p.Hits = min(s.p.Hits, max(s.few, int(s.max*1000/period/float64(s.p.Every))))
	lagMS := s.between(s.lag[0], s.lag[1]) * period / float64(max(s.p.PerBeat, 1))
	if s.ms != [2]float64{} {
		lagMS = s.between(s.ms[0], s.ms[1])
	}
	v := s.voice()
	v.OffsetBeats += (lagMS - s.m.LagMS(v.Name, period, s.p.Setting)) / period
	for _, sound := range []*Sound{&s.m.Reference, &v.Sound} {
		sound.WayMS = s.between(nearWayMS, farWayMS)
	}
	return s.m, s.p
}

func (s *setup) voice() *Voice {
	i := slices.IndexFunc(s.m.Voices, func(v Voice) bool { return v.Name == s.p.Voice })
	return &s.m.Voices[i]
}

// Traps returns every trap, the two that are none first. How far each goes is
// what Lagwright sets itself to handle; the numbers are measured on no machine.
func Traps() []Trap {
	hum := func(hz float64) func(*setup) {
		return func(s *setup) {
			s.m.MainsHz = hz * s.between(0.998, 1.002)
			s.knobs().HumDB, s.knobs().HarmonicsDB = s.between(-10, 0), s.between(-16, -4)
		}
	}
	converged := func(every ...int) func(*setup) {
		return func(s *setup) {
			s.p.Every, s.ms = pick(s.r, every...), [2]float64{0, 12}
			s.knobs().LeakDB, s.m.FrameMS = s.between(-20, -6), s.between(0.3, 2.5)
		}
	}
	every := func(beats int) func(*setup) { return func(s *setup) { s.p.Every = beats } }
	return []Trap{
		{"clean", "hits alone at a steady tempo", nil, func(s *setup) { s.p.Disturb = Quiet() }},
		{"everyday", "a little of everything, as any shop has it", nil, func(*setup) {}},
		{"loud-shop", "hum, noise, gears, leak, clunk and knocks together, each well below its worst", nil, func(s *setup) {
			d := s.knobs()
			d.HumDB, d.HarmonicsDB, d.NoiseDB = s.between(-18, -8), s.between(-26, -14), s.between(-38, -28)
			d.MeshDB, d.RollDB, d.LeakDB = s.between(-28, -16), s.between(-36, -26), s.between(-18, -10)
			d.ClunkDB, d.KnockDB, d.KnocksPerS = s.between(-22, -12), s.between(-20, -8), s.between(0.2, 1)
			d.MissedShare = s.between(0, 0.1)
		}},
		// What sounds beside the hits.
		{"hum-50", "mains hum at 50 Hz whose harmonics together are as strong as the voice", nil, hum(50)},
		{"hum-60", "mains hum at 60 Hz whose harmonics together are as strong as the voice", nil, hum(60)},
		{"noise", "broadband noise down to 18 dB below the hits' peak", nil, func(s *setup) {
			s.knobs().NoiseDB = s.between(-30, -18)
		}},
		{"gears", "rumble and gear-mesh tones that follow the crank", nil, func(s *setup) {
			s.knobs().MeshDB, s.knobs().RollDB = s.between(-14, -4), s.between(-30, -20)
		}},
		{"rolling", "noise of rolling shot that swells into the strike", nil, func(s *setup) {
			s.knobs().SwellDB = s.between(-28, -16)
		}},
		{"clatter", "knocks at random times in both microphones", nil, func(s *setup) {
			s.knobs().KnockDB, s.knobs().KnocksPerS = s.between(-10, 0), s.between(0.5, 3)
		}},
		{"tray", "spent shot landing loudly in the tray after each hit", nil, func(s *setup) {
			s.knobs().ClatterDB = s.between(-16, -6)
		}},
		{"clunk", "the gate's clunk a fall time before each hit, 8 to 14 dB below it", nil, func(s *setup) {
			s.knobs().ClunkDB = s.between(-14, -8)
		}},
		// What one microphone hears of the other.
		{"leak", "each hit leaks into the other microphone, up to 6 dB down", nil, func(s *setup) {
			s.knobs().LeakDB, s.m.FrameMS = s.between(-16, -6), s.between(0.3, 2.5)
		}},
		{"converged", "voice every 2 or 4 beats, 0 to 12 ms late: the reference's leak hides under it", nil, converged(2, 4)},
		{"converged-each", "the same on every beat, so that no beat shows the leak alone", nil, converged(1)},
		{"together", "both strike within 4 ms, either first, with a leak of either", nil, func(s *setup) {
			s.ms = [2]float64{-4, 4}
			s.knobs().LeakDB = s.between(-24, -12)
		}},
		// The machine and its voices.
		{"bounces", "shot that rebounds with up to 60 % of its speed", nil, func(s *setup) {
			s.voice().Rebound = s.between(0.35, 0.6)
		}},
		{"doubles", "up to every third drop lets two shot go", nil, func(s *setup) {
			s.knobs().DoubleShare = s.between(0.1, 0.35)
		}},
		{"missed", "up to a quarter of the drops miss", nil, func(s *setup) {
			s.knobs().MissedShare, s.few = s.between(0.1, 0.25), 6
		}},
		{"loudness", "hits whose loudness spreads over 20 dB", nil, func(s *setup) {
			s.knobs().SpreadDB = s.between(3.5, 5)
		}},
		{"ringing", "a voice that rings past its next hits", nil, func(s *setup) {
			modes, longer := s.voice().Sound.Modes, s.between(3, 8)
			for i := range modes {
				modes[i].DecayS *= longer
			}
		}},
		{"rattle", "a voice with wires that rattle at each hit", nil, func(s *setup) {
			s.voice().Sound.Rattle, s.voice().Sound.RattleS = s.between(0.1, 0.35), s.between(0.08, 0.4)
		}},
		{"soft", "a felted voice that the shot sinks into, so that the sound rises slowly", nil, func(s *setup) {
			s.voice().Sound.ContactMS = s.between(4, 8)
		}},
		{"loose-gate", "a gate that scatters the hits by 3 to 6 ms", nil, func(s *setup) { s.m.JitterMS = s.between(3, 6) }},
		{"drift", "a tempo that drifts by up to 8 %", nil, func(s *setup) { s.knobs().DriftPct = s.between(3, 8) }},
		{"wow", "a crank that is up to 2.5 % uneven within a turn", nil, func(s *setup) {
			s.knobs().WowPct = s.between(1.2, 2.5)
			s.m.CrankTurnsPerBeat = pick(s.r, 0.25, 0.5, 0.75)
		}},
		// The programme.
		{"every-1", "the voice strikes on every beat", nil, every(1)},
		{"every-2", "the voice strikes on every second beat", nil, every(2)},
		{"every-3", "the voice strikes on every third beat", nil, every(3)},
		{"every-4", "the voice strikes on every fourth beat", nil, every(4)},
		{"every-8", "the voice strikes on every eighth beat", nil, every(8)},
		{"ticks", "a reference that strikes 2 to 4 times a beat, all alike", nil, func(s *setup) {
			s.p.PerBeat = 2 + s.r.IntN(3)
		}},
		{"accented-ticks", "a reference that strikes 2 to 4 times a beat, softer between beats", nil, func(s *setup) {
			s.p.PerBeat, s.p.AccentDB = 2+s.r.IntN(3), s.between(3, 10)
		}},
		{"half-beat-late", "a lag near half a beat, so that late and early look alike", []string{calib.WarnWholeBeat},
			func(s *setup) { s.lag = [2]float64{0.43, 0.5} }},
		{"half-beat-early", "a lag near half a beat early, so that late and early look alike", []string{calib.WarnWholeBeat},
			func(s *setup) { s.lag = [2]float64{-0.5, -0.43} }},
		{"three-hits", "takes of about 8 s with three hits", nil, func(s *setup) {
			s.p.Hits, s.few, s.knobs().MissedShare = 3, 3, None
			s.p.Every = max(1, int(3*s.p.TempoBPM/60))
			s.p.LeadS, s.p.TailS = 0.7, 0.5
		}},
		// Cables and recorder.
		{"clipped", "a recording so hot that its hits are clipped", []string{calib.WarnClipped}, func(s *setup) {
			s.p.PeakDBFS, s.knobs().GainDB = -8, s.between(13, 24)
		}},
		{"faint", "a 16-bit recording at -50 dB full scale with an offset", nil, func(s *setup) {
			s.p.PeakDBFS, s.knobs().Bits = -50, 16
			s.knobs().DCOffset = pick(s.r, -1.0, 1) * s.between(0.002, 0.05)
		}},
		{"swapped", "reference and voice are plugged into each other's channel", []string{calib.WarnSwapped}, func(s *setup) {
			s.knobs().Swapped, s.p.Every, s.few = true, pick(s.r, 1, 2, 4), 8
			s.knobs().MissedShare = s.between(0.05, 0.25)
		}},
		{"dead-channel", "a broken cable: one channel carries nothing", []string{calib.WarnDeadChannel},
			func(s *setup) { s.knobs().DeadChannel = s.channel() }},
		{"drop-out", "a loose cable: one channel is silent for a fifth of the take", []string{calib.WarnDropOut}, func(s *setup) {
			s.knobs().DropOut, s.p.Every, s.few = s.channel(), pick(s.r, 1, 2), 16
		}},
		{"drop-outs", "a loose cable: one channel is silent for some tenths of a second now and then", []string{calib.WarnDropOut},
			func(s *setup) { s.knobs().DropOuts, s.few = s.channel(), 8 }},
		{"crackle", "a loose cable that makes and breaks contact now and then", []string{calib.WarnCrackle},
			func(s *setup) { s.knobs().Crackle = s.channel() }},
		{"hum-burst", "a loose cable whose shield lets bursts of hum in", []string{calib.WarnHumBurst},
			func(s *setup) { s.knobs().HumBurst = s.channel() }},
		{"lost-buffer", "a recorder that lost a buffer of 512 to 4096 samples", []string{calib.WarnLostBuffer},
			func(s *setup) { s.knobs().LostFrames = pick(s.r, 512, 1024, 2048, 4096) }},
	}
}

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
