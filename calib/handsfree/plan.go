package handsfree

import "lagwright/calib"

// Plan is what a take is to be. Zero values mean the usual.
type Plan struct {
	TargetBPM          float64 // 0 = any steady tempo will do
	ToBPM              float64 // above TargetBPM: a sweep, which goes slowly from there to here; 0 = a steady take
	PerBeat            int     // reference hits in a beat; 0 means 1
	Reference, Voice   int     // channels, from 1; 0 means 1 and 2
	LimitMS            float64 // the lag within which the voice is tight: [calib.Advice].LimitMS; 0 means calib.DefaultToleranceMS
	LeastHits          int     // that count before the take may end; 0 means 8
	LongestS, PatientS float64 // a take of LongestS ends, and one that nobody plays for PatientS; 0 means 120 s, LongestSweepS for a sweep, and 300 s
}

// leastHits is how many strikes make a good take (common practice, no published
// source).
const leastHits = 8

// LongestSweepS is how long a sweep lasts at most: a voice that strikes every fourth beat
// covers a threefold range of tempos in about three minutes.
const LongestSweepS = 240

func (p Plan) filled() Plan {
	set(&p.PerBeat, 1)
	set(&p.Reference, 1)
	set(&p.Voice, 2)
	set(&p.LimitMS, calib.DefaultToleranceMS)
	set(&p.LeastHits, leastHits)
	if p.sweeps() {
		set(&p.LongestS, LongestSweepS)
	}
	set(&p.LongestS, 120)
	set(&p.PatientS, 300)
	return p
}

// set gives a value that is not above zero the usual one.
func set[T int | float64](v *T, usual T) {
	if !(*v > 0) {
		*v = usual
	}
}

// needMS is the half-width of the 95 % interval that is enough: at half the limit
// the loop can tell tight from not tight wherever the lag lies.
func (p Plan) needMS() float64 { return p.LimitMS / 2 }
