package practice

import (
	"cmp"
	"math"
)

// None switches a knob of Disturb off, where zero would leave it at the
// machine's habit.
var None = math.Inf(-1)

// Disturb is what stands between a clean take and a real one. Levels in dB are
// relative to the peak of an average hit.
type Disturb struct {
	HumDB     float64 // mains hum: peak of its fundamental
	NoiseDB   float64 // broadband noise, r.m.s.
	LeakDB    float64 // peak of a hit at the other microphone
	ClunkDB   float64 // the gate, heard on the voice a fall time before each hit
	ClatterDB float64 // spent shot landing in the tray, heard on both channels
	RollDB    float64 // rumble of rolling shot, swelling with the crank, r.m.s.

	MissedShare float64 // share of drops without a hit, 0 to 1
	DoubleShare float64 // share of drops that let two shot go, 0 to 1
	WowPct      float64 // largest change of the beat period within a turn of the crank, %
	DriftPct    float64 // largest slow change of the beat period, %

	DCOffset float64 // of both channels, as a share of full scale
	GainDB   float64 // too hot a recording; what passes full scale is clipped

	DeadChannel int  // 1 or 2: that microphone's cable is broken; 0 = neither
	DropOut     int  // 1 or 2: that cable is broken for the middle fifth of the take; 0 = neither
	Swapped     bool // the cables are swapped
}

// Quiet returns the knobs of a take that nothing disturbs: hits alone, at a
// steady tempo.
func Quiet() Disturb {
	return Disturb{
		HumDB: None, NoiseDB: None, LeakDB: None, ClunkDB: None, ClatterDB: None, RollDB: None,
		MissedShare: None, DoubleShare: None, WowPct: None, DriftPct: None, DCOffset: None,
	}
}

// or returns the knobs with those left at zero taken from the habit.
func (d Disturb) or(habit Disturb) Disturb {
	return Disturb{
		HumDB:       cmp.Or(d.HumDB, habit.HumDB),
		NoiseDB:     cmp.Or(d.NoiseDB, habit.NoiseDB),
		LeakDB:      cmp.Or(d.LeakDB, habit.LeakDB),
		ClunkDB:     cmp.Or(d.ClunkDB, habit.ClunkDB),
		ClatterDB:   cmp.Or(d.ClatterDB, habit.ClatterDB),
		RollDB:      cmp.Or(d.RollDB, habit.RollDB),
		MissedShare: cmp.Or(d.MissedShare, habit.MissedShare),
		DoubleShare: cmp.Or(d.DoubleShare, habit.DoubleShare),
		WowPct:      cmp.Or(d.WowPct, habit.WowPct),
		DriftPct:    cmp.Or(d.DriftPct, habit.DriftPct),
		DCOffset:    cmp.Or(d.DCOffset, habit.DCOffset),
		GainDB:      cmp.Or(d.GainDB, habit.GainDB),
		DeadChannel: cmp.Or(d.DeadChannel, habit.DeadChannel),
		DropOut:     cmp.Or(d.DropOut, habit.DropOut),
		Swapped:     d.Swapped || habit.Swapped,
	}
}

// gain returns the factor of a level in dB; that of None is 0.
func gain(db float64) float64 { return math.Pow(10, db/20) }

// level returns a knob that is not in dB; None is 0.
func level(x float64) float64 {
	if x == None {
		return 0
	}
	return x
}
