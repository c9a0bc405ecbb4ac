package lesson

import (
	"math"

	"lagwright/calib"
)

// The machine of the lessons: a drop, two tempos and a plate (invented).
const (
	dropMM  = 260
	slowBPM = 60
	fastBPM = 120
)

var plate = calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}

// machineLaw is its law: nothing but the fall, and pins in their own place.
func machineLaw() calib.Law {
	return calib.Law{DelayMS: calib.FallMS(dropMM), StepBeats: plate.StepBeats()}
}

// lagAt is how late the voice sounds, in ms.
func lagAt(bpm float64, setting int) float64 {
	lag, _ := machineLaw().Lag(calib.PeriodMS(bpm), float64(setting))
	return lag
}

// settingFor is the setting, in whole steps, that a tempo takes.
func settingFor(bpm float64) int {
	return int(math.Round(machineLaw().Setting(calib.PeriodMS(bpm))))
}

// crossing is the tempo in BPM at which a setting brings voice and reference
// together.
func crossing(setting int) float64 { return calib.TempoBPM(periodOf(setting, 0)) }

// window is the tempos in BPM between which a setting is tight: within the
// tolerance, or half a step where that is more.
func window(setting int) (from, to float64) {
	limit := math.Max(calib.DefaultToleranceMS, machineLaw().StepMS(periodOf(setting, 0))/2)
	return calib.TempoBPM(periodOf(setting, -limit)), calib.TempoBPM(periodOf(setting, limit))
}

// periodOf is the beat period in ms at which a setting gives a lag: the law solved
// for P, which has no offset here.
func periodOf(setting int, lagMS float64) float64 {
	law := machineLaw()
	return (law.DelayMS - lagMS) / (law.StepBeats * float64(setting))
}

// Two machines that one take cannot tell apart: the ball of one falls for so long
// that its voice is more than half a beat late, the pins of the other stand ahead.
const (
	farBeats   = 0.6 // late, by the fall, at the fast tempo
	aheadBeats = farBeats - 1
)

func farLaw() calib.Law   { return calib.Law{DelayMS: farBeats * calib.PeriodMS(fastBPM)} }
func aheadLaw() calib.Law { return calib.Law{OffsetBeats: aheadBeats} }

// beatsLate is a law's lag at a tempo, in beats.
func beatsLate(l calib.Law, bpm float64) float64 {
	lag, _ := l.Lag(calib.PeriodMS(bpm), 0)
	return lag / calib.PeriodMS(bpm)
}
