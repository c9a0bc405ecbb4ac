package main

import (
	"math"
	"strings"

	"lagwright/calib"
)

// snake is a name as figures have it.
func snake(name string) string { return strings.ReplaceAll(name, "-", "_") }

// patience is after how many takes a builder gives up on a set list.
const patience = 40

// byPlan plays what the plan asks for until every song is verified, where the step is known or
// has to be learnt. With several voices each song has one of them in turn.
func byPlan(steady, learn bool) func(*record, []float64) ([]int, bool) {
	return func(r *record, tempos []float64) (settings []int, verified bool) {
		if r.Build.Steady = steady; learn {
			r.Build.Plate = calib.Plate{}
		}
		r.list(tempos, false)
		r.settle()
		v := r.look()
		for i := range v.Songs {
			settings = append(settings, r.truly(&v, &v.Songs[i]))
		}
		return settings, v.Next == nil
	}
}

// ruleTries is after how many takes at one tempo the rule is given up there.
const ruleTries = 8

// byRule is how set lists are tuned without a law (common practice, no published
// source): at each tempo in turn, take after take, the plate is turned by the lag
// over a fixed number of ms a step until the lag fits. The rule's ms a step is
// right at the first tempo, where the builder found it; when a lag fits, the builder
// is taken to know as well as the plan does.
func byRule(r *record, tempos []float64) (settings []int, verified bool) {
	m := r.studyMachine
	rule := m.step * calib.PeriodMS(tempos[0])
	verified = true
	for _, bpm := range tempos {
		tight := false
		for range ruleTries {
			lag := m.strike(bpm, studyHits).LagMS
			if tight = math.Abs(lag) <= m.limit(calib.PeriodMS(bpm)); tight {
				break
			}
			steps := math.Max(math.Round(math.Abs(lag)/rule), 1)
			m.turn(m.told + int(math.Copysign(steps, lag)))
		}
		settings, verified = append(settings, m.told), verified && tight
	}
	for i := range settings {
		settings[i] += m.setting - m.told
	}
	return settings, verified
}
