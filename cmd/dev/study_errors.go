package main

import (
	"context"
	"fmt"
	"math"

	"lagwright/calib"
	"lagwright/calib/plan"
	"lagwright/internal/target"
)

// A session of the table of errors: so many takes at random tempos of the set list,
// each after the move that the plan asked for, one of which goes wrong. Then the
// move to a tempo that was not played is asked for.
const erringTakes = 5

// studyError is one thing that goes wrong in a session.
type studyError struct {
	name string
	move func(s *studySession, by int) (made, told int) // of a move asked for; nil = all goes well
	bare bool                                           // the builder moves by himself: nothing was advised
	fall bool                                           // a gate or fall changes before the take instead
}

func miscounted(least, most int) func(*studySession, int) (int, int) {
	return func(s *studySession, by int) (int, int) {
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
	{name: "wrong-way", move: func(_ *studySession, by int) (int, int) { return -by, by }},
	{name: "not-engaged", move: func(_ *studySession, by int) (int, int) { return 0, by }, bare: true},
	{name: "made-not-told", move: func(_ *studySession, by int) (int, int) { return by, 0 }},
	{name: "told-not-made", move: func(_ *studySession, by int) (int, int) { return 0, by }},
	{name: "changed-gate", fall: true},
}

// studySession is a machine of one voice or more, with all that was played on it.
type studySession struct {
	voices []*studyMachine // the same machine, heard at each of its voices; the first has its builder
	known  plan.Knowledge
	takes  []plan.Take
	at     plan.Place

	asked, silent int // moves that the plan asked for; those off by more than a step in silence
}

func (s *studySession) rng() interface{ IntN(int) int } { return s.voices[0].rng }

// How far apart voices of a machine may be, and by how much a changed gate moves
// one.
const (
	apartMS, apartBeats   = 20, 0.02
	gateLeastMS, gateMost = 10.0, 40.0
)

// session makes a session of one of the study's machines, with so many voices and all
// known of its step.
func (f studyFlags) session(i uint64, voices int) *studySession {
	first := f.machine(i)
	s := &studySession{known: plan.Knowledge{Voices: voices, Prior: calib.PlatePrior(calib.Plate{})}}
	s.known.Prior.Step = calib.Belief{Mean: first.step}
	for range voices {
		one := first
		if len(s.voices) > 0 {
			other := *first
			one = &other
			one.delayMS += apartMS * (2*first.rng.Float64() - 1)
			one.offset += apartBeats * (2*first.rng.Float64() - 1)
		}
		s.voices = append(s.voices, one)
	}
	return s
}

// newErring is a session without bad takes.
func newErring(f studyFlags, i uint64, voices int) *studySession {
	s := f.session(i, voices)
	for _, v := range s.voices {
		v.badShare = 0
	}
	return s
}

// ask returns what the plan says of some tempos.
func (s *studySession) ask(bpm ...float64) (plan.Posterior, plan.Plan) {
	m, err := plan.Fit(s.known, s.takes)
	if err != nil {
		panic(err) // the study's own takes are always usable
	}
	var songs []plan.Song
	for _, tempo := range bpm {
		songs = append(songs, plan.Song{TempoBPM: tempo})
	}
	return m, m.Plan(songs, plan.Situation{At: s.stands(m), All: true})
}

// stands returns where the plate stands by what the takes show.
func (s *studySession) stands(m plan.Posterior) plan.Place {
	at := s.at
	at.Setting += m.UnreportedSteps()
	return at
}

// play records a take at a tempo, once the plate was turned, and says that so many
// steps were turned and so many advised.
func (s *studySession) play(bpm float64, made, told, advised int) {
	first := s.voices[0]
	first.setting, first.told = first.setting+made, s.at.Setting+told
	s.hear(bpm, 0, advised)
}

// hear records a take of all voices with the plate as the first has it, at a tempo, or
// from there to another.
func (s *studySession) hear(bpm, toBPM float64, advised int) {
	s.at = s.at.To(s.voices[0].told)
	t := plan.Take{ID: len(s.takes) + 1, Setting: s.at.Setting, Came: s.at.Came, Advised: advised}
	luck := uint64(0)
	if toBPM > 0 {
		luck = s.voices[0].rng.Uint64()
	}
	for v, m := range s.voices {
		m.setting, m.told = s.voices[0].setting, s.voices[0].told
		r := calib.Reading{}
		if toBPM > 0 {
			r = m.sweep(bpm, toBPM, luck)
		} else {
			r = m.play(bpm)
		}
		if h, ok := plan.Hear(v, r); ok {
			t.Heard = append(t.Heard, h)
		}
	}
	s.takes = append(s.takes, t)
}

// verdict is how the move asked for at the end is.
type verdict struct {
	off     float64 // steps by which it is off
	doubt   bool    // and whether that is in doubt
	found   bool    // by the first take after the error what happened is the likeliest
	settled bool    // in doubt, one take as advised makes it right and sure
}

// judge holds what is asked for at a tempo against the truth.
func (s *studySession) judge(bpm float64, known plan.Posterior, p plan.Plan) (v verdict) {
	period := calib.PeriodMS(bpm)
	low, high := math.Inf(1), math.Inf(-1)
	for _, m := range s.voices {
		lag := math.Remainder(m.lag(period, p.Songs[0].Steps-known.UnreportedSteps()+m.setting-m.told), period)
		low, high = math.Min(low, lag), math.Max(high, lag)
	}
	return verdict{off: math.Abs(low+high) / 2 / (s.voices[0].step * period), doubt: p.Songs[0].Doubt}
}

// err plays a session with one error.
func (e studyError) err(s *studySession) verdict {
	rng, tempos := s.voices[0].rng, studyTempos()
	rng.Shuffle(len(tempos), func(i, j int) { tempos[i], tempos[j] = tempos[j], tempos[i] })
	found := false
	when, pending := 1+rng.IntN(erringTakes-1), e.move != nil
	for i, bpm := range tempos[:erringTakes] {
		if i == 0 {
			s.play(bpm, 0, 0, 0)
			continue
		}
		known, p := s.ask(bpm)
		by := p.Songs[0].Steps - s.stands(known).Setting
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
			m, _ := s.ask(bpm)
			found = m.UnreportedSteps() == s.voices[0].setting-s.voices[0].told
		}
	}
	bpm := tempos[erringTakes]
	known, p := s.ask(bpm, tempos[0], tempos[1], tempos[2], tempos[3], tempos[4])
	v := s.judge(bpm, known, p)
	v.found = found
	if v.doubt && p.Next != nil {
		s.play(p.Next.TempoBPM, p.Next.Move, p.Next.Move, p.Next.Move)
		known, p = s.ask(bpm)
		after := s.judge(bpm, known, p)
		v.settled = after.off <= 1 && !after.doubt
	}
	return v
}

// erringTally counts verdicts.
type erringTally struct{ right, doubt, wrong, settled, silent, near, found int }

// tableOfErrors plays each error on so many machines and says how the move asked
// for then is: right, said to be in doubt, or off by more than a step in silence.
func tableOfErrors(ctx context.Context, h *host, f studyFlags) error {
	fmt.Fprintf(h.stdout, "%-6s %-14s %6s %6s %8s %8s %9s %7s %7s\n", "voices", "error", "right", "doubt", "(wrong,", "settled)", "silently", "(>0.6)", "found")
	var figures []target.Figure
	for _, voices := range []int{1, 3} {
		for _, e := range studyErrors {
			t, err := e.tally(ctx, f, voices)
			if err != nil {
				return err
			}
			fmt.Fprintf(h.stdout, "%-6d %-14s %6d %6d %8d %8d %9d %7d %7d\n", voices, e.name, t.right, t.doubt, t.wrong, t.settled, t.silent, t.near, t.found)
			figures = append(figures, target.AtMost(fmt.Sprintf("silent_%s_%d", snake(e.name), voices), 100*float64(t.silent)/float64(f.machines), "%", studySilent))
		}
	}
	return h.verdict(figures)
}

func (e studyError) tally(ctx context.Context, f studyFlags, voices int) (t erringTally, err error) {
	verdicts, err := each(ctx, f.machines, func(i int) verdict { return e.err(newErring(f, uint64(i), voices)) })
	count := func(n *int, so bool) {
		if so {
			*n++
		}
	}
	for _, v := range verdicts {
		wrong := v.off > 1
		count(&t.right, !v.doubt && !wrong)
		count(&t.near, !v.doubt && !wrong && v.off > nearlyRight)
		count(&t.silent, !v.doubt && wrong)
		count(&t.doubt, v.doubt)
		count(&t.wrong, v.doubt && wrong)
		count(&t.settled, v.settled)
		count(&t.found, v.found)
	}
	return t, err
}

// nearlyRight is by how many steps a right setting is off at most where nothing but
// rounding and the takes' scatter moves it.
const nearlyRight = 0.6
