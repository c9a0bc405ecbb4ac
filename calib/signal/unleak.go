package signal

import (
	"cmp"
	"context"
	"errors"
	"io"
	"lagwright/calib"
	"math"
	"math/bits"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/blas/blas32"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

const (
	leakSpanS  = 0.0045 // a leak's filter spans this much
	lessonLead = 0.002  // a lesson begins this long before its hit
	lessonS    = 0.050  // and lasts this long
	lessonMost = 24     // lessons that are learnt from
	fadeS      = 0.010  // at the end of a lesson
	leakS      = 0.090  // what is subtracted lasts this long
	letGoS     = 0.040  // of which its end fades
	riseS      = 0.001  // and its beginning grows
	warmS      = 0.012  // in which the high-pass settles
	leakLowHz  = 40     // below this nothing is subtracted: no hit sounds there, but hum and offsets do
	explains   = 0.70   // of a lesson's energy, by the leak alone: nothing else sounded
	leakRatio  = 0.5    // of the hit's energy, at most: what is as loud in both is no leak of either
)

// leak is how the hits of one channel sound in another: a filter, and where it
// is to be used.
type leak struct {
	from   calib.Source
	number int       // channel it comes from
	turned []float32 // the filter, its oldest sample first
	atS    []float64 // the hits that leak
	rate   float64
}

// lesson is what one hit teaches: autocorrelation of the channel it is in,
// correlation with the other, energy of the other and of its noise.
type lesson struct {
	auto, cross   []float64
	energy, noise float64
	ratio         float64
}

// learnLeak learns how hits of one channel sound in another from those with
// which the other has no hit of its own. It returns nil where fewer than two teach the same.
func learnLeak(ctx context.Context, from, to *channel, hits []Hit) (*leak, error) {
	rate := from.src.Rate()
	l := &leak{from: from.src, number: from.number, atS: times(hits), rate: rate}
	hits = alone(hits, to.hits)
	lessons, err := l.lessons(ctx, to, hits)
	lessons = slices.DeleteFunc(lessons, func(s lesson) bool {
		// What sounded before goes on, the hit itself is the leak, or both hear a third sound.
		return s.energy < 2*s.noise || s.ratio > leakRatio
	})
	if err != nil || len(lessons) < 2 {
		return nil, err
	}
	slices.SortFunc(lessons, func(a, b lesson) int { return cmp.Compare(a.ratio, b.ratio) })
	class := lessons[:2]
	for range 3 {
		filter := fit(class)
		class = slices.DeleteFunc(slices.Clone(lessons), func(s lesson) bool { return s.explained(filter) <= explains })
	}
	if len(class) < 2 {
		return nil, nil
	}
	for _, h := range slices.Backward(fit(class)) {
		l.turned = append(l.turned, float32(h))
	}
	return l, nil
}

// aloneShare of a channel's hits must sound in the other by themselves to be learnt
// from: where both strike together, the weaker strikes of one are no leak.
const aloneShare = 0.25

// alone returns the hits with which the other channel has no strike of its own, which
// would be as loud as its loudest.
func alone(hits, other []Hit) []Hit {
	limit := ownLevel(other, topShare)
	least := func(dB float64) []float64 {
		return times(slices.DeleteFunc(slices.Clone(other), func(h Hit) bool { return h.Level < limit-dB }))
	}
	together, after := least(leakLoudDB), least(fadesDB)
	found := slices.DeleteFunc(slices.Clone(hits), func(h Hit) bool {
		return within(together, h.TimeS-leakLateS, h.TimeS+leakLateS)+within(after, h.TimeS+leakLateS, h.TimeS+lessonS) > 0
	})
	if float64(len(found)) < aloneShare*float64(len(hits)) {
		return nil
	}
	return found
}

// lessons reads the sound round the hits, of at most lessonMost of them.
func (l *leak) lessons(ctx context.Context, to *channel, hits []Hit) ([]lesson, error) {
	step := max(1, len(hits)/lessonMost)
	all := make([]lesson, (len(hits)+step-1)/step)
	err := inParallel(ctx, len(all), func(i int) (err error) {
		all[i], err = l.lesson(to, hits[i*step])
		return err
	})
	return slices.DeleteFunc(all, func(s lesson) bool { return s.auto == nil }), err
}

// lesson reads the sound round a hit; an empty one where the take does not reach
// that far.
func (l *leak) lesson(to *channel, h Hit) (lesson, error) {
	start := int64((h.TimeS - lessonLead) * l.rate)
	n := int((lessonLead + lessonS) * l.rate)
	x, err := highPassed(l.from, l.number, start, n)
	v, failed := highPassed(to.src, to.number, start, n)
	if err = cmp.Or(err, failed); x == nil || v == nil {
		return lesson{}, err
	}
	quiet := int((lessonLead - 0.0008) * l.rate)
	noise := energy(v[:quiet]) / float64(quiet)
	fade := int(fadeS * l.rate)
	for i := range fade {
		share := float64(fade-i) / float64(fade+1)
		x[len(x)-fade+i] *= share
		v[len(v)-fade+i] *= share
	}
	s := lesson{energy: energy(v), noise: noise * float64(len(v))}
	s.ratio = s.energy / (energy(x) + silence)
	s.auto, s.cross = correlate(x, v, int(leakSpanS*l.rate))
	return s, nil
}

// recorded reads n samples from a frame on; nil where the take does not reach that far.
func recorded(src calib.Source, channel int, frame int64, n int) ([]float32, error) {
	if frame < 0 {
		return nil, nil
	}
	raw := make([]float32, n)
	got, err := src.ReadAt(raw, channel, frame)
	if errors.Is(err, io.EOF) {
		err = nil
	}
	if err != nil || got < n {
		return nil, err
	}
	clean(raw)
	return raw, nil
}

// highPassed reads n samples from a frame on through the trigger's high-pass; nil where the
// take does not reach that far.
func highPassed(src calib.Source, channel int, frame int64, n int) ([]float64, error) {
	warm := int(warmS * src.Rate())
	raw, err := recorded(src, channel, frame-int64(warm), warm+n)
	if raw == nil {
		return nil, err
	}
	return runHighPass(raw, warm, src.Rate()), nil
}

// runHighPass filters raw and returns what follows the warm-up.
func runHighPass(raw []float32, warm int, rate float64) []float64 {
	f := highPass(lowHz, rate)
	f.settle(float64(raw[0]))
	y := make([]float64, len(raw))
	for i, s := range raw {
		y[i] = f.run(float64(s))
	}
	return y[warm:]
}

// correlate returns the correlation of x with itself, and of v with x, at the
// first lags: v later. By way of the spectrum, since the plain sums grow with the
// square of the sample rate.
func correlate(x, v []float64, lags int) (auto, cross []float64) {
	size := 1 << bits.Len(uint(len(x)+lags))
	transform(size, func(fft *fourier.FFT) {
		room := make([]float64, size)
		spectrum := func(x []float64) []complex128 {
			clear(room[copy(room, x):])
			return fft.Coefficients(nil, room)
		}
		a, c := spectrum(x), spectrum(v)
		for i, z := range a {
			c[i] *= cmplx.Conj(z)
			a[i] *= cmplx.Conj(z)
		}
		auto, cross = fft.Sequence(nil, a)[:lags], fft.Sequence(nil, c)[:lags]
	})
	floats.Scale(1/float64(size), auto)
	floats.Scale(1/float64(size), cross)
	return auto, cross
}

// dot returns the sum of the products of a and as many of b.
func dot(a, b []float64) float64 { return floats.Dot(a, b[:len(a)]) }

// explained returns the share of a lesson's energy above the noise that a
// filter foretells.
func (s lesson) explained(filter []float64) float64 {
	left := s.energy
	for i, h := range filter {
		left -= 2 * h * s.cross[i]
	}
	for j := range filter {
		own := dot(filter[j:], filter[:len(filter)-j])
		if j > 0 {
			own *= 2
		}
		left += own * s.auto[j]
	}
	return 1 - math.Max(left-s.noise, 0)/(s.energy-s.noise+silence)
}

// fit returns the filter that explains lessons best by least squares: Levinson's
// recursion on the sum of their normal equations.
func fit(class []lesson) []float64 {
	if len(class) == 0 {
		return nil
	}
	n := len(class[0].auto)
	r, c := make([]float64, n), make([]float64, n)
	for _, s := range class {
		// Each lesson weighs the same, however loud.
		w := 1 / (s.auto[0] + silence)
		for j := range n {
			r[j] += w * s.auto[j]
			c[j] += w * s.cross[j]
		}
	}
	if !(r[0] > 0) {
		return nil
	}
	r[0] *= 1 + 1e-4
	return levinson(r, c)
}

// levinson solves the symmetric Toeplitz system with first row r for c.
func levinson(r, c []float64) []float64 {
	n := len(r)
	x, a, b := make([]float64, n), make([]float64, n), make([]float64, n)
	a[0] = 1
	left := r[0]
	x[0] = c[0] / r[0]
	for m := 1; m < n; m++ {
		var k, e float64
		for i := range m {
			k += a[i] * r[m-i]
			e += x[i] * r[m-i]
		}
		k /= -left
		copy(b, a[:m+1])
		for i := 1; i <= m; i++ {
			a[i] = b[i] + k*b[m-i]
		}
		if left *= 1 - k*k; !(left > 0) {
			return nil
		}
		gain := (c[m] - e) / left
		for i := range m {
			x[i] += gain * a[m-i]
		}
		x[m] = gain
	}
	return x
}

// takeOut subtracts the leak of every hit that reaches into samples from a
// frame on. Where the next hit follows soon, its own turn comes in time.
func (l *leak) takeOut(x []float32, frame int64) error {
	firstS := float64(frame)/l.rate - leakS - lessonLead
	i, _ := slices.BinarySearch(l.atS, firstS)
	for ; i < len(l.atS); i++ {
		start := int64((l.atS[i] - lessonLead) * l.rate)
		end := start + int64((lessonLead+leakS)*l.rate)
		if i+1 < len(l.atS) {
			end = min(end, int64((l.atS[i+1]-lessonLead)*l.rate))
		}
		if start >= frame+int64(len(x)) {
			return nil
		}
		lo, hi := max(start, frame), min(end, frame+int64(len(x)))
		if lo >= hi {
			continue
		}
		if err := l.takeOutOne(x[lo-frame:hi-frame], lo, start, end); err != nil {
			return err
		}
	}
	return nil
}

// takeOutOne subtracts one hit's leak, which lasts from start to end, from
// samples that begin at lo. Single precision is half the work and errs by less
// than the sound's own steps.
func (l *leak) takeOutOne(x []float32, lo, start, end int64) error {
	begin := max(start-int64(warmS*l.rate), 0)
	raw := make([]float32, int(lo-begin)+len(x))
	got, err := l.from.ReadAt(raw, l.number, begin)
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	clear(raw[got:])
	clean(raw)
	f := highPass(leakLowHz, l.rate)
	f.settle(float64(raw[0]))
	for i, s := range raw {
		raw[i] = float32(f.run(float64(s)))
	}
	blas := blas32.Implementation()
	for i := range x {
		at := int(lo-begin) + i + 1 // up to where the filter sees
		n := min(len(l.turned), at)
		sum := blas.Sdot(n, l.turned[len(l.turned)-n:], 1, raw[at-n:at], 1)
		since, left := float64(lo+int64(i)-start), float64(end-lo-int64(i))
		x[i] -= sum * float32(min(1, since/(riseS*l.rate), left/(letGoS*l.rate)))
	}
	return nil
}

// near reports whether one of the leaking hits sounds between two times.
func (l *leak) near(fromS, toS float64) bool {
	i, _ := slices.BinarySearch(l.atS, fromS-leakS)
	return i < len(l.atS) && l.atS[i] < toS+lessonLead
}

// reach returns where the leaking hits sound.
func (l *leak) reach() (s []stretch) {
	for _, t := range l.atS {
		s = append(s, stretch{fromS: t - lessonLead, toS: t + leakS})
	}
	return s
}
