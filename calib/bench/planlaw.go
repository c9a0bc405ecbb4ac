package bench

import (
	"lagwright/calib"
	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// planLaws are the laws behind a plan.
type planLaws struct {
	voices map[string]calib.Law
	ahead  int // settings as the loop counts them less settings as they were told
}

func lawsOf(s session.Session, machine plan.Machine, ahead int) planLaws {
	laws := planLaws{map[string]calib.Law{}, ahead}
	for v, voice := range s.Machine.Voices {
		laws.voices[voice] = machine.Law(v)
	}
	return laws
}

// Lag returns a voice's lag in ms (positive = late) at a setting and a beat period
// in ms, with its standard deviation, by the law of all takes together in their
// likeliest reading. It is not ok without a plan, or for a voice that the machine
// has not got.
func (p Plan) Lag(voice string, setting int, periodMS float64) (lagMS, sdMS float64, ok bool) {
	law, ok := p.laws.voices[voice]
	if !ok {
		return 0, 0, false
	}
	lagMS, sdMS = law.Lag(periodMS, float64(setting-p.laws.ahead))
	return lagMS, sdMS, true
}
