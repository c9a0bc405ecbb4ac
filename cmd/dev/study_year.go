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
	yearMost     = 20   // takes of a session until the builder gives up
)

// record is a machine with what a builder keeps of it, or begins anew.
type record struct {
	*studyMachine
	machine.Machine
	at    time.Time
	first int // where the plate stood at the first take
}

func (f studyFlags) record(i uint64) *record {
	r := &record{studyMachine: newStudyMachine(f.seed, i, false), at: time.Date(2026, 1, 10, 10, 0, 0, 0, time.UTC)}
	r.begin()
	return r
}

// begin forgets all takes: where the plate stands is setting 0.
func (r *record) begin() {
	plate := calib.Plate{NotchesPerTurn: int(math.Round(1 / r.step)), TurnsPerBeat: 1}
	r.Machine = machine.Machine{Build: machine.Build{Plate: plate, Voices: []string{"drum"}}, ToleranceMS: calib.DefaultToleranceMS, Target: machine.Target{TempoBPM: 100, Voice: "drum"}}
	r.studyMachine.told, r.first = r.setting, r.setting
}

// list makes songs of tempos.
func (r *record) list(tempos []float64) {
	r.Songs = nil
	for _, bpm := range tempos {
		r.Songs = append(r.Songs, machine.Song{Name: fmt.Sprint(bpm), TempoBPM: bpm})
	}
}

// take plays a take after a move, some minutes after the last, of so many hits: a sweep where
// toBPM is above 0.
func (r *record) take(at machine.Target, move int, toBPM float64, hits int) {
	if n := len(r.Takes); n > 0 && move != 0 {
		r.Takes[n-1].Moved = &machine.Move{Steps: move, For: at, Asked: move}
		r.turn(r.told + move)
	}
	r.at = r.at.Add(3 * time.Minute)
	r.Target = at
	play := func() calib.Reading { return r.strike(at.TempoBPM, hits) }
	if toBPM > 0 {
		play = func() calib.Reading { return r.sweep(at.TempoBPM, toBPM, r.rng.Uint64()) }
	}
	r.Takes = append(r.Takes, machine.Take{
		ID: len(r.Takes) + 1, At: r.at, Target: at, Reference: 1, Channels: 2,
		Heard: []machine.Heard{{Voice: "drum", Channel: 2, Reading: play()}},
	})
}

// settle plays takes until no more are needed, and returns how many.
func (r *record) settle() (takes int) {
	for takes < yearMost {
		v := loop.LookAt(r.Machine, r.at)
		if v.Next == nil {
			break
		}
		r.take(v.Next.Target, v.Next.Move, v.Next.ToBPM, studyHits)
		takes++
	}
	return takes
}

// right counts the songs whose setting is truly inside the limit.
func (r *record) right() (n float64) {
	v := loop.Look(r.Machine)
	for _, song := range v.Songs {
		period := calib.PeriodMS(song.TempoBPM)
		if math.Abs(math.Remainder(r.lag(period, r.first+song.Setting), period)) <= r.limit(period) {
			n++
		}
	}
	return n
}

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

// yearly is how a year went, session by session.
type yearly struct{ takes, right [yearSessions]float64 }

// through plays a year, with what the days before told or without.
func (r *record) through(memory bool) (p yearly) {
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
		r.list(tempos)
		p.takes[month] = float64(r.settle())
		p.right[month] = 100 * r.right() / float64(len(tempos))
	}
	return p
}

// checked is what one take before a concert found, be it a bad one as any other. A doubt finds
// nothing: machines that did not change are doubted, too.
type checked struct {
	alarm, doubt bool
	wrong        bool // all is said to hold, and a setting is outside
	unsaid       bool // the same, and the setting is not said to be on the edge, or further outside than what that means
}

// check settles a machine, changes its delay by some steps, and plays one take months
// later, of so many hits as are asked for.
func (r *record) check(steps float64) (c checked) {
	r.list(studyTempos())
	r.settle()
	r.at = r.at.AddDate(0, 2, 0)
	at := machine.Target{Song: "108", TempoBPM: 108, Voice: "drum"}
	r.delayMS += steps * r.step * calib.PeriodMS(at.TempoBPM)
	r.Target = at
	ask := loop.LookAt(r.Machine, r.at)
	if ask.Steps != 0 { // counted twice, before a concert
		r.Takes[len(r.Takes)-1].Moved = &machine.Move{Steps: ask.Steps, For: at, Asked: ask.Steps}
		r.setting, r.told = r.setting+ask.Steps, r.told+ask.Steps
	}
	r.take(at, 0, 0, max(studyHits, ask.Hits))
	check := loop.Look(r.Machine).Check
	if check == nil {
		return c
	}
	c.alarm = check.Changed()
	c.doubt = !c.alarm && !check.Hold()
	for _, k := range check.Kept {
		period := calib.PeriodMS(k.TempoBPM)
		beyond := math.Abs(math.Remainder(r.lag(period, r.first+k.Setting), period)) - r.limit(period)
		c.wrong = c.wrong || check.Hold() && beyond > 0
		if k.OnEdge() {
			beyond -= plan.NearSteps * r.step * period
		}
		c.unsaid = c.unsaid || check.Hold() && beyond > 0
	}
	return c
}

// yearSteps are the changes, in steps at 108 BPM, that a check is tried with.
var yearSteps = []float64{0, 0.5, -0.5, 1, -2}

// tableOfTheYear says what memory is worth, and what a check finds.
func tableOfTheYear(ctx context.Context, h *host, f studyFlags) error {
	var figures []target.Figure
	fmt.Fprintf(h.stdout, "%-8s %10s %10s %10s %10s\n", "session", "takes", "right", "takes anew", "right anew")
	var all [2][]yearly
	for n := range all {
		var err error
		if all[n], err = each(ctx, f.machines, func(i int) yearly { return f.record(uint64(i)).through(n == 0) }); err != nil {
			return err
		}
	}
	for month := range yearSessions {
		var sum [4]float64
		for n := range all {
			for _, p := range all[n] {
				sum[2*n] += p.takes[month] / float64(f.machines)
				sum[2*n+1] += p.right[month] / float64(f.machines)
			}
		}
		fmt.Fprintf(h.stdout, "%-8d %10.2f %9.1f%% %10.2f %9.1f%%\n", month+1, sum[0], sum[1], sum[2], sum[3])
	}
	fmt.Fprintf(h.stdout, "%-8s %10s %10s %10s %10s\n", "changed", "alarms", "doubts", "held wrong", "unsaid")
	for _, steps := range yearSteps {
		some, err := each(ctx, f.machines, func(i int) checked { return f.record(uint64(i)).check(steps) })
		if err != nil {
			return err
		}
		var alarm, doubt, wrong, unsaid float64
		for _, c := range some {
			alarm, doubt, wrong, unsaid = alarm+oneIf(c.alarm), doubt+oneIf(c.doubt), wrong+oneIf(c.wrong), unsaid+oneIf(c.unsaid)
		}
		share := 100 / float64(f.machines)
		fmt.Fprintf(h.stdout, "%-8g %9.1f%% %9.1f%% %9.1f%% %9.1f%%\n", steps, share*alarm, share*doubt, share*wrong, share*unsaid)
		switch steps {
		case 0:
			figures = append(figures, target.AtMost("false_alarms", share*alarm, "%", 1), target.AtMost("held_unsaid", share*unsaid, "%", 1))
		case 0.5, -0.5:
			figures = append(figures, target.AtLeast(fmt.Sprintf("half_a_step_found_%g", steps), share*alarm, "%", 90))
		}
	}
	return h.verdict(figures)
}
