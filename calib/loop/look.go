package loop

import (
	"slices"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// Stage is what the loop waits for.
type Stage int

// The stages of the loop.
const (
	AwaitTake Stage = iota // play or open a take
	AwaitMove              // turn the plate by Steps, or say what was done
	Tight                  // voice and reference strike together at this tempo
)

// Number is a lag with whose it is.
type Number struct {
	Voice  string
	LagMS  float64 // positive = late
	HalfMS float64 // half the 95 % interval of LagMS
	Take   int     // id of the take that read it, brought to its target tempo; 0 = by all takes
}

// View is all there is to show of a session.
type View struct {
	Session session.Session // the facts

	Stage   Stage
	Setting int     // where the plate stands as far as the takes tell, steps from where it stood at the first one
	Steps   int     // what to turn while Stage is AwaitMove; positive = ahead
	Do      string  // what to do now, in a few words
	Why     string  // why, in a sentence or two
	Sweep   Tempos  // the tempos that the take which is asked for goes through; none = it keeps to the target's
	Reach   bool    // to do it, somebody reaches into the machine
	Last    *Result // the take that Do and Why follow; nil where they follow none
	Number  *Number // the lag that Why speaks of; nil where it speaks of none
	Song    *Song   // the song that the loop aims at; nil where there is no plan

	Results  [][]Result // by take and voice, as in the session
	Settings []Settled  // by voice, tempo and song
	Findings []Finding  // mistakes that the takes show, the likeliest first

	Songs     []Song    // as in the set list
	Next      *NextTake // nil where the set list needs no more takes, or is empty
	StepKnown bool      // well enough to count moves by it
	Check     *Check    // what the takes of another day tell of the settings before it; nil where they tell nothing
	CureOpen  string    // what takes should tell before the machine is changed, where Next is nil; else empty

	Err error // why the takes cannot be brought together; then the plan's part is empty

	fit   fitted
	since string // what happened since the last take, in words; empty where nothing did
}

// Look returns the view of a session on the day of its last take.
func Look(s session.Session) View { return LookAt(s, time.Time{}) }

// LookAt returns the view of a session at a time, by which the machine may have stood for
// days since its last take and crept.
func LookAt(s session.Session, now time.Time) View {
	v := look(s, now)
	if v.since = v.stood(now); v.since == "" {
		v.Check = v.check()
	}
	v.decide()
	if v.Check != nil {
		v.Why = v.Check.Words + " " + v.Why
	}
	return v
}

// look works out all but what to do.
func look(s session.Session, now time.Time) View {
	v := View{Session: s}
	v.fit, v.Err = fit(s, now)
	v.Setting = s.Setting() + v.fit.ahead
	v.StepKnown = v.Err == nil && calib.StepKnown(v.fit.machine.Step())
	for i := range s.Takes {
		v.Results = append(v.Results, v.results(i))
	}
	if v.Err == nil {
		v.Settings = v.settled()
		v.Findings = v.findings()
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
	return v.Last.Voice == r.Voice || v.Song != nil && slices.ContainsFunc(v.Song.Parts, func(p Rest) bool { return p.Voice == r.Voice })
}

// Result returns what a take says of a voice. It is not ok where the session has no
// such take, or the voice had no microphone in it.
func (v *View) Result(take int, voice string) (Result, bool) {
	for _, results := range v.Results {
		for _, r := range results {
			if r.Take.ID == take && r.Voice == voice {
				return r, true
			}
		}
	}
	return Result{}, false
}

// Lag returns a voice's lag in ms (positive = late) at a setting and a beat period
// in ms, with its standard deviation, by the law of all takes together in their
// likeliest reading. It is not ok for a voice that no take that counts has heard.
func (v *View) Lag(voice string, setting int, periodMS float64) (lagMS, sdMS float64, ok bool) {
	if !v.heard(voice) {
		return 0, 0, false
	}
	n, at := v.fit.voice(voice), v.fit.place.To(setting-v.fit.ahead)
	return v.fit.machine.Lag(n, at, periodMS), v.fit.machine.LagSD(n, at, periodMS), true
}

// fitted is what all takes of a session tell of its machine.
type fitted struct {
	machine plan.Machine
	voices  []string       // of the machine
	takes   []int          // index in the session of each take that the plan has
	aside   []map[int]bool // voices of each of these takes whose reading is set aside
	stood   []int          // by how many steps the plate stood further ahead than told at each of these takes
	places  []plan.Place   // where the plate stood at each of the session's takes, counted from where it is told to stand now
	place   plan.Place     // where the plate stands as it was told

	ahead int         // by how many steps it stands further ahead than told
	laws  []calib.Law // of each voice
	heard []bool      // whether a take that counts has heard it
}

func (f *fitted) voice(name string) int { return slices.Index(f.voices, name) }

// indexOf returns the index in the plan's takes of a session's take; -1 where the
// plan has not got it.
func (f *fitted) indexOf(take int) int { return slices.Index(f.takes, take) }

// fit hands what counts of a session to the plan, every move as it was told: which
// ones went otherwise is for the plan to find out.
func fit(s session.Session, now time.Time) (f fitted, err error) {
	f.voices = s.Machine.Voices
	known := plan.Knowledge{Voices: len(f.voices), Prior: calib.PlatePrior(s.Machine.Plate), ToleranceMS: s.ToleranceMS}
	var takes []plan.Take
	told, asked := 0, 0 // since the last take that has a say, steps
	days, changed := 0.0, []plan.Change(nil)
	for i, t := range s.Takes {
		days, changed = days+s.DaysBefore(i), append(changed, f.changes(s.Between(i))...)
		if t.Asked != 0 {
			asked = told + t.Asked
		}
		f.places = append(f.places, f.place)
		if heard := f.usable(t); len(heard) > 0 {
			takes = append(takes, plan.Take{ID: t.ID, Setting: f.place.Setting, Came: f.place.Came, Advised: asked, Heard: heard, Days: days, Changed: changed})
			f.takes = append(f.takes, i)
			told, asked, days, changed = 0, 0, 0, nil
		}
		if t.Moved != nil {
			if t.Moved.Asked != 0 {
				asked = told + t.Moved.Asked
			}
			told += t.Moved.Steps
			f.place.Unidirectional = t.Moved.Unidirectional
			f.place = f.place.To(f.place.Setting + t.Moved.Steps)
		}
	}
	if n := len(takes); n > 0 { // what happened since they were played
		days, changed = days+s.DaysSince(now), append(changed, f.changes(s.Since(now))...)
		takes = append(takes, plan.Take{Setting: f.place.Setting, Days: days, Changed: changed})
	}
	f.place.Unidirectional = s.Machine.Unidirectional
	if f.machine, err = plan.Fit(known, takes); err != nil {
		return f, i18n.Errorf("the takes cannot be brought together: %w", err)
	}
	for voice := range f.voices {
		f.laws = append(f.laws, f.machine.Law(voice))
		f.heard = append(f.heard, f.machine.Heard(voice))
	}
	for i, verdict := range f.machine.Verdicts() {
		aside := map[int]bool{}
		for j, h := range takes[i].Heard {
			aside[h.Voice] = verdict.Aside[j] != plan.Fine
		}
		f.aside = append(f.aside, aside)
		f.stood = append(f.stood, verdict.Setting-takes[i].Setting)
	}
	f.ahead = f.machine.Ahead()
	ahead, next := 0, 0 // takes that have no say stood as far from where they were told as the one before them
	for i := range f.places {
		if next < len(f.takes) && f.takes[next] == i {
			ahead, next = f.stood[next], next+1
		}
		f.places[i].Setting += ahead - f.ahead
	}
	return f, nil
}

// changes puts entries of the machine's log in the plan's terms.
func (f *fitted) changes(work []session.Work) (all []plan.Change) {
	for _, w := range work {
		if w.Part == session.Other {
			continue
		}
		if len(w.Voices) == 0 {
			all = append(all, plan.Change{Voice: -1, Pins: w.Part == session.Pins})
		}
		for _, name := range w.Voices {
			all = append(all, plan.Change{Voice: f.voice(name), Pins: w.Part == session.Pins})
		}
	}
	return all
}

// usable sums up the voices of a take that can be used.
func (f *fitted) usable(t session.Take) (all []plan.Heard) {
	if t.LeftOut {
		return nil
	}
	for _, h := range t.Heard {
		n := f.voice(h.Voice)
		if _, unfit := unfitFor(h.Reading); unfit || n < 0 {
			continue
		}
		if one, ok := plan.Hear(n, h.Reading); ok {
			all = append(all, one)
		}
	}
	return all
}
