package handsfree

import "math"

// humOvertones is how many of the mains' multiples a short look sums up: with 50
// and 60 Hz the strongest of them are among these (common practice, no published
// source).
const humOvertones = 3

// familyRMS returns the RMS of a mains frequency in Hz and its first multiples in
// samples of a mean.
func familyRMS(samples []float32, mean, mainsHz, rateHz float64) float64 {
	var power float64
	for k := 1; k <= humOvertones; k++ {
		if hz := mainsHz * float64(k); hz < rateHz/2 {
			a := toneRMS(samples, mean, hz, rateHz)
			power += a * a
		}
	}
	return math.Sqrt(power)
}

// toneRMS returns the RMS of a tone of hz in samples of a mean, seen through a
// Hann window: Goertzel's filter (Goertzel 1958) at any frequency, not only at
// whole turns of the stretch.
func toneRMS(samples []float32, mean, hz, rateHz float64) float64 {
	if len(samples) == 0 {
		return 0
	}
	twice := 2 * math.Cos(2*math.Pi*hz/rateHz)
	turn := 2 * math.Pi / float64(len(samples))
	// The window's cosine by the same recurrence, begun half a sample in.
	w0, w1, wTwice := math.Cos(turn/2), math.Cos(turn/2), 2*math.Cos(turn)
	var s1, s2 float64
	for _, v := range samples {
		s := (1-w0)*(float64(v)-mean) + twice*s1 - s2
		s1, s2 = s, s1
		w0, w1 = wTwice*w0-w1, w0
	}
	power := s1*s1 + s2*s2 - twice*s1*s2
	return math.Sqrt2 * math.Sqrt(math.Max(power, 0)) / float64(len(samples))
}
