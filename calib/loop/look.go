package loop

import (
	"math"
	"slices"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// Stage is what the loop waits for.
type Stage int

// The stages of the loop.
const (
	AwaitTake Stage = iota // play or open a take
	AwaitMove              // turn the plate by Steps, or say what was done
	Foretold               // the plate was turned to where both should strike together; no take has heard that yet
	Tight                  // voice and reference strike together at this tempo
)

// Number is a lag with whose it is.
type Number struct {
	Voice   string
	LagMS   float64 // positive = late
	HalfMS  float64 // half the 95 % interval of LagMS
	Take    int     // id of the take that read it; 0 = by all takes
	BPM     float64 // what it is said of: the target tempo, or as played where nothing follows from the take there
	FromBPM float64 // tempo that was played, where that is far from BPM; 0 = it is not
}

// severalSteps is how wide half an interval may be, in steps, for its lag to say where to turn.
const severalSteps = 3

// Vague reports whether Number is none to go by: its interval is wider than what is tight, and
// than the lag itself or several steps.
func (v *View) Vague() bool {
	n, step := v.Number, 0.0
	if v.StepKnown {
		step = v.fit.step.Mean * calib.PeriodMS(v.Machine.Target.TempoBPM)
	}
	return n != nil && n.HalfMS > v.fit.known.Limit(step) && (n.HalfMS > math.Abs(n.LagMS) || step > 0 && n.HalfMS > severalSteps*step)
}

// View is all there is to show of a machine.
type View struct {
	Machine machine.Machine // the facts

	Stage   Stage
	Setting int            // where the plate stands as far as the takes tell, steps from where it stood at the first one
	Steps   int            // what to turn while Stage is AwaitMove; positive = ahead
	Do      string         // what to do now, in a few words
	Why     string         // why, in a sentence or two
	Aim     machine.Target // what the take that is asked for aims at: another voice of the song, or the machine's target
	Sweep   Tempos         // the tempos that the take which is asked for goes through; none = it keeps to the target's
	Hits    int            // that the take which is asked for has at least; 0 = as any other
	Reach   bool           // to do it, somebody reaches into the machine
	Last    *Result        // the take that Do and Why follow; nil where they follow none
	Number  *Number        // the lag that Why speaks of; nil where it speaks of none
	Song    *Song          // the song that the loop aims at; nil where there is no plan

	Results  [][]Result     // by take and voice, as in the machine
	Settings []TightSetting // by voice, tempo and song
	Findings []Finding      // mistakes that the takes show, the likeliest first
	Answered []Finding      // moves that are not suspected, because the builder has said how they went

	Songs     []Song    // as in the set list
	Next      *NextTake // nil where the set list needs no more takes, or is empty
	StepKnown bool      // well enough to count moves by it
	Check     *Check    // what the takes of another day tell of the settings before it; nil where they tell nothing

	Err error // why the takes cannot be brought together; then the plan's part is empty

	fit   *fitted
	since string // what happened since the last take, in words; empty where nothing did
}

// Look returns the view of a machine on the day of its last take.
func Look(m machine.Machine) View { return LookAt(m, time.Time{}) }

// LookAt returns the view of a machine at a time, by which the machine may have stood for
// days since its last take and crept.
func LookAt(m machine.Machine, now time.Time) View {
	v := look(m, now)
	if v.since = v.stood(now); v.since == "" {
		v.Check = v.check()
	}
	v.decide()
	if v.Check != nil {
		v.Why = v.Check.Words + " " + v.Why
	} else if n := len(m.Takes); n > 0 && v.since == "" && m.Takes[n-1].Moved == nil {
		said := ""
		if v.Last != nil {
			said = v.Last.Unfit
		}
		v.Why = strings.TrimSpace(v.Why + " " + v.whyUnheard(n-1, said))
	}
	return v
}

// look works out all but what to do.
func look(m machine.Machine, now time.Time) View {
	v := View{Machine: m}
	v.fit, v.Err = fit(m, now)
	v.Setting = v.fit.place.Setting
	v.StepKnown = v.Err == nil && calib.StepKnown(v.fit.step)
	for i := range m.Takes {
		v.Results = append(v.Results, v.results(i))
	}
	if v.Err == nil {
		v.Settings = v.settled()
		v.Findings, v.Answered = v.findings(), v.answered()
		v.planSongs()
	}
	return v
}

// Follows reports whether Do and Why follow what a take says of a voice: those of a song
// together follow what it says of each.
func (v *View) Follows(r Result) bool {
	if v.Last == nil || v.Last.Take.ID != r.Take.ID {
		return false
	}
	return v.Last.Voice == r.Voice || v.Song != nil && slices.ContainsFunc(v.Song.Parts, func(p Residual) bool { return p.Voice == r.Voice })
}

// Result returns what a take says of a voice. It is not ok where the machine has no
// such take, or the voice had no microphone in it.
func (v *View) Result(take int, voice string) (Result, bool) {
	for _, results := range v.Results {
		for i := range results {
			if r := &results[i]; r.Take.ID == take && r.Voice == voice {
				return *r, true
			}
		}
	}
	return Result{}, false
}

// AsEntered reports whether the takes have the plate where the moves as entered do. While they
// have not, and the builder has not agreed to that, no setting is sure.
func (v *View) AsEntered() bool { return v.fit.asEntered }

// Lag returns a voice's lag in ms (positive = late) at a setting and a beat period
// in ms, with its standard uncertainty, as all takes together have it expected: see
// plan.Posterior.Expect. It is not ok for a voice that no take that counts has heard.
func (v *View) Lag(voice string, setting int, periodMS float64) (lagMS, sdMS float64, ok bool) {
	if !v.heard(voice) {
		return 0, 0, false
	}
	lagMS, sdMS = v.fit.machine.Expect(v.fit.voice(voice), v.fit.place.To(setting), periodMS)
	return lagMS, sdMS, true
}

// fitted is what all takes of a machine tell of it.
type fitted struct {
	known     plan.Knowledge
	machine   plan.Posterior
	voices    []string     // of the machine
	takes     []plan.Take  // as the moves were told; last what happened since the machine's last one
	places    []plan.Place // where the plate stood at each of the machine's takes
	place     plan.Place   // where it stands
	asEntered bool         // it stands there, and stood at those, by the moves as told
	step      calib.Belief // of the plate, beats
}

func (f *fitted) voice(name string) int { return slices.Index(f.voices, name) }

// named returns the voices that are named, or all where none is.
func (f *fitted) named(voices []string) []string {
	if len(voices) > 0 {
		return voices
	}
	return f.voices
}

// observation returns which of a take's observations is that of a voice; -1 where its reading
// cannot be used.
func (f *fitted) observation(take, voice int) int {
	return slices.IndexFunc(f.takes[take].Heard, func(h plan.Observation) bool { return h.Voice == voice })
}

// fit hands what counts of a machine to the plan, every move as it was told: which
// ones went otherwise is for the plan to find out.
func fit(m machine.Machine, now time.Time) (f *fitted, err error) {
	f = &fitted{voices: m.Build.Voices}
	f.known = plan.Knowledge{Voices: len(f.voices), Prior: calib.PlatePrior(m.Build.Plate), ToleranceMS: m.ToleranceMS}
	var move machine.Move // since the take before
	for i, t := range m.Takes {
		advised := move.Asked
		if t.Asked != 0 {
			advised = move.Steps + t.Asked
		}
		f.takes = append(f.takes, plan.Take{ID: t.ID, Setting: f.place.Setting, Came: f.place.Came, Advised: advised, AsTold: move.AsTold, Heard: f.usable(t), Days: m.DaysBefore(i), Changed: f.changes(m.Between(i))})
		f.places = append(f.places, f.place)
		if move = (machine.Move{}); t.Moved != nil {
			move = *t.Moved
			f.place.Unidirectional = move.Unidirectional
			f.place = f.place.To(f.place.Setting + move.Steps)
		}
	}
	if len(m.Takes) > 0 {
		f.takes = append(f.takes, plan.Take{Setting: f.place.Setting, Days: m.DaysSince(now), Changed: f.changes(m.Since(now))})
	}
	f.place.Unidirectional = m.Build.Unidirectional
	if f.machine, err = plan.Fit(f.known, f.takes); err != nil {
		return f, i18n.Errorf("the takes cannot be brought together: %w", err)
	}
	f.step = f.machine.Step()
	f.asEntered = f.machine.UnreportedSteps() == 0
	f.place.Setting += f.machine.UnreportedSteps()
	for i := range f.places {
		stood := f.machine.Stood(i)
		f.asEntered = f.asEntered && stood == f.places[i].Setting
		f.places[i].Setting = stood
	}
	return f, nil
}

// changes puts entries of the machine's log in the plan's terms.
func (f *fitted) changes(work []machine.LogEntry) (all []plan.Change) {
	for _, w := range work {
		if w.Part == machine.Other {
			continue
		}
		for _, name := range f.named(w.Voices) {
			all = append(all, plan.Change{Voice: f.voice(name), Pins: w.Part == machine.Pins})
		}
	}
	return all
}

// usable sums up the voices of a take that can be used.
func (f *fitted) usable(t machine.Take) (all []plan.Observation) {
	if t.LeftOut {
		return nil
	}
	all = make([]plan.Observation, 0, len(t.Heard))
	for i := range t.Heard {
		h := &t.Heard[i]
		n := f.voice(h.Voice)
		if _, unfit := unfitFor(&h.Reading); unfit || n < 0 {
			continue
		}
		if one, ok := plan.Hear(n, &h.Reading); ok {
			all = append(all, one)
		}
	}
	return all
}
