package bench

import (
	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// state is the loop as a session has it before the next reading of a voice, with
// the plate said to stand at a setting.
func state(s session.Session, prior calib.Prior, voice string, setting int) calib.State {
	return calib.State{
		TargetBPM:   s.Target.TempoBPM,
		ToleranceMS: s.ToleranceMS,
		Prior:       prior,
		Setting:     setting,
		Points:      s.Points(voice),
	}
}

// advise gives the advice on take i again, from the takes before it and with the
// plate where it was said to stand.
func advise(s *session.Session, i int) {
	before := *s
	before.Target, before.Takes = s.Takes[i].Target, s.Takes[:i]
	adviseVoices(before, &s.Takes[i])
}

// adviseVoices gives the advice on each voice of a take, from the session before
// it. All voices hang on one plate: where it stands is told by the first of them
// that can be read and has been heard before; nothing is built on one that
// contradicts it.
func adviseVoices(before session.Session, t *session.Take) {
	at, prior := t.Setting, before.Priors()
	var by string
	var told calib.Advice // by that voice
	for _, voice := range t.Voices() {
		as, _ := t.As(voice)
		if then := state(before, prior(voice), voice, t.Setting); len(then.Points) > 0 {
			if a := calib.Next(then, as.Reading); usable(a, as.Reading) {
				by, told, at = voice, a, a.At
				break
			}
		}
	}
	then := func(voice string, r calib.Reading) calib.Advice {
		if voice == by {
			return told
		}
		a := calib.Next(state(before, prior(voice), voice, at), r)
		if a.At != at {
			a = contradicts(a, at, voice, by)
		}
		return a
	}
	t.Advice = then(t.Target.Voice, t.Reading)
	for i := range t.OtherVoices {
		o := &t.OtherVoices[i]
		o.Advice = then(o.Voice, o.Reading)
	}
}

func usable(a calib.Advice, r calib.Reading) bool {
	_, ok := a.Point(r)
	return ok
}

// contradicts is the advice on a voice that has the plate elsewhere than another
// voice of the same take has it.
func contradicts(a calib.Advice, at int, voice, by string) calib.Advice {
	c := calib.Advice{Outcome: calib.Doubtful, At: at, LagMS: a.LagMS, Half: a.Half, StepMS: a.StepMS, LimitMS: a.LimitMS, Rest: a.LagMS}
	c.Tell(i18n.Say("Look at the hits, or take it again"),
		i18n.Say("The %s seems %s, which does not fit a plate that stands where the %s shows it, so nothing is built on it. See whether its drop or its microphone has moved.",
			voice, calib.TellLag(a.LagMS), by))
	return c
}
