package main

import (
	"context"
	"fmt"
	"math"
	"time"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/internal/target"
)

// What a year does to the study's machines (all the study's own).
const (
	yearSessions = 10
	yearCreepMS  = 1.0  // standard deviation by which a delay walks in a month
	yearWarmMS   = 1.0  // by which it follows the seasons
	yearGate     = 4    // the session before which a gate is changed
	yearGateMS   = 20.0 // by how much, either way
	yearNewSongs = 4    // tempos of a session that the ones before did not have
)

// pass lets a month go by.
func (r *record) pass(month int) {
	r.at = r.at.AddDate(0, 1, 0)
	season := func(m int) float64 { return yearWarmMS * math.Sin(2*math.Pi*float64(m)/12) }
	r.delayMS += yearCreepMS*r.rng.NormFloat64() + season(month) - season(month-1)
	if month == yearGate {
		r.delayMS += yearGateMS * float64(1-2*r.rng.IntN(2))
		r.Build.Log = append(r.Build.Log, machine.LogEntry{At: r.at.Add(-time.Hour), Part: machine.Gate})
	}
}

// through plays a year, with what the days before told or without: the takes of each session,
// and the share of its settings that were right.
func (r *record) through(memory bool) played {
	all := scores{}
	for month := range yearSessions {
		if month > 0 {
			r.pass(month)
			if !memory {
				r.begin()
			}
		}
		tempos := studyTempos()
		for i := range yearNewSongs {
			tempos[i] = 60 + 100*r.rng.Float64()
		}
		r.list(tempos, true)
		all[fmt.Sprint(month+1)] = []float64{float64(r.settle())}
		all["right"] = append(all["right"], r.right()/float64(len(tempos)))
	}
	return played{scores: all}
}

// studyYears say what memory is worth: takes a session, and settings that were right.
func studyYears(f studyFlags) family {
	kind := family{name: "takes by session", sums: []sum{{"right %", 1, target.Figure{}, "right", percent}}}
	for month := range yearSessions {
		kind.sums = append(kind.sums, sum{fmt.Sprint(month + 1), 2, target.Figure{}, fmt.Sprint(month + 1), mean})
	}
	for _, name := range []string{"with a record", "begun anew"} {
		kind.traps = append(kind.traps, trap{name: name, play: func(_ context.Context, i uint64) played { return f.record(i, 1).through(name == "with a record") }})
	}
	return kind
}

// check settles a machine, changes its delay by some steps, and plays one take months
// later, of so many hits as are asked for, be it a bad one as any other. A doubt finds
// nothing: machines that did not change are doubted, too. All is held wrong where all is said
// to hold and a setting is outside, and unsaid where it is not said to be on the edge either, or
// lies further outside than what that means.
func (r *record) check(steps float64) played {
	r.list(studyTempos(), true)
	r.settle()
	r.at = r.at.AddDate(0, 2, 0)
	at := machine.Target{Song: "108", TempoBPM: 108, Voice: r.Build.Voices[0]}
	r.delayMS += steps * r.step * calib.PeriodMS(at.TempoBPM)
	r.Target = at
	ask := r.look() // what it asks for is counted twice, before a concert
	r.take(at, ask.Steps, ask.Steps, ask.Steps, 0, max(studyHits, ask.Hits))
	v := r.look()
	check := v.Check
	if check == nil {
		check = &loop.Check{}
	}
	alarm, hold, wrong, unsaid := check.Changed(), check.Hold(), false, false
	for _, k := range check.Kept {
		period := calib.PeriodMS(k.TempoBPM)
		beyond := math.Abs(math.Remainder(r.lag(period, r.setting+k.Setting-v.Setting), period)) - r.limit(period)
		wrong = wrong || hold && beyond > 0
		if k.OnEdge() {
			beyond -= plan.NearSteps * r.step * period
		}
		unsaid = unsaid || hold && beyond > 0
	}
	return played{scores: scores{"alarm": {oneIf(alarm)}, "doubt": {oneIf(!alarm && !hold)}, "wrong": {oneIf(wrong)}, "unsaid": {oneIf(unsaid)}}}
}

// studyChecks are checks after a change of so many steps at 108 BPM, and what they find.
func studyChecks(f studyFlags) family {
	kind := family{name: "changed by", sums: []sum{
		{"alarms %", 1, target.Figure{}, "alarm", percent}, {"doubts %", 1, target.Figure{}, "doubt", percent},
		{"held wrong %", 1, target.Figure{}, "wrong", percent}, {"unsaid %", 1, target.Figure{}, "unsaid", percent},
	}}
	for _, steps := range []float64{0, 0.5, -0.5, 1, -2} {
		one := trap{name: fmt.Sprint(steps), play: func(_ context.Context, i uint64) played { return f.record(i, 1).check(steps) }}
		switch steps {
		case 0:
			one.figures = []sum{{figure: target.AtMost("false_alarms", 0, "%", 1), of: "alarm", sum: percent}, {figure: target.AtMost("held_unsaid", 0, "%", 1), of: "unsaid", sum: percent}}
		case 0.5, -0.5:
			one.figures = []sum{{figure: target.AtLeast(fmt.Sprintf("half_a_step_found_%g", steps), 0, "%", 90), of: "alarm", sum: percent}}
		}
		kind.traps = append(kind.traps, one)
	}
	return kind
}
