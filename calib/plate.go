package calib

// Plate is the index plate between crank and programme. Its zero value is a
// plate whose step size is not known yet and must be learnt from takes.
type Plate struct {
	NotchesPerTurn int     `json:"notches_per_turn"` // notches round the plate; 0 = unknown
	TurnsPerBeat   float64 `json:"turns_per_beat"`   // turns of the plate in one beat of the programme; 0 = unknown
}

// StepBeats returns f of the law, the beats by which one step turns the
// programme ahead: one notch is 1/NotchesPerTurn of a turn, and a turn is
// 1/TurnsPerBeat beats. It returns 0 when the plate is not known.
func (p Plate) StepBeats() float64 {
	if p.NotchesPerTurn <= 0 || !(p.TurnsPerBeat > 0) {
		return 0
	}
	return 1 / (float64(p.NotchesPerTurn) * p.TurnsPerBeat)
}

// PeriodMS returns the beat period in ms at a tempo in BPM.
func PeriodMS(tempoBPM float64) float64 { return 60000 / tempoBPM }

// TempoBPM returns the tempo in BPM at a beat period in ms.
func TempoBPM(periodMS float64) float64 { return 60000 / periodMS }
