package loop

import (
	"cmp"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// Finding is a mistake that the takes show. Nothing is changed for it until the
// builder agrees.
type Finding struct {
	Kind   plan.Kind // plan.Fine: see View.Answered
	Take   int       // id of the take it begins with; 0 where it concerns all
	Voice  string    // empty where it concerns all
	Chance float64   // from 0 to 1
	Odds   string    // the same in words
	Words  string    // what is seen
	Do     string    // what to do
	Yes    string    // what to say to agree; empty where there is nothing to change in the machine
	No     string    // what to say where it did not happen; empty where nothing but the takes can tell
	As     string    // the voice that Voice's channel heard; empty where it stays Voice's, or goes with the take
	Swap   bool      // two microphones were on each other's channel: that of Voice, and that of As or of the reference

	agree, deny func(*machine.Machine) // what Yes and No change; nil = nothing, or what only bench.Agree can
}

// findings returns what the takes show, the likeliest first, after what keeps a take from
// being counted at all.
func (v *View) findings() (all []Finding) {
	for _, results := range v.Results {
		if f, found := crossed(results); found {
			all = append(all, f)
		}
	}
	found := v.fit.machine.Findings()
	if doubt := v.fit.machine.Doubt(); doubt != nil {
		found = append(found, *doubt)
	}
	for _, f := range found {
		one := Finding{Kind: f.Kind, Chance: f.Chance, Odds: oddsWords(f.Chance), Words: f.Words, Do: f.Do}
		if f.Take >= 0 {
			one.Take = v.Machine.Takes[f.Take].ID
		}
		if f.Voice >= 0 {
			one.Voice = v.fit.voices[f.Voice]
		}
		if f.Kind == plan.Bad {
			r, _ := v.Result(one.Take, cmp.Or(one.Voice, v.fit.voices[v.fit.takes[f.Take].Heard[0].Voice]))
			one.Do = r.farWords() + one.Do
		}
		if f.Kind == plan.WrongVoice {
			one.As = v.fit.voices[f.Of]
			one.Swap = slices.ContainsFunc(found, func(g plan.Finding) bool {
				return g.Kind == f.Kind && g.Take == f.Take && g.Voice == f.Of && g.Of == f.Voice
			})
		}
		switch {
		case one.Swap && f.Of < f.Voice:
			continue // the other one's finding says it of both
		case one.Swap:
			one.Do = i18n.L("Stop the crank, wait for rest, then check which microphone is which.")
			one.Words = i18n.F("In take %d the %s and the %s have each other's lag.", one.Take, one.Voice, one.As)
		case one.As != "" && v.Machine.Takes[f.Take].Of(one.As) != nil:
			one.As = "" // that is another channel's
		}
		v.offer(&one, f)
		all = append(all, one)
	}
	slices.SortStableFunc(all, func(a, b Finding) int { return cmp.Compare(b.Chance, a.Chance) })
	return all[:min(len(all), mostFindings)]
}

// crossed returns the finding that a take's reference is on a voice's channel: on that of them which
// strikes most often, by its sound or because a sweep tells that the voice strikes before its release.
func crossed(results []Result) (f Finding, found bool) {
	most := -1
	for _, r := range results {
		var u unfit
		bySound := u.warned(&r.Reading, calib.WarnSwapped)
		before := !bySound && r.Reading.Law.Impossible() && r.Reading.Law.DelayMS < 0 && u.warned(&r.Reading, calib.WarnRival)
		if !bySound && !before || r.Take.LeftOut || len(r.Reading.VoiceHitsS) <= most {
			continue
		}
		most = len(r.Reading.VoiceHitsS)
		f = Finding{Kind: plan.Crossed, Take: r.Take.ID, Voice: r.Voice, Chance: 1, Odds: i18n.L("by its delay"), Words: u.because, Do: i18n.L("Stop the crank, wait for rest, then check which microphone is which."), Yes: swappedWords(), Swap: true}
		if bySound {
			f.Odds, f.No, f.deny = i18n.L("by its sound"), i18n.L("The microphones are right"), func(m *machine.Machine) {
				t := m.Take(r.Take.ID)
				for i := range t.Heard {
					t.Heard[i].Trust(calib.WarnSwapped)
				}
			}
		}
	}
	return f, most >= 0
}

func swappedWords() string { return i18n.L("The microphones were swapped") }

// mostFindings are as many as anybody goes through at once.
const mostFindings = 20

// offer says what the builder can agree to.
func (v *View) offer(one *Finding, f plan.Finding) {
	switch one.Kind {
	case plan.Miscounted, plan.NotMoved, plan.NotTold, plan.WrongWay, plan.Flipped:
		told := slices.DeleteFunc(slices.Clone(v.Machine.Takes), func(t machine.Take) bool { return t.Moved == nil }) // the takes after which the moves in question were made
		if f.Take >= 0 {
			told = v.between(f.Take)
		}
		moves := corrected(told, f)
		if one.Yes = movesWords(moves); f.Kind == plan.Flipped && len(moves) > 1 {
			one.Yes = i18n.L("Every move so far went the other way")
		}
		one.No, one.deny = i18n.L("No, that did not happen"), func(m *machine.Machine) {
			for _, at := range told {
				t := m.Take(at.ID)
				if t.Moved == nil {
					t.Moved = &machine.Move{For: t.Target}
				}
				t.Moved.AsTold = true // as it is entered now
			}
		}
		one.agree = func(m *machine.Machine) {
			for id, move := range moves {
				m.Take(id).Moved = &move
			}
			one.deny(m)
		}
	case plan.WrongVoice, plan.Crossed, plan.Bad:
		if f.Kind == plan.Bad && f.Chance < worthLeaving && f.Take == len(v.Machine.Takes)-1 {
			return // another take at the same place tells first
		}
		t := func(m *machine.Machine) *machine.Take { return m.Take(one.Take) }
		switch one.Swap = one.Swap || f.Kind == plan.Crossed; {
		case f.Kind == plan.Crossed:
			one.Yes = swappedWords()
		case one.Swap:
			one.Yes, one.agree = swappedWords(), func(m *machine.Machine) {
				a, b := t(m).Of(one.Voice), t(m).Of(one.As)
				a.Voice, b.Voice = one.As, one.Voice
			}
		case one.As != "":
			one.Yes, one.agree = i18n.F("It was the %s", one.As), func(m *machine.Machine) {
				voices := t(m).Voices()
				voices[slices.Index(voices, one.Voice)] = one.As
				t(m).Assign(voices)
			}
		default:
			one.Yes, one.agree = i18n.F("Leave take %d out", one.Take), func(m *machine.Machine) { t(m).LeftOut = true }
		}
	case plan.Backlash:
		if !v.Machine.Build.Unidirectional {
			one.Yes, one.agree = i18n.L("Remind me: end every move ahead"), func(m *machine.Machine) { m.Build.Unidirectional = true }
		}
	}
}

// worthLeaving is how likely the last take has to be a bad one for it to be left out before
// another is played: two to one.
const worthLeaving = 2.0 / 3

// answered lists the moves that the builder has said went as entered. To agree with one is to
// take that back, so that it is asked about again.
func (v *View) answered() (all []Finding) {
	for _, t := range v.Machine.Takes {
		if move := t.Moved; move != nil && move.AsTold && (move.Steps != 0 || move.First == nil) {
			all = append(all, Finding{Take: t.ID, Words: i18n.F("The move after take %d, %s, went as entered: so you said.", t.ID, calib.SettingWords(move.Steps)), Yes: i18n.L("Ask about it again"), agree: func(m *machine.Machine) {
				if m.Take(t.ID).Moved.AsTold = false; move.Steps == 0 {
					m.Take(t.ID).Moved = nil
				}
			}})
		}
	}
	return all
}

// between returns the takes from the last that counts before one: those after which the
// move in question was made.
func (v *View) between(take int) []machine.Take {
	last := take - 1
	for len(v.fit.takes[last].Heard) == 0 {
		last--
	}
	return v.Machine.Takes[last:take]
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
		move.Steps = steps
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
		if move.Steps != 0 {
			return i18n.Way(move.Steps, "It was turned %d ahead", "It was turned %d back")
		}
	}
	return i18n.L("The plate was not turned")
}

// Agree changes the machine as the builder agrees with the finding: moves are corrected, and
// believed from then on, or a take is left out or counts for another voice. A take that had its
// reference on a voice's channel has to be read anew, as bench.Agree does.
func (f Finding) Agree(m *machine.Machine) error { return f.answer(f.agree, m) }

// Deny keeps that what a finding supposes did not happen: then takes have to show it far more
// clearly for it to be supposed.
func (f Finding) Deny(m *machine.Machine) error { return f.answer(f.deny, m) }

// answer makes a change; where there is nothing to change it says so.
func (f Finding) answer(change func(*machine.Machine), m *machine.Machine) error {
	if change == nil {
		return i18n.Errorf("there is nothing to change in the machine for it: %s", f.Do)
	}
	change(m)
	return nil
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
		return i18n.L("little better than an even chance")
	}
	return i18n.L("the takes cannot tell yet")
}
