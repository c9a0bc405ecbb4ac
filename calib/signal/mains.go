package signal

import (
	"math"
	"math/bits"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

const (
	slowHz      = 4000 // rate at which a channel is kept to look for hum
	mainsMost   = 12   // harmonics of the mains that may be taken out
	mainsSpread = 0.004
	lineAboveDB = 6    // above everything near it, a line in the spectrum is hum
	lineNearHz  = 12   // what is near
	lineWideHz  = 0.4  // what belongs to the line
	spectrumS   = 16.0 // of sound that shows the lines
	mainsStepS  = 1.0  // the hum's strength and phase are known this often
	mainsSeenS  = 2.0  // from this long before and after
	quietShare  = 0.5  // of the turns of the mains have no hit in them
	humMatters  = 0.02 // of the loudest sample: weaker hum does not hide a hit, and picking takes it out
)

// slow keeps a channel at a low rate: means of as many samples as fit.
type slow struct {
	each int
	rate float64
	x    []float32
	sum  float64
	n    int
}

func newSlow(rate float64, frames int64) slow {
	each := max(int(rate/slowHz), 1)
	return slow{each: each, rate: rate / float64(each), x: make([]float32, 0, frames/int64(each))}
}

// feed takes the next samples.
func (s *slow) feed(x []float32) {
	for len(x) > 0 {
		n := min(len(x), s.each-s.n)
		for _, v := range x[:n] {
			s.sum += float64(v)
		}
		s.n += n
		x = x[n:]
		if s.n == s.each {
			s.x = append(s.x, float32(s.sum/float64(s.n)))
			s.sum, s.n = 0, 0
		}
	}
}

// mains is the hum of one channel.
type mains struct {
	hz        float64
	harmonics []int
	strength  [][]complex128 // by step of mainsStepS, then by harmonic
	rate      float64        // of the take
}

// findMains returns the hum in a channel, nil where none stands out or it is
// too weak against the channel's loudest sample to matter.
func findMains(s slow, rate float64, top float32) *mains {
	n := min(len(s.x), int(spectrumS*s.rate))
	if n < int(2*s.rate) {
		return nil
	}
	power, binHz := spectrum(s.x[(len(s.x)-n)/2:][:n], s.rate)
	var best *mains
	var most float64
	for _, base := range []float64{50, 60} {
		if m, total := lines(power, binHz, base); m != nil && total > most {
			best, most = m, total
		}
	}
	if best == nil {
		return nil
	}
	best.rate = rate
	best.follow(s)
	if best.loudest() < humMatters*float64(top) {
		return nil
	}
	return best
}

// spectrum returns the power of x by bins of a width in Hz.
func spectrum(x []float32, rate float64) (power []float64, binHz float64) {
	size := 1 << bits.Len(uint(2*len(x)-1))
	y := make([]float64, size)
	for i, v := range x {
		y[i] = float64(v) * (1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x))))
	}
	var c []complex128
	transform(size, func(fft *fourier.FFT) { c = fft.Coefficients(nil, y) })
	power = make([]float64, len(c))
	for i, v := range c {
		power[i] = real(v)*real(v) + imag(v)*imag(v)
	}
	return power, rate / float64(size)
}

// lines returns the mains near a frequency as its lines in the spectrum show
// it, and their power; nil where there is no line.
func lines(power []float64, binHz, base float64) (m *mains, total float64) {
	var sum, weight float64
	for k := 1; k <= mainsMost; k++ {
		hz := float64(k) * base
		span := hz*mainsSpread + 2*binHz
		if weight > 0 { // the lines before say where this one lies
			hz, span = float64(k)*sum/weight, 0.1+2*binHz
		}
		at, ok := line(power, binHz, hz, span)
		if !ok {
			continue
		}
		if m == nil {
			m = &mains{}
		}
		m.harmonics = append(m.harmonics, k)
		f, w := at/float64(k), float64(k*k)
		sum, weight = sum+w*f, weight+w
		total += power[int(at/binHz+0.5)]
	}
	if m != nil {
		m.hz = sum / weight
	}
	return m, total
}

// line returns the frequency of the line within span of hz, if one stands out.
func line(power []float64, binHz, hz, span float64) (at float64, ok bool) {
	lo, hi := int((hz-span)/binHz), int((hz+span)/binHz)+1
	far, wide := int(lineNearHz/binHz), int(lineWideHz/binHz)
	if lo-far < 1 || hi+far >= len(power)-1 {
		return 0, false
	}
	top := lo
	for i := lo; i <= hi; i++ {
		if power[i] > power[top] {
			top = i
		}
	}
	limit := power[top] * math.Pow(10, -lineAboveDB/10.0)
	for d := wide; d <= far; d++ {
		if power[top-d] > limit || power[top+d] > limit {
			return 0, false
		}
	}
	shift := parabola(math.Log(power[top-1]), math.Log(power[top]), math.Log(power[top+1]))
	return (float64(top) + shift) * binHz, true
}

// parabola returns where the parabola through three neighbours has its top,
// in steps from the middle one, within half a step.
func parabola(before, at, after float64) float64 {
	bend := before - 2*at + after
	if !(bend < 0) || math.IsInf(bend, 0) {
		return 0
	}
	return min(max((before-after)/(2*bend), -0.5), 0.5)
}

// follow finds strength and phase of every harmonic over the take: the mean over
// the quieter turns of the mains round each step, since the louder have hits in
// them.
func (m *mains) follow(s slow) {
	turn := int(s.rate/m.hz + 0.5)
	turns := len(s.x) / turn
	loud := make([]float64, turns)
	parts := make([][]complex128, turns)
	for t := range turns {
		x := s.x[t*turn : (t+1)*turn]
		parts[t] = make([]complex128, len(m.harmonics))
		loud[t] = m.demodulate(parts[t], x, t*turn, s)
	}
	steps := int(float64(len(s.x))/s.rate/mainsStepS) + 2
	reach := int(mainsSeenS * m.hz)
	m.strength = make([][]complex128, steps)
	for i := range steps {
		mid := int(float64(i) * mainsStepS * m.hz)
		lo, hi := max(min(mid-reach, turns-2*reach), 0), min(max(mid+reach, 2*reach), turns)
		m.strength[i] = quietMean(parts[lo:hi], loud[lo:hi])
	}
}

// demodulate finds the harmonics in one turn of the mains, sample from of the
// slow channel on, and returns the turn's energy.
func (m *mains) demodulate(part []complex128, x []float32, from int, s slow) float64 {
	y := floats64(x)
	floats.AddConst(-mean(y), y)
	middle := (float64(s.each) - 1) / 2 // of the samples that make a slow one
	for h, k := range m.harmonics {
		w := 2 * math.Pi * m.hz * float64(k) / s.rate // radians a slow sample
		z, turn := cmplx.Rect(1, -w*(float64(from)+middle/float64(s.each))), cmplx.Rect(1, -w)
		var sum complex128
		for _, v := range y {
			sum += complex(v, 0) * z
			z *= turn
		}
		half := w / float64(s.each) / 2
		droop := math.Sin(half*float64(s.each)) / (float64(s.each) * math.Sin(half))
		part[h] = sum * complex(2/float64(len(x))/droop, 0)
	}
	return energy(y)
}

// quietMean returns the mean of the parts whose turns are the quietest.
func quietMean(parts [][]complex128, loud []float64) []complex128 {
	if len(parts) == 0 {
		return nil
	}
	limit := slices.Sorted(slices.Values(loud))[int(quietShare*float64(len(loud)-1))]
	mean, n := make([]complex128, len(parts[0])), 0.0
	for t, part := range parts {
		if loud[t] <= limit {
			for h, v := range part {
				mean[h] += v
			}
			n++
		}
	}
	for h := range mean {
		mean[h] /= complex(n, 0)
	}
	return mean
}

// takeOut subtracts the hum from samples that begin at a frame.
func (m *mains) takeOut(x []float32, frame int64) error {
	const piece = 128 // samples over which strength and phase are taken as steady
	for len(x) > 0 {
		n := min(len(x), piece-int(frame%piece))
		at := float64(frame-frame%piece+piece/2) / m.rate / mainsStepS
		i := min(int(at), len(m.strength)-2)
		share := complex(min(at-float64(i), 1), 0)
		for h, k := range m.harmonics {
			a := m.strength[i][h]*(1-share) + m.strength[i+1][h]*share
			turns := float64(frame) * m.hz * float64(k) / m.rate
			z := a * cmplx.Rect(1, 2*math.Pi*(turns-math.Floor(turns)))
			step := cmplx.Rect(1, 2*math.Pi*m.hz*float64(k)/m.rate)
			for j := range n {
				x[j] -= float32(real(z))
				z *= step
			}
		}
		x, frame = x[n:], frame+int64(n)
	}
	return nil
}

// loudest returns the largest sum of the harmonics' amplitudes.
func (m *mains) loudest() float64 {
	var most float64
	for _, strength := range m.strength {
		var sum float64
		for _, a := range strength {
			sum += cmplx.Abs(a)
		}
		most = max(most, sum)
	}
	return most
}
