package main

import (
	"math"
	"strings"

	"lagwright/calib"
	"lagwright/calib/plan"
)

// snake is a name as figures have it.
func snake(name string) string { return strings.ReplaceAll(name, "-", "_") }

// patience is after how many takes a builder gives up on a set list.
const patience = 40

// byPlan asks the plan for the next take until every song is verified.
func byPlan(m *studyMachine, tempos []float64, step calib.Belief) (settings []int, verified bool) {
	known := plan.Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{})}
	known.Prior.Step = step
	var songs []plan.Song
	for _, bpm := range tempos {
		songs = append(songs, plan.Song{TempoBPM: bpm})
	}
	var takes []plan.Take
	var at plan.Place
	for {
		machine, err := plan.Fit(known, takes)
		if err != nil {
			panic(err) // the study's own takes are always usable
		}
		p := machine.Make(songs, plan.Bench{At: at})
		if p.Next == nil || m.takes >= patience {
			for _, s := range p.Songs {
				settings = append(settings, s.Steps)
			}
			return settings, p.Next == nil
		}
		if song := p.Songs[p.Next.Song]; p.Next.Move != 0 && p.Next.Setting == song.Steps {
			m.ask(p.Next.TempoBPM, song.Steps, song.Doubt)
		}
		m.turn(p.Next.Setting)
		at = at.To(m.told)
		if heard, ok := plan.Hear(0, m.play(p.Next.TempoBPM)); ok {
			takes = append(takes, plan.Take{ID: m.takes, Setting: at.Setting, Came: at.Came, Advised: p.Next.Move, Heard: []plan.Heard{heard}})
		}
	}
}

// ruleTries is after how many takes at one tempo the rule is given up there.
const ruleTries = 8

// byRule is how set lists are tuned without a law (common practice, no published
// source): at each tempo in turn, take after take, the plate is turned by the lag
// over a fixed number of ms a step until the lag fits. The rule's ms a step is
// right at the first tempo, where the builder found it; when a lag fits, the builder
// is taken to know as well as the plan does.
func byRule(m *studyMachine, tempos []float64) (settings []int, verified bool) {
	rule := m.step * calib.PeriodMS(tempos[0])
	verified = true
	for _, bpm := range tempos {
		tight := false
		for try := 0; try < ruleTries && !tight; try++ {
			lag := m.play(bpm).LagMS
			if tight = math.Abs(lag) <= m.limit(calib.PeriodMS(bpm)); tight {
				break
			}
			steps := math.Max(math.Round(math.Abs(lag)/rule), 1)
			m.turn(m.told + int(math.Copysign(steps, lag)))
		}
		settings, verified = append(settings, m.told), verified && tight
	}
	return settings, verified
}
