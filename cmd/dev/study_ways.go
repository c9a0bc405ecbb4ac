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

// byPlan asks the plan for the next take until every song is verified. With several
// voices each song has one of them in turn, and takes hear all.
func byPlan(s *studySession, tempos []float64, step calib.Belief, steady bool) (settings []int, verified bool) {
	s.known.Prior.Step = step
	var songs []plan.Song
	for i, bpm := range tempos {
		songs = append(songs, plan.Song{TempoBPM: bpm, Voices: []int{i % len(s.voices)}})
	}
	first := s.voices[0]
	for {
		posterior, err := plan.Fit(s.known, s.takes)
		if err != nil {
			panic(err) // the study's own takes are always usable
		}
		p := posterior.Plan(songs, plan.Situation{At: s.stands(posterior), All: len(s.voices) > 1, Steady: steady})
		if p.Next == nil || first.takes >= patience {
			for _, s := range p.Songs {
				settings = append(settings, s.Steps-posterior.UnreportedSteps())
			}
			return settings, p.Next == nil
		}
		// Of one take alone nobody can say that it was a good one: the move after it is its check.
		if song := p.Songs[p.Next.Song]; len(s.takes) > 1 && p.Next.Move != 0 && s.stands(posterior).Setting+p.Next.Move == song.Steps {
			s.asked++
			if s.voices[p.Next.Song%len(s.voices)].wrong(p.Next.TempoBPM, song.Steps-posterior.UnreportedSteps()) && !song.Doubt {
				s.silent++
			}
		}
		first.turn(first.told + p.Next.Move)
		s.hear(p.Next.TempoBPM, p.Next.ToBPM, p.Next.Move)
	}
}

// ruleTries is after how many takes at one tempo the rule is given up there.
const ruleTries = 8

// byRule is how set lists are tuned without a law (common practice, no published
// source): at each tempo in turn, take after take, the plate is turned by the lag
// over a fixed number of ms a step until the lag fits. The rule's ms a step is
// right at the first tempo, where the builder found it; when a lag fits, the builder
// is taken to know as well as the plan does.
func byRule(s *studySession, tempos []float64) (settings []int, verified bool) {
	m := s.voices[0]
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
