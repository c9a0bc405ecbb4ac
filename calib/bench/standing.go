package bench

import (
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
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
		at.Do = i18n.L("Play a take")
		at.Why = i18n.F("At %.4g BPM, the %s striking eight times or more. Where the plate stands now counts as setting 0.", s.Target.TempoBPM, s.Target.Voice)
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
	at.Do, at.Why = last.Advice.DoWords(), last.Advice.WhyWords()
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
	at.Do = i18n.L("Play the next take")
	at.Why = i18n.F("The plate stands at %s. Play at %.4g BPM to see whether the %s is tight.", calib.SettingWords(at.Setting), s.Target.TempoBPM, s.Target.Voice)
}

// elsewhere is the loop at a target that was chosen after the last take, or whose
// last take is left out: the plate goes first to where the target is settled,
// else to where the law says.
func (at *Standing) elsewhere(s session.Session) {
	if at.settled(s) {
		return
	}
	at.Do = i18n.L("Play a take")
	at.Why = i18n.F("At %.4g BPM, with the plate at %s.", s.Target.TempoBPM, calib.SettingWords(at.Setting))
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
			at.Stage, at.Last, at.Do, at.Why = Tight, &t, t.Advice.DoWords(), t.Advice.WhyWords()
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
// there: the settled one, else the plan's, where that is known to a step.
func wanted(s session.Session) (setting int, why string, ok bool) {
	target := s.Target
	if one, ok := settledAt(s); ok {
		return one.Setting, i18n.F("%.4g BPM was tight at %s.", target.TempoBPM, calib.SettingWords(one.Setting)), true
	}
	song, next, ok := planFor(s)
	if !ok {
		return 0, "", false
	}
	setting, why = song.Setting, song.placeWords(target)
	if next != nil && s.Setting()+next.Move != setting {
		return s.Setting() + next.Move, next.Why, true
	}
	return setting, why, true
}

// planFor returns what all takes together tell of the target: as the song of the
// set list that it names, else as a song of its own. next is the plan's next take
// where that is the one aimed at. It is not ok while the step is not known to count
// by, or no take has heard the voice and the plan does not ask for it.
func planFor(s session.Session) (song Planned, next *NextTake, ok bool) {
	named := slices.IndexFunc(s.Songs, func(one session.Song) bool {
		uses := len(one.Voices) == 0 || slices.Contains(one.Voices, s.Target.Voice)
		return uses && one.Name == s.Target.Song && one.TempoBPM == s.Target.TempoBPM
	})
	inList := named >= 0
	if !inList {
		named = 0
		s.Songs = []session.Song{{Name: s.Target.Song, TempoBPM: s.Target.TempoBPM, Voices: []string{s.Target.Voice}}}
	}
	p, err := PlanOf(s)
	if err != nil {
		return Planned{}, nil, false
	}
	if inList && p.Next != nil && p.Next.Target == s.Target {
		next = p.Next
	}
	return p.Songs[named], next, p.StepKnown && (next != nil || heardVoice(s))
}

// heardVoice reports whether a take that counts has heard the target's voice.
func heardVoice(s session.Session) bool { return len(s.Points(s.Target.Voice)) > 0 }

// placeWords says where the plate goes for a target and what that leaves of its voice.
func (p Planned) placeWords(target session.Target) string {
	for _, r := range p.Parts {
		if r.Voice == target.Voice && len(p.Parts) == 1 {
			return i18n.F("The law puts the %s together at %s for %.4g BPM, give or take %.1f ms.",
				r.Voice, calib.SettingWords(p.Setting), target.TempoBPM, r.HalfMS)
		}
		if r.Voice == target.Voice && !r.Unheard {
			return i18n.F("The law puts %s at %s, which leaves the %s %s, give or take %.1f ms.",
				p.Song.Name, calib.SettingWords(p.Setting), r.Voice, calib.LateEarly(r.LagMS), r.HalfMS)
		}
	}
	return i18n.F("The law puts %s at %s.", p.Song.Name, calib.SettingWords(p.Setting))
}
