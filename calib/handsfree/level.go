package handsfree

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

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
// 1/√2, has 0 (AES17, from memory).
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
	// QuietDBFS lies clearDB above the noise of a plain sound card with a
	// contact microphone on it, about -58 dBFS (common practice, no published
	// source).
	QuietDBFS = -40
	// clearDB is how far the peaks of hits have to lie above the noise: the
	// measuring is tested down to there (trap "noise" of calib/practice).
	clearDB = 18
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
	case peak < QuietDBFS, noiseRMS > 0 && peak < RMSDBFS(noiseRMS)+clearDB:
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

// Noise is what a channel carries while nothing strikes.
type Noise struct {
	RMS   float64 // of the noise without the hum
	Hum   float64 // RMS of mains hum and its multiples; 0 where none stands out
	HumHz float64 // 50 or 60, as the hum is; 0 where none stands out
}

const (
	noiseLeastS = 1.0    // of sound that tell 50 from 60 Hz and a line from noise
	noiseMostS  = 8.0    // more tells nothing new
	humLines    = 12     // multiples of the mains that are looked at
	lineOffHz   = 2.0    // mains and their multiples stay this near (EN 50160: 1 % of 50 Hz for nearly all of the year is 0.5 Hz; from memory), and the window blurs a line by as much
	besideHz    = 6.0    // from here on to either side lies what is noise round a line
	stands      = 10.0   // times the power beside it, a line is hum and no chance
	lowestHz    = 10.0   // below lies the recorder's offset
	noisePower2 = 1 << 3 // the stretch is a multiple of this, so that its transform is quick
	evenS       = 0.05   // noise and hum are as loud in one such piece as in another ...
	evenTimes   = 4.0    // ... within this; what is louder struck
)

// Quiet measures noise and hum in samples of a channel at a rate in Hz, over a
// second or more in which nothing strikes. ok is false where they are too few, or
// where something struck after all.
func Quiet(samples []float32, rateHz float64) (n Noise, ok bool) {
	if !(rateHz > 0) || float64(len(samples)) < noiseLeastS*rateHz {
		return Noise{}, false
	}
	size := min(len(samples), int(noiseMostS*rateHz))
	size -= size % noisePower2
	if struck(samples[:size], rateHz) {
		return Noise{}, false
	}
	power, binHz := powers(samples[:size], rateHz)
	var total float64
	for i := int(lowestHz/binHz) + 1; i < len(power); i++ {
		total += power[i]
	}
	for _, hz := range []float64{50, 60} {
		if hum := humPower(power, binHz, hz); hum > n.Hum {
			n.Hum, n.HumHz = hum, hz
		}
	}
	n.RMS = math.Sqrt(math.Max(total-n.Hum, 0))
	n.Hum = math.Sqrt(n.Hum)
	return n, true
}

// struck reports whether a part of the samples is far louder than the rest.
func struck(samples []float32, rateHz float64) bool {
	long := max(1, int(evenS*rateHz))
	var loud []float64
	for at := 0; at+long <= len(samples); at += long {
		loud = append(loud, Hear(samples[at:at+long]).RMS)
	}
	slices.Sort(loud)
	return len(loud) > 0 && loud[len(loud)-1] > evenTimes*loud[len(loud)/2]
}

// powers returns the mean square of samples by bins of a width in Hz, through a
// Hann window; their sum is the whole mean square.
func powers(samples []float32, rateHz float64) (power []float64, binHz float64) {
	n := len(samples)
	x := make([]float64, n)
	for i, v := range samples {
		x[i] = float64(v) * (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)))
	}
	coeff := fourier.NewFFT(n).Coefficients(nil, x)
	power = make([]float64, len(coeff))
	const hann = 1.5 // mean square of the window
	for i, c := range coeff {
		power[i] = 2 * (real(c)*real(c) + imag(c)*imag(c)) / (float64(n) * float64(n) * hann)
	}
	return power, rateHz / float64(n)
}

// humPower returns the power of the lines at multiples of the mains that stand
// out of what lies beside them, less the noise under them.
func humPower(power []float64, binHz, mainsHz float64) float64 {
	var sum float64
	for k := 1; k <= humLines; k++ {
		hz := float64(k) * mainsHz
		line, n := between(power, binHz, hz-lineOffHz, hz+lineOffHz)
		below, b := between(power, binHz, hz-lineOffHz-besideHz, hz-besideHz)
		above, a := between(power, binHz, hz+besideHz, hz+lineOffHz+besideHz)
		if n == 0 || a == 0 || b == 0 {
			break
		}
		noise := (below + above) / float64(a+b) * float64(n)
		if line > stands*noise {
			sum += line - noise
		}
	}
	return sum
}

// between sums the power from one frequency to another, and counts the bins.
func between(power []float64, binHz, fromHz, toHz float64) (sum float64, bins int) {
	for i := max(int(math.Ceil(fromHz/binHz)), 1); i <= int(toHz/binHz) && i < len(power); i++ {
		sum, bins = sum+power[i], bins+1
	}
	return sum, bins
}

// Bad reports whether noise and hum together are too loud for a take: hits that are just
// loud enough would not stand out of them.
func (n Noise) Bad() bool { return RMSDBFS(math.Hypot(n.RMS, n.Hum)) > QuietDBFS-clearDB }

// Words says what was measured, and, if it is bad, what it is and the usual cure
// (common practice, no published source).
func (n Noise) Words() string {
	level := i18n.F("noise %.0f dBFS", RMSDBFS(n.RMS))
	if n.HumHz > 0 {
		level = i18n.F("noise %.0f dBFS, hum at %.0f Hz %.0f dBFS", RMSDBFS(n.RMS), n.HumHz, RMSDBFS(n.Hum))
	}
	switch {
	case !n.Bad():
		return i18n.F("Quiet enough: %s.", level)
	case n.Hum >= n.RMS:
		return i18n.F("Mains hum: %s. Stop the crank, wait for rest, then press the plug home, check the cable's shield and lead it away from mains leads and power supplies; or run the recorder from its battery. Never lift the safety earth: mains work is for a qualified electrician.", level)
	}
	return i18n.F("Noisy: %s. Stop the crank, wait for rest, then press the microphone on firmly, nearer to where it strikes. Keep motors and fans still, and turn the input down as far as the hits allow.", level)
}
