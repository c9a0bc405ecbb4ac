package handsfree

import (
	"math"

	"lagwright/calib/i18n"
)

// Level is what one channel carried over a short time, such as since the tick
// before.
type Level struct {
	Peak    float64 // largest magnitude
	RMS     float64 // root of the mean square about the mean
	Clipped int     // runs of samples at full scale
	Silent  bool    // carries less than any microphone does
}

const (
	fullScale  = 0.9999 // a magnitude from here on lies at full scale: 16-bit samples reach 0.99997
	clipRun    = 3      // samples in a row at full scale that a sound seldom has
	silentDBFS = -110   // a 24-bit converter with a microphone on it is noisier (common practice, no published source)
)

// Hear returns the level of a channel's samples. It does not allocate, and of no samples
// it returns a silent level.
func Hear(samples []float32) Level {
	var l Level
	var sum, squares float64
	run := 0
	for _, s := range samples {
		v := float64(s)
		sum, squares = sum+v, squares+v*v
		l.Peak = math.Max(l.Peak, math.Abs(v))
		if math.Abs(v) < fullScale {
			run = 0
		} else if run++; run == clipRun {
			l.Clipped++
		}
	}
	n := float64(max(len(samples), 1))
	mean := sum / n
	l.RMS = math.Sqrt(math.Max(squares/n-mean*mean, 0))
	l.Silent = RMSDBFS(l.RMS) < silentDBFS
	return l
}

// PeakDBFS returns the level of a peak in dBFS; a peak of 1 has 0.
func PeakDBFS(peak float64) float64 { return 20 * math.Log10(math.Max(peak, 1e-10)) }

// RMSDBFS returns the level of an RMS value in dBFS: that of a full-scale sine,
// 1/√2, has 0 (AES17).
func RMSDBFS(rms float64) float64 { return 20 * math.Log10(math.Max(rms, 1e-10)*math.Sqrt2) }

// Grade is how fit a channel's level is for a take.
type Grade string

// The grades of a level.
const (
	NoSound  Grade = "no sound"
	TooQuiet Grade = "too quiet"
	Good     Grade = "good"
	TooHot   Grade = "nearly clipping"
	Clipping Grade = "clipping"
)

// Where the peaks of a channel's hits should lie.
const (
	// HotDBFS leaves room for the one hit in a take that is louder than those
	// heard so far (common practice, no published source).
	HotDBFS = -3
	// QuietDBFS lies ClearDB above the noise of a plain sound card with a
	// contact microphone on it, about -58 dBFS (common practice, no published
	// source).
	QuietDBFS = -40
	// ClearDB is how far the peaks of hits have to lie above the noise: the
	// measuring is tested down to there (trap "noise" of calib/practice).
	ClearDB = 18
)

// Grade returns how fit the level is for a take, given the channel's noise as
// RMS, 0 where that is not known. The level is that of a time with hits in it.
func (l Level) Grade(noiseRMS float64) Grade {
	peak := PeakDBFS(l.Peak)
	switch {
	case l.Clipped > 0:
		return Clipping
	case l.Silent:
		return NoSound
	case peak > HotDBFS:
		return TooHot
	case peak < QuietDBFS, noiseRMS > 0 && peak < RMSDBFS(noiseRMS)+ClearDB:
		return TooQuiet
	}
	return Good
}

// grades are the words for each grade, and what to do about it.
var grades = map[Grade]struct{ words, do i18n.Message }{
	NoSound:  {i18n.Say("no sound"), i18n.Say("Nothing is coming in. Stop the crank, wait for rest, then check the plug, the microphone and the recorder's input.")},
	TooQuiet: {i18n.Say("too quiet"), i18n.Say("Turn the input up. Or stop the crank, wait for rest, then press the microphone on nearer to where it strikes.")},
	Good:     {words: i18n.Say("good")},
	TooHot:   {i18n.Say("nearly clipping"), i18n.Say("Turn the input down a little: the next hit may be louder.")},
	Clipping: {i18n.Say("clipping"), i18n.Say("Turn the input down until the loudest hit stays below the top.")},
}

// Words says a grade in the language in use.
func (g Grade) Words() string { return grades[g].words.String() }

// Do says what to do about a grade; nothing where it is good.
func (g Grade) Do() string { return grades[g].do.String() }
