package signal

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"
)

const (
	alignBeforeS = 0.012 // of each hit, before its pick, are compared
	alignAfterS  = 0.022 // and after it
	alignReachS  = 0.010 // a pick is at most this far off
	onsetReachS  = 0.004 // the average's pick is at most this far from where most hits were picked
	coarseHz     = 12000 // rate at which hits are laid over each other at first
	alike        = 0.60  // correlation below which a hit keeps its own pick
	mostlyAlike  = 0.80  // median correlation below which all do
	fewAlike     = 3     // hits that make an average
	alignHz      = 16000 // rate below which a rise has too few samples: many picks of it are better than one
	sincTaps     = 8     // samples either side that tell what lies between two
)

// Align makes the times of hits of one sound agree to a fraction of a sample.
// Each hit is laid over the average of all by cross-correlation, finely by least
// squares, and the moment the sound begins is picked once, on the average, in
// which the noise is less. Hits unlike the others keep their own picks.
// It fails where the channel cannot be read or ctx ends.
func Align(ctx context.Context, src Source, channel int, hits []Hit) ([]Hit, error) {
	return align(ctx, src, channel, hits, false)
}

// align is Align; under says that another sound may begin just before the hits, so
// that the loud rise counts.
func align(ctx context.Context, src Source, channel int, hits []Hit, under bool) ([]Hit, error) {
	if err := checkChannel(src, channel); err != nil {
		return nil, err
	}
	if len(hits) < fewAlike || src.Rate() < alignHz {
		return hits, nil
	}
	a := newAligner(src.Rate())
	if err := a.read(ctx, src, channel, hits); err != nil {
		return nil, err
	}
	if len(a.views) < fewAlike {
		return hits, nil
	}
	a.coarse()
	if a.typical() < mostlyAlike {
		return hits, nil
	}
	a.fine()
	a.under = under
	return a.settle(hits), nil
}

// view is one hit as the aligner sees it.
type view struct {
	hit     int
	start   int64     // frame of x[0]
	x       []float64 // as recorded
	y       []float64 // through the high-pass
	low     []float64 // y at the coarse rate
	at      float64   // the pick, in samples of x
	from    int       // where in x and y the view that lies over the average begins
	shift   float64   // how much later than from, in samples
	similar float64
}

type aligner struct {
	rate          float64
	each          int // samples in a coarse one
	length, reach int // in coarse samples: of a view, of the search
	views         []*view
	mean          []float64 // the average, at full rate
	under         bool
}

func newAligner(rate float64) *aligner {
	each := max(int(rate/coarseHz), 1)
	a := &aligner{rate: rate, each: each}
	a.length = int((alignBeforeS + alignAfterS) * rate / float64(each))
	a.reach = int(alignReachS * rate / float64(each))
	return a
}

// read reads the sound round the hits.
func (a *aligner) read(ctx context.Context, src Source, channel int, hits []Hit) error {
	n := (a.length + 2*a.reach) * a.each
	warm := int(warmS * a.rate)
	raw := make([]float32, warm+n)
	for i, h := range hits {
		if err := ctx.Err(); err != nil {
			return err
		}
		start := int64((h.TimeS-alignBeforeS)*a.rate) - int64(a.reach*a.each)
		if start < int64(warm) {
			continue
		}
		got, err := src.ReadAt(raw, channel, start-int64(warm))
		if err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if got < len(raw) {
			continue
		}
		v := &view{hit: i, start: start, at: h.TimeS*a.rate - float64(start), y: runHighPass(raw, warm, a.rate)}
		for _, s := range raw[warm:] {
			v.x = append(v.x, finite(s))
		}
		for j := 0; j+a.each <= n; j += a.each {
			v.low = append(v.low, mean(v.y[j:j+a.each]))
		}
		a.views = append(a.views, v)
	}
	return nil
}

// coarse lays every hit over one of the louder ones, and then over the average.
func (a *aligner) coarse() {
	byEnergy := slices.Clone(a.views)
	slices.SortFunc(byEnergy, func(v, w *view) int { return sign(energy(v.low) - energy(w.low)) })
	model := slices.Clone(byEnergy[len(byEnergy)*3/4].low[a.reach:][:a.length])
	for range 3 {
		next := make([]float64, a.length)
		for _, v := range a.views {
			at, similar := best(v.low, model)
			v.from, v.similar = at*a.each, similar
			if similar > alike {
				size := math.Sqrt(energy(v.low[at:][:a.length]))
				for i, x := range v.low[at:][:a.length] {
					next[i] += x / size
				}
			}
		}
		if energy(next) > 0 {
			model = next
		}
	}
}

// best returns where in x the model fits best, and how well.
func best(x, model []float64) (at int, similar float64) {
	size := math.Sqrt(energy(model))
	left := energy(x[:len(model)])
	for i := 0; i+len(model) <= len(x); i++ {
		if i > 0 {
			left += x[i+len(model)-1]*x[i+len(model)-1] - x[i-1]*x[i-1]
		}
		if s := dot(model, x[i:i+len(model)]) / (size*math.Sqrt(math.Max(left, 0)) + silence); s > similar {
			at, similar = i, s
		}
	}
	return at, similar
}

func (a *aligner) typical() float64 {
	var s []float64
	for _, v := range a.views {
		s = append(s, v.similar)
	}
	return middle(s)
}

// fine makes the average at full rate and moves each hit to where it fits best.
func (a *aligner) fine() {
	for round := range 3 {
		a.average()
		for _, v := range a.views {
			if v.similar > alike {
				a.nudge(v, round == 0)
			}
		}
		a.centre()
	}
	a.average()
}

// average makes the mean of the hits, each shifted to where it fits.
func (a *aligner) average() {
	a.mean = make([]float64, a.length*a.each)
	for _, v := range a.views {
		if v.similar <= alike {
			continue
		}
		x := shifted(v.y, v.from, len(a.mean), v.shift)
		size := math.Sqrt(energy(x))
		for i := range x {
			a.mean[i] += x[i] / size
		}
	}
}

// centre takes the common part out of the shifts, so that the average stays
// where it is.
func (a *aligner) centre() {
	var sum, n float64
	for _, v := range a.views {
		if v.similar > alike {
			sum, n = sum+v.shift, n+1
		}
	}
	for _, v := range a.views {
		v.shift -= sum / n
	}
}

// nudge finds the shift at which the average fits the hit best: by whole samples
// first, with the parabola through the best three, then by least squares on the
// average's slope.
func (a *aligner) nudge(v *view, wide bool) {
	n := len(a.mean)
	if wide {
		span := 2 * a.each
		top, most := v.from, math.Inf(-1)
		score := func(at int) float64 {
			if at < 0 || at+n > len(v.y) {
				return math.Inf(-1)
			}
			return dot(a.mean, v.y[at:at+n])
		}
		for at := v.from - span; at <= v.from+span; at++ {
			if s := score(at); s > most {
				top, most = at, s
			}
		}
		v.from, v.shift = top, parabola(score(top-1), most, score(top+1))
	}
	x := shifted(v.y, v.from, n, v.shift)
	var tt, xt, xs, ss, ts float64 // of the average t, its slope s and the hit x
	for i := 1; i+1 < n; i++ {
		t, slope := a.mean[i], (a.mean[i+1]-a.mean[i-1])/2
		tt, xt, ts = tt+t*t, xt+x[i]*t, ts+t*slope
		xs, ss = xs+x[i]*slope, ss+slope*slope
	}
	if size := xt / tt; size > 0 && ss > 0 {
		v.shift -= min(max((xs-size*ts)/(size*ss), -0.5), 0.5)
	}
}

// shifted returns n samples of x from a place between samples on.
func shifted(x []float64, from, n int, shift float64) []float64 {
	whole := math.Floor(shift)
	from += int(whole)
	part := shift - whole
	y := make([]float64, n)
	var taps [2 * sincTaps]float64
	for k := range taps {
		d := float64(k-sincTaps+1) - part // from the place to the sample
		taps[k] = sinc(d) * (0.5 + 0.5*math.Cos(math.Pi*d/sincTaps))
	}
	for i := range y {
		lo := from + i - sincTaps + 1
		if lo < 0 || lo+len(taps) > len(x) {
			if at := from + i; at >= 0 && at < len(x) {
				y[i] = x[at]
			}
			continue
		}
		var sum float64
		for k, c := range taps {
			sum += c * x[lo+k]
		}
		y[i] = sum
	}
	return y
}

func sinc(x float64) float64 {
	if math.Abs(x) < 1e-9 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// settle picks the average once and returns the hits with their new times.
func (a *aligner) settle(hits []Hit) []Hit {
	var raw []float64
	var offs []float64
	for _, v := range a.views {
		if v.similar <= alike {
			continue
		}
		x := shifted(v.x, v.from, len(a.mean), v.shift)
		if raw == nil {
			raw = make([]float64, len(x))
		}
		size := math.Sqrt(energy(a.mean)) / math.Sqrt(energy(v.y))
		for i := range x {
			raw[i] += size * x[i]
		}
		offs = append(offs, v.at-float64(v.from)-v.shift)
	}
	onset := a.onset(raw, middle(offs))
	moved := slices.Clone(hits)
	for _, v := range a.views {
		if v.similar <= alike {
			continue
		}
		h := &moved[v.hit]
		was := h.TimeS
		h.TimeS = (float64(v.start) + float64(v.from) + v.shift + onset) / a.rate
		h.mainS += h.TimeS - was
	}
	return moved
}

// onset picks the average, in which most hits were picked at usual.
func (a *aligner) onset(raw []float64, usual float64) float64 {
	o, ok := pick(raw, min(max(int(usual+guardS/2*a.rate), 0), len(raw)-1), 0, a.rate)
	if !ok {
		return usual
	}
	if a.under || math.Abs(o.main-usual) < math.Abs(o.first-usual) {
		o.first = o.main
	}
	if math.Abs(o.first-usual) > onsetReachS*a.rate {
		return usual
	}
	return o.first
}
