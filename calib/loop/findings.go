package loop

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// Finding is a mistake that the takes show. Nothing is changed for it until the
// builder agrees.
type Finding struct {
	Kind   plan.Kind
	Take   int     // id of the take it begins with; 0 where it concerns all
	Voice  string  // empty where it concerns all
	Chance float64 // from 0 to 1
	Odds   string  // the same in words
	Words  string  // what is seen
	Do     string  // what to do
	Yes    string  // what to say to agree; empty where there is nothing to change in the machine
	As     string  // the voice that the take is of, once it is agreed to; empty where it stays Voice's

	moves map[int]machine.Move // as told once the builder agrees, by the id of the take before
}

// findings returns what the takes show, the likeliest first.
func (v *View) findings() []Finding {
	var all []Finding
	for _, f := range v.fit.machine.Findings() {
		one := Finding{Kind: f.Kind, Chance: f.Chance, Odds: oddsWords(f.Chance), Words: f.Words, Do: f.Do}
		if f.Take >= 0 {
			one.Take = v.Machine.Takes[f.Take].ID
		}
		if f.Voice >= 0 {
			one.Voice = v.fit.voices[f.Voice]
		}
		if r, ok := v.Result(one.Take, one.Voice); ok && f.Kind == plan.Bad {
			one.Do = r.farWords() + one.Do
		}
		v.offer(&one, f)
		all = append(all, one)
	}
	slices.SortStableFunc(all, func(a, b Finding) int { return cmp.Compare(b.Chance, a.Chance) })
	return all[:min(len(all), mostFindings)]
}

// mostFindings are as many as anybody goes through at once.
const mostFindings = 20

// offer says what the builder can agree to.
func (v *View) offer(one *Finding, f plan.Finding) {
	switch f.Kind {
	case plan.Miscounted, plan.NotMoved, plan.NotTold, plan.WrongWay:
		one.moves = corrected(v.between(f.Take), f)
		one.Yes = movesWords(one.moves)
	case plan.Flipped:
		one.moves = corrected(v.Machine.Takes, f)
		one.Yes = i18n.L("Every move so far went the other way")
	case plan.WrongVoice:
		if one.As = v.fits(f.Take, f.Voice); one.As != "" {
			one.Yes = i18n.F("It was the %s", one.As)
			return
		}
		fallthrough
	case plan.Bad, plan.Crossed:
		one.Yes = i18n.F("Leave take %d out", one.Take)
	case plan.Backlash:
		if !v.Machine.Build.Unidirectional {
			one.Yes = i18n.L("Remind me: end every move ahead")
		}
	}
}

// fits returns the other voice whose law comes nearest to what a take of the machine
// reads of one; empty where the take has heard that one too.
func (v *View) fits(take, of int) (voice string) {
	t := &v.Machine.Takes[take]
	reading, ok := plan.Hear(of, t.Of(v.fit.voices[of]).Reading)
	if !ok {
		return ""
	}
	nearest := math.Inf(1)
	for n, name := range v.fit.voices {
		lag := v.fit.machine.Lag(n, v.fit.places[take], reading.PeriodMS)
		if off := math.Abs(math.Remainder(lag-reading.LagMS, reading.PeriodMS)); n != of && off < nearest {
			nearest, voice = off, name
		}
	}
	if t.Of(voice) != nil {
		return ""
	}
	return voice
}

// between returns the takes from the last that counts before one: those after which the
// move in question was made.
func (v *View) between(take int) []machine.Take {
	return v.Machine.Takes[v.fit.heardBefore(take):take]
}

// corrected returns how the moves after some takes would be told. Of several, a
// miscount is taken to be in the last; where none was told, the move is after the last.
func corrected(takes []machine.Take, f plan.Finding) map[int]machine.Move {
	moves := map[int]machine.Move{}
	var last *machine.Take
	correct := func(t *machine.Take, steps int) {
		move := machine.Move{For: t.Target}
		if t.Moved != nil {
			move = *t.Moved
		}
		told := move.Steps
		move.Steps, move.Asked = steps, 0
		move.KeepFirst(told)
		moves[t.ID] = move
	}
	for i := range takes {
		t := &takes[i]
		if t.Moved == nil || t.Moved.Steps == 0 {
			continue
		}
		last = t
		switch f.Kind {
		case plan.NotMoved:
			correct(t, 0)
		case plan.WrongWay, plan.Flipped:
			correct(t, -t.Moved.Steps)
		}
	}
	switch {
	case f.Kind != plan.Miscounted && f.Kind != plan.NotTold:
	case last != nil:
		correct(last, last.Moved.Steps+f.Steps)
	default:
		correct(&takes[len(takes)-1], f.Steps)
	}
	return moves
}

// movesWords says how moves went.
func movesWords(moves map[int]machine.Move) string {
	if len(moves) > 1 {
		return i18n.L("Yes, that happened")
	}
	for _, move := range moves {
		switch steps := move.Steps; {
		case steps > 0:
			return i18n.F("It was turned %d ahead", steps)
		case steps < 0:
			return i18n.F("It was turned %d back", -steps)
		}
		return i18n.L("The plate was not turned")
	}
	return ""
}

// Agree changes the machine as the builder agrees with the finding: moves are
// corrected, or a take is left out or counts for another voice. Where there is nothing to
// change it says so.
func (f Finding) Agree(m *machine.Machine) error {
	switch {
	case len(f.moves) > 0:
		for i := range m.Takes {
			if move, ok := f.moves[m.Takes[i].ID]; ok {
				m.Takes[i].Moved = &move
				if i+1 < len(m.Takes) {
					m.Takes[i+1].Asked = 0 // it is said now what was done
				}
			}
		}
		return nil
	case f.As != "":
		t := m.Take(f.Take)
		voices := t.Voices()
		voices[slices.Index(voices, f.Voice)] = f.As
		t.Assign(voices)
		return nil
	case f.Kind == plan.Bad, f.Kind == plan.WrongVoice, f.Kind == plan.Crossed:
		m.Take(f.Take).LeftOut = true
		return nil
	case f.Kind == plan.Backlash && f.Yes != "":
		m.Build.Unidirectional = true
		return nil
	}
	return i18n.Errorf("there is nothing to change in the machine for it: %s", f.Do)
}

// mostOdds are the highest odds worth a number: how rare mistakes are is not known
// well enough for more.
const mostOdds = 100

// oddsWords says a chance as odds.
func oddsWords(chance float64) string {
	odds := chance / (1 - chance)
	switch {
	case !(odds < mostOdds): // a chance of 1 too
		return i18n.F("more than %d to 1", mostOdds)
	case odds >= 2:
		return i18n.F("about %.0f to 1", odds)
	case odds >= 1:
		return i18n.L("little better than even")
	}
	return i18n.L("no likelier than not, but nothing else is likelier")
}
