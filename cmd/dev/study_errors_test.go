package main

import (
	"bytes"
	"context"
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

func errorNamed(t *testing.T, name string) studyError {
	t.Helper()
	for _, e := range studyErrors {
		if e.name == name {
			return e
		}
	}
	t.Fatalf("no error %s", name)
	return studyError{}
}

// Where nothing goes wrong next to nothing is in doubt; a move that was made and not
// told is found by the next take, and a miscount is not passed over in silence.
func TestOneErrorASession(t *testing.T) {
	if testing.Short() {
		t.Skip("plays sessions of every error")
	}
	const machines = 40
	f := studyFlags{machines: machines, seed: 21}
	for _, c := range []struct {
		name                        string
		mostDoubt, mostSilent, find float64
	}{{"none", 2, 0, 0}, {"made-not-told", 3, 0, machines - 2}, {"miscounted-1-8", machines / 2, 2, 0}} {
		for _, voices := range []int{1, 3} {
			e := errorNamed(t, c.name)
			all := must.Get(each(t.Context(), machines, func(i int) played { return e.err(newErring(f, uint64(i), voices)) }))(t)
			count := func(of string) float64 { return sum{of: of, sum: floats.Sum}.over(all) }
			if count("right")+count("doubt")+count("silent") != machines || count("doubt") > c.mostDoubt || count("silent") > c.mostSilent || count("found") < c.find {
				t.Errorf("%s, %d voices: %g right, %g in doubt, %g silent, %g found", c.name, voices, count("right"), count("doubt"), count("silent"), count("found"))
			}
		}
	}
}

// The errors are what their names say.
func TestErrorsOfMoves(t *testing.T) {
	for name, want := range map[string]func(made, told int) bool{
		"miscounted-4":  func(made, told int) bool { return told == 9 && (made == 5 || made == 13) },
		"wrong-way":     func(made, told int) bool { return made == -9 && told == 9 },
		"not-engaged":   func(made, told int) bool { return made == 0 && told == 9 },
		"made-not-told": func(made, told int) bool { return made == 9 && told == 0 },
		"told-not-made": func(made, told int) bool { return made == 0 && told == 9 },
		"miscounted-1-8": func(made, told int) bool {
			off := max(made-told, told-made)
			return told == 9 && off >= 1 && off <= mostCounted
		},
	} {
		for i := range uint64(20) {
			if made, told := errorNamed(t, name).move(newErring(studyFlags{seed: 3}, i, 1), 9); !want(made, told) {
				t.Errorf("%s: made %+d, told %+d", name, made, told)
			}
		}
	}
}

// Voices of a machine share its plate and its places; each has a law of its own.
func TestErringHearsAllVoices(t *testing.T) {
	r := newErring(studyFlags{seed: 3}, 1, 3)
	r.play(100, 0, 0, 0)
	r.play(100, 12, 10, 10)
	if len(r.Takes) != 2 || len(r.Takes[1].Heard) != 3 || r.Setting() != 10 || *r.Takes[0].Moved != (machine.Move{Steps: 10, Asked: 10, For: r.Target}) {
		t.Fatalf("takes %+v", r.Takes)
	}
	for v, m := range r.voices {
		h := r.Takes[1].Heard[v].Reading
		if off := math.Remainder(h.LagMS-m.lag(calib.PeriodMS(h.TempoBPM), 12), calib.PeriodMS(h.TempoBPM)); math.Abs(off) > 10 || m.setting != 12 || m.step != r.step {
			t.Errorf("voice %d is %.1f ms off its law at %d", v, off, m.setting)
		}
	}
}

// An erring builder errs as often as the figures say, each way.
func TestErringBuilder(t *testing.T) {
	const moves = 20000
	m := studyFlags{seed: 1, erring: true}.machine(0)
	var miscounted, untold, back float64
	for range moves {
		setting, told := m.setting, m.told
		m.turn(told + 20)
		switch made := m.setting - setting; {
		case m.told == told:
			untold++
		case made == -20:
			back++
		case made != 20:
			miscounted++
		}
	}
	for _, c := range []struct {
		name       string
		got, share float64
	}{{"miscounted", miscounted, miscountShare}, {"not told", untold, untoldShare}, {"the wrong way", back, wrongWayShare}} {
		if sd := math.Sqrt(moves * c.share); math.Abs(c.got-moves*c.share) > 5*sd {
			t.Errorf("%g of %d moves %s, want %g", c.got, moves, c.name, moves*c.share)
		}
	}
}

// The table has a row and a figure for each error, with one voice and with three.
func TestTableOfErrors(t *testing.T) {
	h, _ := bare()
	study(t.Context(), h, []string{"-errors", "-n", "2", "-seed", "5"})
	lines := strings.Split(strings.TrimSpace(h.stdout.(*bytes.Buffer).String()), "\n")
	if want := 1 + 4*len(studyErrors); len(lines) != want {
		t.Errorf("%d lines, want %d:\n%s", len(lines), want, strings.Join(lines, "\n"))
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := study(ctx, h, []string{"-errors"}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want it cancelled", err)
	}
}

// Where takes scatter far more than each states, the 95 % intervals of what the plan
// expects are as much wider, and hold the truth about as often as elsewhere.
func TestWidthsFollowTheScatter(t *testing.T) {
	if testing.Short() {
		t.Skip("plays sessions of many takes")
	}
	const machines, takes = 24, 12
	var before float64
	for _, scatterMS := range []float64{0, 5} {
		var inside, all, half, found float64
		for i := range uint64(machines) {
			r, tempos := newErring(studyFlags{seed: 21}, i, 1), studyTempos()
			r.rng.Shuffle(len(tempos), func(i, j int) { tempos[i], tempos[j] = tempos[j], tempos[i] })
			lawMS := r.delayMS
			for take := range takes {
				bpm, by := tempos[take%len(tempos)], 0
				if take > 0 {
					v, song := r.ask(bpm)
					by = song.Setting - v.Setting
				}
				r.delayMS = lawMS + scatterMS*r.rng.NormFloat64()
				r.play(bpm, by, by, by)
			}
			r.delayMS = lawMS
			v, _ := r.ask(tempos...)
			found += float64(len(v.Findings))
			for n := range v.Songs {
				song := &v.Songs[n]
				period, rest := calib.PeriodMS(song.TempoBPM), song.Parts[0]
				off := math.Remainder(r.lag(period, r.truly(&v, song))-rest.LagMS, period)
				all, half = all+1, half+rest.HalfMS
				inside += oneIf(math.Abs(off) <= rest.HalfMS)
			}
		}
		if inside < 0.85*all || found > machines/2 || half < 3*before {
			t.Errorf("takes that scatter by %g ms: %.0f %% inside, ± %.2f ms (± %.2f before), %g findings", scatterMS, 100*inside/all, half/all, before/all, found)
		}
		before = half
	}
}
