package handsfree

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"lagwright/calib/i18n"
)

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

// LoudDBFS is the noise or hum above which hits that are just loud enough would
// not stand out of it.
const LoudDBFS = QuietDBFS - ClearDB

// Bad reports whether noise and hum together are too loud for a take.
func (n Noise) Bad() bool { return RMSDBFS(math.Hypot(n.RMS, n.Hum)) > LoudDBFS }

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
