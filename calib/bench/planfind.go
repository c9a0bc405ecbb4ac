package bench

import (
	"cmp"
	"context"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// Finding is a mistake that the takes show. Nothing is changed for it until the
// builder agrees.
type Finding struct {
	Kind   string  // such as "miscounted"; see plan.Kind
	Take   int     // number of the take it begins with; 0 where it concerns all
	Voice  string  // empty where it concerns all
	Chance float64 // from 0 to 1
	Odds   string  // the same in words
	Words  string  // what is seen
	Do     string  // what to do
	Reach  bool    // to do it, somebody reaches into the machine
	Agree  string  // what to say to agree, for which Bench.Agree changes the session; empty where there is nothing to change
	Plate  bool    // it is the plate's numbers that want another look

	told map[int]session.Move // how moves are told once the builder agrees, by the take before them
}

// findingsOf returns what the takes show, the likeliest first.
func findingsOf(s session.Session, machine plan.Machine, takes []plan.Take) []Finding {
	var all []Finding
	for _, f := range machine.Findings() {
		one := Finding{Kind: string(f.Kind), Chance: f.Chance, Odds: oddsWords(f.Chance), Words: f.Words, Do: f.Do, Plate: f.Kind == plan.PlateWrong}
		one.Reach = f.Kind == plan.FallOther || f.Kind == plan.PinOther || f.Kind == plan.NotMoved
		if f.Take >= 0 {
			one.Take = takes[f.Take].ID
		}
		if f.Voice >= 0 {
			one.Voice = s.Machine.Voices[f.Voice]
		}
		one.offer(s, f, takes)
		all = append(all, one)
	}
	slices.SortStableFunc(all, func(a, b Finding) int { return cmp.Compare(b.Chance, a.Chance) })
	return all
}

// offer says what the builder can agree to.
func (f *Finding) offer(s session.Session, found plan.Finding, takes []plan.Take) {
	switch found.Kind {
	case plan.Miscounted, plan.NotMoved, plan.WrongWay:
		f.told = retold(s, found, takes)
		f.Agree = itWas(f.told)
	case plan.Flipped:
		f.told = retold(s, found, nil)
		f.Agree = i18n.L("Every move so far went the other way")
	case plan.Bad:
		f.Agree = i18n.F("Leave take %d out", f.Take)
	case plan.Backlash:
		if !s.Machine.FromBehind {
			f.Agree = i18n.L("Remind me: end every move ahead")
		}
	}
}

// retold returns how the moves would be told that a finding concerns: those since
// the take before, or all. Of several, a miscount is taken to be in the last.
func retold(s session.Session, found plan.Finding, takes []plan.Take) map[int]session.Move {
	told := map[int]session.Move{}
	var last int
	for _, t := range between(s, found, takes) {
		if t.Moved == nil || t.Moved.Steps == 0 {
			continue
		}
		move := *t.Moved
		switch found.Kind {
		case plan.NotMoved:
			move.Steps = 0
		case plan.WrongWay, plan.Flipped:
			move.Steps = -move.Steps
		}
		told[t.ID], last = move, t.ID
	}
	if move, ok := told[last]; ok && found.Kind == plan.Miscounted {
		move.Steps += found.Steps
		told[last] = move
	}
	for _, t := range s.Takes {
		if move, ok := told[t.ID]; ok {
			move.FirstTold(t.Moved.Steps)
			told[t.ID] = move
		}
	}
	return told
}

// between returns the takes from the one before a finding's up to its own, or all
// where it concerns all.
func between(s session.Session, found plan.Finding, takes []plan.Take) []session.Take {
	if found.Take < 1 {
		return s.Takes
	}
	at := func(id int) int {
		return slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id })
	}
	return s.Takes[at(takes[found.Take-1].ID):at(takes[found.Take].ID)]
}

// itWas says how moves went.
func itWas(told map[int]session.Move) string {
	if len(told) == 0 {
		return ""
	}
	if len(told) > 1 {
		return i18n.L("So it was")
	}
	var steps int
	for _, move := range told {
		steps = move.Steps
	}
	switch {
	case steps > 0:
		return i18n.F("It was %d ahead", steps)
	case steps < 0:
		return i18n.F("It was %d back", -steps)
	}
	return i18n.L("It was no move")
}

// Agree changes the session as the builder agrees with a finding, which Undo takes
// back in one. Moves that were told otherwise are told anew and a bad take is left
// out; the takes after keep their recordings and get settings and advice anew.
// Where there is nothing to change it says so.
func (b *Bench) Agree(ctx context.Context, f Finding) error {
	switch {
	case len(f.told) > 0:
		return b.changed(ctx, tellMoves(f.told))
	case f.Kind == string(plan.Bad):
		return b.changed(ctx, leaveOut(f.Take, true))
	case f.Kind == string(plan.Backlash):
		s := b.Session()
		s.Machine.FromBehind = true
		return b.EditMachine(ctx, s.Machine, s.ToleranceMS, s.Machine.Voices)
	}
	return i18n.Errorf("there is nothing to change in the session for it: %s", f.Do)
}

// Says reports whether the loop already says what a finding does: that a move went
// otherwise than told before the take it speaks of, or that the plate's numbers do
// not fit.
func (at Standing) Says(f Finding) bool {
	if at.Last == nil {
		return false
	}
	switch plan.Kind(f.Kind) {
	case plan.NotMoved, plan.WrongWay, plan.Miscounted:
		return f.Take == at.Last.ID && at.Last.Advice.At != at.Last.Setting
	case plan.PlateWrong:
		return at.Doubts()
	}
	return false
}

// Doubts reports whether the loop, which sees one voice and one move at a time,
// doubts the plate's numbers. All takes together may show something else.
func (at Standing) Doubts() bool { return at.Last != nil && at.Last.Advice.DoubtsPlate() }

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
	}
	return i18n.L("little better than even")
}

// openWords says what the takes cannot tell apart yet, and whether the next take
// tells it or which other would. It is empty where nothing is open of what was
// heard.
func openWords(s session.Session, open []plan.Open, next NextTake) string {
	for _, o := range open {
		if o.Voice < 0 {
			if next.Move != 0 {
				return i18n.L("It also tells what a step is worth, which the takes so far do not.")
			}
			return i18n.F("The takes so far do not tell what a step is worth: one at another setting would, such as %s.", calib.SettingWords(o.Setting))
		}
		voice := s.Machine.Voices[o.Voice]
		switch {
		case !farFrom(s, voice, o.TempoBPM): // it was not heard yet, or the set list goes no further
		case next.Target.Voice == voice && farFrom(s, voice, next.Target.TempoBPM):
			return i18n.F("It also tells the delay of the %s from the offset of its pins, which the takes so far do not.", voice)
		default:
			return i18n.F("The takes so far do not tell the delay of the %s from the offset of its pins: one at %.4g BPM would.", voice, o.TempoBPM)
		}
	}
	return ""
}

// otherTempo is by which share a tempo has to differ to tell a delay from an offset.
const otherTempo = 0.1

// farFrom reports whether a voice was heard, but never near a tempo in BPM.
func farFrom(s session.Session, voice string, tempoBPM float64) bool {
	heard := false
	for _, t := range s.TakesOf(voice) {
		if _, ok := t.Point(); ok {
			heard = true
			if by := tempoBPM/t.Target.TempoBPM - 1; by*by < otherTempo*otherTempo {
				return false
			}
		}
	}
	return heard
}
