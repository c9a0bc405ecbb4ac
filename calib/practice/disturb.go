package practice

import (
	"cmp"
	"math"
	"reflect"
)

// None switches a knob of Disturb off, where zero would leave it at the
// machine's habit.
var None = math.Inf(-1)

// Disturb is what stands between a clean take and a real one. Levels in dB are
// relative to the peak of an average hit.
type Disturb struct {
	HumDB       float64 // mains hum: peak of its fundamental
	HarmonicsDB float64 // mains hum: peak of each odd harmonic up to the ninth; even ones have half
	NoiseDB     float64 // broadband noise, r.m.s.
	LeakDB      float64 // peak of a hit at the other microphones
	ClunkDB     float64 // the gate, heard on the voice a fall time before each hit
	ClatterDB   float64 // spent shot landing in the tray, heard on all channels
	RollDB      float64 // rumble of rolling shot, swelling with the crank, r.m.s.
	MeshDB      float64 // gears: peak of each tone, at a frequency that follows the crank
	SwellDB     float64 // shot rolling towards the voice, r.m.s. at the moment it strikes
	KnockDB     float64 // peak of the loudest random knock; others are up to 12 dB softer
	KnocksPerS  float64 // random knocks in a second, heard on all channels

	SpreadDB    float64 // standard deviation of loudness from hit to hit, which ends at two of them; 0 = 1.5
	MissedShare float64 // share of drops without a hit, 0 to 1
	DoubleShare float64 // share of drops that let two shot go, 0 to 1
	WowPct      float64 // largest change of the beat period within a turn of the crank, %
	DriftPct    float64 // largest slow change of the beat period, %

	DCOffset   float64 // of all channels, as a share of full scale
	GainDB     float64 // too hot a recording; what passes full scale is clipped
	Bits       int     // of a sample, rounded; 0 = as exact as float32
	LostFrames int     // samples that the recorder lost in mid-take, on all channels at once

	DeadChannel int  // from 1: that microphone's cable is broken; 0 = none
	DropOut     int  // from 1: that cable is broken for the middle fifth of the take; 0 = none
	DropOuts    int  // from 1: that cable goes silent for some tenths of a second now and then; 0 = none
	Crackle     int  // from 1: that cable makes and breaks contact now and then; 0 = none
	HumBurst    int  // from 1: that cable's shield breaks now and then and lets hum in; 0 = none
	Swapped     bool // the cables of channels 1 and 2 are swapped; channels above are those of before
}

// Quiet returns the knobs of a take that nothing disturbs: hits alone, at a
// steady tempo.
func Quiet() Disturb {
	return Disturb{
		HumDB: None, HarmonicsDB: None, NoiseDB: None, LeakDB: None, ClunkDB: None, ClatterDB: None,
		RollDB: None, MeshDB: None, SwellDB: None, KnockDB: None, KnocksPerS: None,
		MissedShare: None, DoubleShare: None, WowPct: None, DriftPct: None, DCOffset: None,
	}
}

// or returns the knobs with those left at zero taken from the habit.
func (d Disturb) or(habit Disturb) Disturb {
	knobs, usual := reflect.ValueOf(&d).Elem(), reflect.ValueOf(habit)
	for i := range knobs.NumField() {
		if knobs.Field(i).IsZero() {
			knobs.Field(i).Set(usual.Field(i))
		}
	}
	d.SpreadDB = cmp.Or(d.SpreadDB, spreadDB)
	return d
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
