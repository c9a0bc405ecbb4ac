package bench

import (
	"fmt"
	"math"

	"lagwright/calib"
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

// Standing is where the loop stands.
type Standing struct {
	Stage   Stage
	Target  session.Target
	Setting int           // where the plate stands, steps
	Steps   int           // what to turn while Stage is AwaitMove; positive = ahead
	Do      string        // what to do now, in a few words
	Why     string        // why, in a sentence or two
	Last    *session.Take // the take that Do and Why speak of; nil where they speak of none
}

// Standing returns where the loop stands.
func (b *Bench) Standing() Standing { return Stand(b.Session()) }

// Stand returns where the loop of a session stands.
func Stand(s session.Session) Standing {
	at := Standing{Target: s.Target, Setting: s.Setting()}
	if len(s.Takes) == 0 {
		at.Do = "Play a take"
		at.Why = fmt.Sprintf("At %.4g BPM, the %s striking eight times or more. Where the plate stands now counts as setting 0.", s.Target.TempoBPM, s.Target.Voice)
		return at
	}
	last := s.Takes[len(s.Takes)-1]
	as, heard := last.As(s.Target.Voice) // the loop may aim at any voice of the last take
	switch placed := last.Moved != nil && last.Moved.For == s.Target; {
	case heard && as.Target == s.Target && last.Moved == nil && !last.LeftOut:
		at.after(as)
	case placed:
		at.placed(s)
	default:
		at.elsewhere(s)
	}
	return at
}

// after follows the advice of a take that was just read at this target.
func (at *Standing) after(last session.Take) {
	at.Last = &last
	at.Do, at.Why = last.Advice.Do, last.Advice.Why
	switch o := last.Advice.Outcome; {
	case o == calib.Converged:
		at.Stage = Tight
	case o.Moves():
		at.Stage, at.Steps = AwaitMove, last.Advice.Steps
	}
}

// placed is the loop after the builder has put the plate where it is, for this
// target: only a take can say more, unless this very setting is settled.
func (at *Standing) placed(s session.Session) {
	if at.settled(s) {
		return
	}
	at.Do = "Play the next take"
	at.Why = fmt.Sprintf("The plate stands at %s. Play at %.4g BPM to see whether the %s is tight.", calib.SettingWords(at.Setting), s.Target.TempoBPM, s.Target.Voice)
}

// elsewhere is the loop at a target that was chosen after the last take, or whose
// last take is left out: the plate goes first to where the target is settled,
// else to where the law says.
func (at *Standing) elsewhere(s session.Session) {
	if at.settled(s) {
		return
	}
	at.Do = "Play a take"
	at.Why = fmt.Sprintf("At %.4g BPM, with the plate at %s.", s.Target.TempoBPM, calib.SettingWords(at.Setting))
	want, why, ok := wanted(s)
	if !ok {
		return
	}
	at.Why = why + " " + at.Why
	if want != at.Setting {
		at.Stage, at.Steps = AwaitMove, want-at.Setting
		at.Do, at.Why = calib.TurnWords(at.Steps), why
	}
}

// settled stands at Tight where the plate is at the target's settled setting.
func (at *Standing) settled(s session.Session) bool {
	one, ok := settledAt(s)
	if !ok || one.Setting != at.Setting {
		return false
	}
	for _, t := range s.TakesOf(s.Target.Voice) {
		if t.ID == one.TakeID {
			at.Stage, at.Last, at.Do, at.Why = Tight, &t, t.Advice.Do, t.Advice.Why
		}
	}
	return at.Stage == Tight
}

func settledAt(s session.Session) (session.Settled, bool) {
	for _, one := range s.Settings() {
		if one.Target == s.Target {
			return one, true
		}
	}
	return session.Settled{}, false
}

// wanted returns the setting that should be tight at the target before any take
// there: the settled one, else the law's, where that is known to a step.
func wanted(s session.Session) (setting int, why string, ok bool) {
	target := s.Target
	if one, ok := settledAt(s); ok {
		return one.Setting, fmt.Sprintf("%.4g BPM was tight at %s.", target.TempoBPM, calib.SettingWords(one.Setting)), true
	}
	ways, err := s.Explain(target.Voice)
	if err != nil || !ways[0].Law.StepKnown() {
		return 0, "", false
	}
	law, period := ways[0].Law, calib.PeriodMS(target.TempoBPM)
	setting = int(math.Round(law.Setting(period)))
	_, sd := law.Lag(period, float64(setting))
	why = fmt.Sprintf("The law puts the %s together at %s for %.4g BPM, give or take %.1f ms.",
		target.Voice, calib.SettingWords(setting), target.TempoBPM, 1.96*sd)
	return setting, why, true
}
