package main

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/target"
)

// A session of the table of errors: so many takes at random tempos of the set list,
// each after the move that the plan asked for, one of which goes wrong. Then the
// move to a tempo that was not played is asked for.
const erringTakes = 5

// studyError is one thing that goes wrong in a session.
type studyError struct {
	name string
	move func(r *record, by int) (made, told int) // of a move asked for; nil = all goes well
	bare bool                                     // the builder moves by himself: nothing was advised
	fall bool                                     // a gate or fall changes before the take instead
}

func miscounted(least, most int) func(*record, int) (int, int) {
	return func(r *record, by int) (int, int) {
		k := least + r.rng.IntN(most-least+1)
		return by + k*(1-2*r.rng.IntN(2)), by
	}
}

var studyErrors = []studyError{
	{name: "none"},
	{name: "miscounted-1", move: miscounted(1, 1)},
	{name: "miscounted-2", move: miscounted(2, 2)},
	{name: "miscounted-4", move: miscounted(4, 4)},
	{name: "miscounted-1-8", move: miscounted(1, mostCounted)},
	{name: "wrong-way", move: func(_ *record, by int) (int, int) { return -by, by }},
	{name: "not-engaged", move: func(_ *record, by int) (int, int) { return 0, by }, bare: true},
	{name: "made-not-told", move: func(_ *record, by int) (int, int) { return by, 0 }},
	{name: "told-not-made", move: func(_ *record, by int) (int, int) { return 0, by }},
	{name: "changed-gate", fall: true},
}

// By how much a changed gate moves a voice.
const gateLeastMS, gateMost = 10.0, 40.0

// newErring is a record without bad takes.
func newErring(f studyFlags, i uint64, voices int) *record {
	f.errors = true
	return f.record(i, voices)
}

// ask returns what is said of the first of some tempos, all voices sounding at each.
func (r *record) ask(bpm ...float64) (loop.View, *loop.Song) {
	r.list(bpm, true)
	r.Target.TempoBPM, r.Target.Song = bpm[0], r.Songs[0].Name
	v := r.look()
	return v, &v.Songs[0]
}

// play plays a take at a tempo, once the plate was turned, and says that so many steps were
// turned and so many advised.
func (r *record) play(bpm float64, made, told, advised int) {
	r.take(machine.Target{TempoBPM: bpm, Voice: r.Build.Voices[0]}, made, told, advised, 0, studyHits)
}

// judge holds what is asked for of a song against the truth: by how many steps it is off, and
// whether that is said to be in doubt.
func (r *record) judge(v loop.View, song *loop.Song) (off float64, doubt bool) {
	period := calib.PeriodMS(song.TempoBPM)
	low, high := math.Inf(1), math.Inf(-1)
	for _, m := range r.voices {
		lag := math.Remainder(m.lag(period, r.truly(&v, song)), period)
		low, high = math.Min(low, lag), math.Max(high, lag)
	}
	return math.Abs(low+high) / 2 / (r.step * period), song.InDoubt
}

// err plays a session with one error. By the first take after it what happened may be found,
// and where the move asked for at the end is in doubt, one take as advised may settle it.
func (e studyError) err(r *record) played {
	rng, tempos := r.rng, studyTempos()
	rng.Shuffle(len(tempos), func(i, j int) { tempos[i], tempos[j] = tempos[j], tempos[i] })
	found, settled := false, false
	when, pending := 1+rng.IntN(erringTakes-1), e.move != nil
	for i, bpm := range tempos[:erringTakes] {
		if i == 0 {
			r.play(bpm, 0, 0, 0)
			continue
		}
		v, song := r.ask(bpm)
		by := song.Setting - v.Setting
		made, told := by, by
		now := pending && by != 0 && i >= when
		if now {
			made, told = e.move(r, by)
			pending = false
		}
		if e.fall && i == when {
			one := r.voices[rng.IntN(len(r.voices))]
			one.delayMS += (gateLeastMS + (gateMost-gateLeastMS)*rng.Float64()) * float64(1-2*rng.IntN(2))
		}
		if e.bare {
			by = 0
		}
		r.play(bpm, made, told, by)
		if now {
			v, _ := r.ask(bpm)
			found = v.Setting-r.Setting() == r.setting-r.told
		}
	}
	v, song := r.ask(tempos[erringTakes], tempos[0], tempos[1], tempos[2], tempos[3], tempos[4])
	off, doubt := r.judge(v, song)
	if next := v.Next; doubt && next != nil {
		r.play(next.Target.TempoBPM, next.Move, next.Move, next.Move)
		after, still := r.judge(r.ask(tempos[erringTakes]))
		settled = after <= 1 && !still
	}
	wrong := off > 1
	return played{scores: scores{"right": {oneIf(!doubt && !wrong)}, "doubt": {oneIf(doubt)}, "wrong": {oneIf(doubt && wrong)},
		"settled": {oneIf(settled)}, "silent": {oneIf(!doubt && wrong)}, "found": {oneIf(found)}}}
}

// studyMistakes are the errors, on machines of one voice and of three: how the move asked for
// at the end is, right, said to be in doubt, or off by more than a step in silence.
func studyMistakes(f studyFlags) family {
	kind := family{name: "error"}
	for _, head := range []string{"right", "doubt", "wrong", "settled", "silent", "found"} {
		kind.sums = append(kind.sums, sum{head: head, of: head, sum: floats.Sum})
	}
	for _, voices := range []int{1, 3} {
		for _, e := range studyErrors {
			name := fmt.Sprintf("%s-%d", e.name, voices)
			kind.traps = append(kind.traps, trap{name: name, figures: []sum{{figure: target.AtMost("silent_"+snake(name), 0, "%", studySilent), of: "silent", sum: percent}},
				play: func(_ context.Context, i uint64) played { return e.err(newErring(f, i, voices)) }})
		}
	}
	return kind
}
