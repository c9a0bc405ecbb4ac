package main

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"sync"

	"lagwright/calib"
	"lagwright/calib/plan"
)

// A session of the table of errors: so many takes at random tempos of the set list,
// each after the move that the plan asked for, one of which goes wrong. Then the
// move to a tempo that was not played is asked for.
const erringTakes = 5

// studyError is one thing that goes wrong in a session.
type studyError struct {
	name string
	move func(s *erring, by int) (made, told int) // of a move asked for; nil = all goes well
	bare bool                                     // the builder moves by himself: nothing was advised
	fall bool                                     // a gate or fall changes before the take instead
}

func miscounted(least, most int) func(*erring, int) (int, int) {
	return func(s *erring, by int) (int, int) {
		k := least + s.rng().IntN(most-least+1)
		return by + k*(1-2*s.rng().IntN(2)), by
	}
}

var studyErrors = []studyError{
	{name: "none"},
	{name: "miscounted-1", move: miscounted(1, 1)},
	{name: "miscounted-2", move: miscounted(2, 2)},
	{name: "miscounted-4", move: miscounted(4, 4)},
	{name: "miscounted-1-8", move: miscounted(1, mostCounted)},
	{name: "wrong-way", move: func(_ *erring, by int) (int, int) { return -by, by }},
	{name: "not-engaged", move: func(_ *erring, by int) (int, int) { return 0, by }, bare: true},
	{name: "made-not-told", move: func(_ *erring, by int) (int, int) { return by, 0 }},
	{name: "told-not-made", move: func(_ *erring, by int) (int, int) { return 0, by }},
	{name: "changed-gate", fall: true},
}

// erring is a session in which something goes wrong.
type erring struct {
	voices []*studyMachine // the same machine, heard at each of its voices
	known  plan.Knowledge
	takes  []plan.Take
	at     plan.Place
}

func (s *erring) rng() interface{ IntN(int) int } { return s.voices[0].rng }

// How far apart voices of a machine may be, and by how much a changed gate moves
// one.
const (
	apartMS, apartBeats   = 20, 0.02
	gateLeastMS, gateMost = 10.0, 40.0
)

func newErring(f studyFlags, i uint64, voices int) *erring {
	first := f.machine(i)
	first.noBad = true
	s := &erring{known: plan.Knowledge{Voices: voices, Prior: calib.PlatePrior(calib.Plate{})}}
	s.known.Prior.Step = calib.Belief{Mean: first.step}
	for range voices {
		one := *first
		if len(s.voices) > 0 {
			one.delayMS += apartMS * (2*first.rng.Float64() - 1)
			one.offset += apartBeats * (2*first.rng.Float64() - 1)
		}
		s.voices = append(s.voices, &one)
	}
	return s
}

// asked is what the plan says of a tempo.
func (s *erring) asked(bpm float64) (plan.Machine, plan.Setting) {
	m, err := plan.Fit(s.known, s.takes)
	if err != nil {
		panic(err) // the study's own takes are always usable
	}
	return m, m.Make([]plan.Song{{TempoBPM: bpm}}, plan.Bench{At: s.at, All: true}).Songs[0]
}

// play records a take at a tempo, once the plate was turned, and says that so many
// steps were turned and so many advised.
func (s *erring) play(bpm float64, made, told, advised int) {
	s.at = s.at.To(s.at.Setting + told)
	t := plan.Take{ID: len(s.takes) + 1, Setting: s.at.Setting, Came: s.at.Came, Advised: advised}
	for v, m := range s.voices {
		m.setting, m.told = m.setting+made, s.at.Setting
		if h, ok := plan.Hear(v, m.play(bpm)); ok {
			t.Heard = append(t.Heard, h)
		}
	}
	s.takes = append(s.takes, t)
}

// verdict is how the move asked for at the end is.
type verdict struct {
	off   float64 // steps by which it is off
	doubt bool    // and whether that is in doubt
	found bool    // by the first take after the error what happened is the likeliest
}

// err plays a session with one error.
func (e studyError) err(s *erring) (v verdict) {
	rng, tempos := s.voices[0].rng, studyTempos()
	rng.Shuffle(len(tempos), func(i, j int) { tempos[i], tempos[j] = tempos[j], tempos[i] })
	when, pending := 1+rng.IntN(erringTakes-1), e.move != nil
	for i, bpm := range tempos[:erringTakes] {
		if i == 0 {
			s.play(bpm, 0, 0, 0)
			continue
		}
		_, to := s.asked(bpm)
		by := to.Steps - s.at.Setting
		made, told := by, by
		now := pending && by != 0 && i >= when
		if now {
			made, told = e.move(s, by)
			pending = false
		}
		if e.fall && i == when {
			one := s.voices[rng.IntN(len(s.voices))]
			one.delayMS += (gateLeastMS + (gateMost-gateLeastMS)*rng.Float64()) * float64(1-2*rng.IntN(2))
		}
		if e.bare {
			by = 0
		}
		s.play(bpm, made, told, by)
		if now {
			m, _ := s.asked(bpm)
			v.found = m.Ahead() == s.voices[0].setting-s.voices[0].told
		}
	}
	bpm := tempos[erringTakes]
	_, ask := s.asked(bpm)
	low, high := math.Inf(1), math.Inf(-1)
	for _, m := range s.voices {
		lag := math.Remainder(m.lag(calib.PeriodMS(bpm), ask.Steps+m.setting-m.told), calib.PeriodMS(bpm))
		low, high = math.Min(low, lag), math.Max(high, lag)
	}
	v.off, v.doubt = math.Abs(low+high)/2/(s.voices[0].step*calib.PeriodMS(bpm)), ask.Doubt
	return v
}

// tally counts verdicts.
type erringTally struct{ sessions, right, doubt, wrongDoubt, silent, silentNear, found, erred int }

// tableOfErrors plays each error on so many machines and says how the move asked
// for then is: right, said to be in doubt, or off by more than a step in silence.
func tableOfErrors(ctx context.Context, h *host, f studyFlags) error {
	fmt.Fprintf(h.stdout, "%-6s %-15s %8s %7s %7s %7s %9s %7s %7s\n", "voices", "error", "sessions", "right", "doubt", "(wrong)", "silently", "(>0.6)", "found")
	var figures []figure
	for _, voices := range []int{1, 3} {
		for _, e := range studyErrors {
			t, err := e.tally(ctx, f, voices)
			if err != nil {
				return err
			}
			fmt.Fprintf(h.stdout, "%-6d %-15s %8d %7d %7d %7d %9d %7d %7d\n", voices, e.name, t.sessions, t.right, t.doubt, t.wrongDoubt, t.silent, t.silentNear, t.found)
			figures = append(figures, atMost(fmt.Sprintf("silent_%s_%d", snake(e.name), voices), 100*float64(t.silent)/float64(t.sessions), "%", 1))
		}
	}
	for _, fig := range figures {
		h.say("%s", fig)
	}
	return missed(figures)
}

func (e studyError) tally(ctx context.Context, f studyFlags, voices int) (t erringTally, err error) {
	verdicts := make([]verdict, f.machines)
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := range next {
				verdicts[i] = e.err(newErring(f, uint64(i), voices))
			}
		})
	}
	for i := 0; i < len(verdicts) && ctx.Err() == nil; i++ {
		next <- i
	}
	close(next)
	workers.Wait()
	for _, v := range verdicts {
		t.sessions++
		if v.found {
			t.found++
		}
		switch {
		case v.doubt:
			t.doubt++
			if v.off > 1 {
				t.wrongDoubt++
			}
		case v.off > 1:
			t.silent++
		default:
			t.right++
			if v.off > 0.6 {
				t.silentNear++
			}
		}
	}
	return t, ctx.Err()
}
