package loop

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/internal/deeptest"
)

// randomMachine is a random machine within what builders build (ranges: common
// practice, no published source), whose builder does what the loop says.
type randomMachine struct {
	law    calib.Law
	jitter float64 // ms, hit to hit
	s      machine.Machine
	takes  int // played at the target so far
	doubts int // takes after which a good move or take was doubted
}

// newMachine returns a machine whose pins stand within so many beats of their place.
func newMachine(rng *rand.Rand, offsetBeats float64, stepKnown bool) *randomMachine {
	m := &randomMachine{
		law:    calib.Law{DelayMS: 120 + 210*rng.Float64(), OffsetBeats: offsetBeats * (2*rng.Float64() - 1), StepBeats: 1 / (36 + 60*rng.Float64())},
		jitter: 0.5 + 1.5*rng.Float64(),
	}
	m.know(stepKnown)
	return m
}

// know begins a machine in which the plate's numbers are known or not.
func (m *randomMachine) know(step bool) {
	m.s = on(calib.Plate{})
	if step {
		m.s = on(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1 / m.law.StepBeats / 60})
	}
}

// play adds a take of twelve hits, the tempo missed by about 1 %, and lags heard to the
// nearest reference hit.
func (m *randomMachine) play(rng *rand.Rand) {
	target := m.s.Target.TempoBPM
	bpm := target * (1 + 0.01*rng.NormFloat64())
	period := calib.PeriodMS(bpm)
	exact, _ := m.law.Lag(period, float64(m.s.Setting()))
	exact = math.Remainder(exact, period)
	var reference, voice []float64
	var pairs []calib.Pair
	for i := range 12 {
		at, lag := 1+float64(i)*period/1000, exact+m.jitter*rng.NormFloat64()
		reference, voice = append(reference, at), append(voice, at+lag/1000)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	take := heard(calib.Read(pairs, reference, voice, 1))
	take.ID, take.Target = len(m.s.Takes)+1, m.s.Target
	m.s.Takes = append(m.s.Takes, take)
	m.takes++
}

// land plays at a tempo and does what it is told until that is tight, for so many takes
// at most. The view is that after the last.
func (m *randomMachine) land(rng *rand.Rand, bpm float64, most int) (v View, tight bool) {
	m.s.Target.TempoBPM, m.takes = bpm, 0
	for {
		v = Look(m.s)
		if v.Last != nil && v.Last.Outcome == Disagrees || len(v.Findings) > 0 {
			m.doubts++
		}
		switch {
		case v.Stage == Tight:
			return v, true
		case v.Stage == AwaitMove:
			m.s.Takes[len(m.s.Takes)-1].Moved = &machine.Move{Steps: v.Steps, For: m.s.Target}
		case m.takes == most:
			return v, false
		default:
			m.play(rng)
		}
	}
}

// left returns how late the voice truly is where the plate stands, ms.
func (m *randomMachine) left() float64 {
	lag, _ := m.law.Lag(calib.PeriodMS(m.s.Target.TempoBPM), float64(m.s.Setting()))
	return lag
}

// passes reports whether a lag is as tight as a view that says so may leave it.
func (m *randomMachine) passes(v View, lagMS float64) bool {
	return math.Abs(lagMS) <= v.Last.LimitMS+v.Last.StepMS/10+3*m.jitter
}

// Whatever the machine, the loop lands, a voice on the edge between two settings
// and a step still to be learnt included, and never calls a voice tight that is
// not.
func TestLoopConverges(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		m := &randomMachine{
			law: calib.Law{
				DelayMS:     rapid.Float64Range(120, 330).Draw(t, "D"),
				OffsetBeats: rapid.Float64Range(-0.05, 0.05).Draw(t, "A"),
				StepBeats:   1 / rapid.Float64Range(36, 96).Draw(t, "steps a beat"),
			},
			jitter: rapid.Float64Range(0.3, 2).Draw(t, "jitter"),
		}
		m.know(rapid.Bool().Draw(t, "step known"))
		bpm := rapid.Float64Range(50, 80).Draw(t, "tempo") // slow enough that no lag is near half a beat
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		const most = 10
		v, tight := m.land(rng, bpm, most)
		if !tight {
			t.Fatalf("not tight after %d takes: %s %s", most, v.Do, v.Why)
		}
		if !m.passes(v, m.left()) {
			t.Fatalf("tight with %.1f ms left, limit %.1f", m.left(), v.Last.LimitMS)
		}
	})
}

// With a known step a take to measure and a take to check are enough for most
// machines; learning the step costs one more.
func TestLoopIsShort(t *testing.T) {
	rng := rand.New(rand.NewPCG(2026, 11))
	machines := deeptest.Of(150, 1000)
	for _, c := range []struct {
		knows  bool
		takes  int        // at least
		shares [2]float64 // of the machines that are tight within so many takes, and one more
	}{{true, 2, [2]float64{0.97, 0.99}}, {false, 3, [2]float64{0.95, 0.99}}} {
		var short [2]float64
		for range machines {
			m := newMachine(rng, 0.05, c.knows)
			_, tight := m.land(rng, 50+30*rng.Float64(), c.takes+1)
			for more := range short {
				if tight && m.takes <= c.takes+more {
					short[more] += 1 / float64(machines)
				}
			}
		}
		t.Logf("step known %v: %.3f of the machines tight within %d takes, %.3f within one more", c.knows, short[0], c.takes, short[1])
		for more, share := range c.shares {
			if short[more] < share-1e-9 {
				t.Errorf("step known %v: only %.3f of machines tight within %d takes, want %g", c.knows, short[more], c.takes+more, share)
			}
		}
	}
}

// Three tempos in any order, fast first included, where lags pass half a beat, and
// wherever the plate stands at first: whole beats come right, no move that was made as
// told is doubted, and no good take is said not to fit.
func TestTemposInAnyOrder(t *testing.T) {
	for _, c := range []struct {
		name        string
		offsetBeats float64
		anywhere    bool // then nobody can tell where the programme begins
	}{{"pins near their place", 0.05, false}, {"plate anywhere at first", 0.5, true}} {
		t.Run(c.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(2026, 12))
			machines := deeptest.Of(80, 400)
			const most = 6
			tight, doubts, takesAfter := 0, 0, 0
			for range machines {
				m, all := newMachine(rng, c.offsetBeats, true), true
				for n := range 3 {
					v, landed := m.land(rng, 50+110*rng.Float64(), most)
					left := m.left()
					if c.anywhere {
						left = math.Remainder(left, calib.PeriodMS(m.s.Target.TempoBPM))
					}
					all = all && landed && m.passes(v, left)
					if n > 0 {
						takesAfter += m.takes
					}
				}
				if doubts += m.doubts; all {
					tight++
				}
			}
			t.Logf("%d of %d machines tight at all three tempos; %.2f takes a tempo after the first; %d doubts", tight, machines, float64(takesAfter)/float64(2*machines), doubts)
			if share := float64(tight) / float64(machines); share < 0.97 {
				t.Errorf("only %.3f of machines tight at all three tempos", share)
			}
			if doubts > 0 {
				t.Errorf("%d good moves or takes were doubted", doubts)
			}
		})
	}
}

// at returns a take that was aimed at and played at tempos in BPM, after which the plate
// is turned so many steps.
func at(aimedBPM, bpm, lagMS, scatterMS float64, thenMoved int) machine.Take {
	t := heard(played(bpm, lagMS, scatterMS, 12), thenMoved)
	t.Target.TempoBPM = aimedBPM
	return t
}

// A take played off its target's tempo is brought to it by the law.
func TestLagIsBroughtToTheTarget(t *testing.T) {
	law := calib.Law{DelayMS: 210, OffsetBeats: 0.01, StepBeats: 1.0 / 72}
	lag := func(bpm, setting float64) float64 {
		ms, _ := law.Lag(calib.PeriodMS(bpm), setting)
		return ms
	}
	m := on(calib.Plate{NotchesPerTurn: 72, TurnsPerBeat: 1}, at(80, 80, lag(80, 0), 0.2, 0), at(120, 120, lag(120, 0), 0.2, 10), at(100, 104, lag(104, 10), 0.2, 0))
	v := Look(m)
	r, _ := v.Result(3, "drum")
	if want := lag(100, 10); math.Abs(r.LagMS-want) > 0.3 || math.Abs(r.Reading.LagMS-want) < 2 {
		t.Errorf("%.1f ms at the target, %.1f as played, want %.1f", r.LagMS, r.Reading.LagMS, want)
	}
}

// Takes that scatter more than they say make the law less sure of itself, as much as
// the mean of so many tells; none of them is called bad for that, and no setting is
// verified.
func TestScatterWidensTheLaw(t *testing.T) {
	look := func(scatter float64) (v View, sd float64) {
		var takes []machine.Take
		for i := range 8 {
			period, moved := 500+20*float64(i), 0 // turned once, which tells that the plate is as its numbers say
			lag := 200 + scatter*float64(i%2*2-1)
			if i > 3 {
				lag -= 18.0 / 72 * period
			} else if i == 3 {
				moved = 18
			}
			takes = append(takes, at(60000/period, 60000/period, lag, 0.5, moved))
		}
		m := on(calib.Plate{NotchesPerTurn: 72, TurnsPerBeat: 1}, takes...)
		m.Songs = []machine.Song{{Name: "waltz", TempoBPM: 100}}
		v = Look(m)
		_, sd, _ = v.Lag("drum", 0, 600)
		return v, sd
	}
	_, calm := look(0.2)
	for _, scatter := range []float64{1, 2, 5} {
		v, wild := look(scatter)
		if mean := scatter / math.Sqrt(8); wild < 0.7*mean || wild > 2*mean+calm {
			t.Errorf("takes that scatter by %g ms make the law's uncertainty %.2f ms; by 0.2 ms, %.2f", scatter, wild, calm)
		}
		if len(v.Findings) > 0 || (v.Songs[0].Stands >= Sure) != (scatter < 5) {
			t.Errorf("takes that scatter by %g ms: a chance of %.2f, stands at %v, %d findings", scatter, v.Songs[0].Chance, v.Songs[0].Stands, len(v.Findings))
		}
	}
}

// A move told wrong by a few steps is no reason to believe that the voice strikes
// before it falls, or that the plate has to be turned.
func TestMoveToldWrongMovesNoBeats(t *testing.T) {
	for _, by := range []int{-12, -5, -3, 3, 5, 12, 20} {
		v := Look(on(calib.Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6},
			at(72, 72.14, 262.9, 1.2, 23), at(72, 71.63, -5, 1.2, 7), at(96, 96.13, -1.9, 1.2, 7+by), at(120, 119.54, -2.2, 1.2, 0)))
		r, _ := v.Result(4, "drum")
		if delay := v.fit.machine.Law(0).DelayMS; delay < 0 || math.Abs(r.LagMS) > 10 || r.Outcome == Move {
			t.Errorf("told %+d: a delay of %.0f ms, lag %.1f ms, %s: %s %s", by, delay, r.LagMS, r.Outcome, r.Do(), r.Why())
		}
	}
}
