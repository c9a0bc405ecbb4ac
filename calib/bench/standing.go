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
	Last    *session.Take // the last take at this target; nil before it
	Law     *calib.Law    // the voice's law; nil while it cannot be told
}

// Standing returns where the loop stands.
func (b *Bench) Standing() Standing { return Stand(b.Session()) }

// Stand returns where the loop of a session stands.
func Stand(s session.Session) Standing {
	at := Standing{Target: s.Target, Setting: s.Setting()}
	if law, err := calib.Fit(s.Points(s.Target.Voice), calib.PlatePrior(s.Machine.Plate)); err == nil {
		at.Law = &law
	}
	var last *session.Take
	if n := len(s.Takes); n > 0 {
		last = &s.Takes[n-1]
	}
	switch {
	case last == nil:
		at.first()
	case last.Target != s.Target:
		at.elsewhere(s, last.Moved != nil)
	default:
		at.Last = last
		at.after(*last)
	}
	return at
}

func (at *Standing) first() {
	at.Do = "Play a take"
	at.Why = fmt.Sprintf("At %.4g BPM, the %s striking eight times or more. Where the plate stands now counts as setting 0.", at.Target.TempoBPM, at.Target.Voice)
}

// after follows the advice of the last take at this target.
func (at *Standing) after(last session.Take) {
	a := last.Advice
	at.Do, at.Why = a.Do, a.Why
	switch {
	case last.Moved != nil && at.Setting == a.At && a.Outcome == calib.Converged:
		at.Stage = Tight // turned away for another tempo and back, or left alone
	case last.Moved != nil:
		at.Do = "Play the next take"
		at.Why = fmt.Sprintf("The plate stands at %s now. At %.4g BPM again, to see whether it is tight.", calib.SettingWords(at.Setting), at.Target.TempoBPM)
	case a.Outcome == calib.Converged:
		at.Stage = Tight
	case a.Outcome.Moves():
		at.Stage, at.Steps = AwaitMove, a.Steps
	}
}

// elsewhere is the loop at a target without a take of its own since it was
// chosen: what is settled or what the law says comes first, then a take.
func (at *Standing) elsewhere(s session.Session, moved bool) {
	at.Do = "Play a take"
	at.Why = fmt.Sprintf("At %.4g BPM, with the plate at %s.", at.Target.TempoBPM, calib.SettingWords(at.Setting))
	want, why, ok := wanted(s, at)
	switch {
	case !ok:
	case want != at.Setting && !moved:
		at.Stage, at.Steps = AwaitMove, want-at.Setting
		at.Do = calib.TurnWords(at.Steps)
		at.Why = why
	case moved || want == at.Setting:
		at.Why = fmt.Sprintf("%s The plate stands at %s: play a take at %.4g BPM to see whether it is tight.", why, calib.SettingWords(at.Setting), at.Target.TempoBPM)
	}
}

// wanted returns the setting that should be tight at the target before any take
// there: the settled one, else the law's.
func wanted(s session.Session, at *Standing) (setting int, why string, ok bool) {
	for _, one := range s.Settings() {
		if one.Target == s.Target {
			return one.Setting, fmt.Sprintf("%.4g BPM was tight at %s.", s.Target.TempoBPM, calib.SettingWords(one.Setting)), true
		}
	}
	if at.Law == nil || !(at.Law.StepBeats > 0) {
		return 0, "", false
	}
	exact := at.Law.Setting(calib.PeriodMS(s.Target.TempoBPM))
	setting = int(math.Round(exact))
	return setting, fmt.Sprintf("The law puts the %s together at %s for %.4g BPM.", s.Target.Voice, calib.SettingWords(setting), s.Target.TempoBPM), true
}
