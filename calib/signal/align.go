package signal

import (
	"context"
	"errors"
	"io"
	"lagwright/calib"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

const (
	alignBeforeS = 0.012 // of each hit, before its pick, are compared
	alignAfterS  = 0.022 // and after it
	alignReachS  = 0.010 // a pick is at most this far off
	alignLeadS   = 0.008 // of sound before that, in the average, teach its noise
	onsetReachS  = 0.001 // the average's pick is at most this much later than where most hits were picked
	earlierS     = 0.007 // and earlier: so long before the loudest a first stage may be
	coarseHz     = 12000 // rate at which hits are laid over each other at first
	alike        = 0.60  // correlation below which a hit keeps its own pick
	mostlyAlike  = 0.80  // median correlation below which all do
	fewAlike     = 3     // hits that make an average
	alignHz      = 16000 // rate below which a rise has too few samples: many picks of it are better than one
	sincTaps     = 8     // samples either side that tell what lies between two
	modelMost    = 128   // hits that make the average, and are kept in memory, at most
)

// align makes the times of hits of one sound agree to a fraction of a sample.
// Each hit is laid over the average of all, or of modelMost spread over the take,
// by cross-correlation, finely by least squares, and the moment the sound begins
// is picked once, on the average, in which the noise is less. Hits unlike the
// others keep their own picks. It fails where the channel cannot be read or ctx ends.
func align(ctx context.Context, src calib.Source, channel int, hits []Hit) ([]Hit, error) {
	if len(hits) < fewAlike || src.Rate() < alignHz {
		return hits, nil
	}
	a := newAligner(src, channel)
	// Spread evenly, but not always by as many hits: they may take turns in a bar.
	of := func(i int) bool { return i*modelMost/len(hits) != (i-1)*modelMost/len(hits) }
	if err := a.read(ctx, hits, of); err != nil {
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
	a.settle()
	return a.move(ctx, hits, of)
}

// view is one hit as the aligner sees it.
type view struct {
	hit     int
	start   int64     // frame of raw[0]
	raw     []float32 // as recorded
	y       []float64 // through the high-pass
	low     []float64 // y at the coarse rate
	at      float64   // the pick, in samples of raw
	from    int       // where in raw and y the view that lies over the average begins
	shift   float64   // how much later than from, in samples
	similar float64
}

type aligner struct {
	src           calib.Source
	channel       int
	rate          float64
	each          int       // samples in a coarse one
	length, reach int       // in coarse samples: of a view, of the search
	views         []*view   // of the hits that make the average
	model         []float64 // the average, at the coarse rate
	mean          []float64 // the average, at full rate
	slope         []float64 // its slope, a sample
	onset         float64   // where in the average the sound begins
	under         float64   // and what sounded before, as in Hit
}

func newAligner(src calib.Source, channel int) *aligner {
	rate := src.Rate()
	each := max(int(rate/coarseHz), 1)
	a := &aligner{src: src, channel: channel, rate: rate, each: each}
	a.length = int((alignBeforeS + alignAfterS) * rate / float64(each))
	a.reach = int(alignReachS * rate / float64(each))
	return a
}

// read reads the sound round some of the hits.
func (a *aligner) read(ctx context.Context, hits []Hit, of func(int) bool) error {
	views := make([]*view, len(hits))
	err := inParallel(ctx, len(hits), func(i int) (err error) {
		if of(i) {
			views[i], err = a.view(i, hits[i])
		}
		return err
	})
	a.views = slices.DeleteFunc(views, func(v *view) bool { return v == nil })
	return err
}

// view reads the sound round a hit; nil where the take does not reach that far.
func (a *aligner) view(i int, h Hit) (*view, error) {
	warm := int(warmS * a.rate)
	start := int64((h.TimeS-alignBeforeS)*a.rate) - int64(a.reach*a.each)
	if start < int64(warm) {
		return nil, nil
	}
	raw := make([]float32, warm+(a.length+2*a.reach)*a.each)
	got, err := a.src.ReadAt(raw, a.channel, start-int64(warm))
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if got < len(raw) {
		return nil, nil
	}
	v := &view{hit: i, start: start, at: h.TimeS*a.rate - float64(start), raw: raw[warm:], y: runHighPass(raw, warm, a.rate)}
	for j := 0; j+a.each <= len(v.y); j += a.each {
		v.low = append(v.low, mean(v.y[j:j+a.each]))
	}
	return v, nil
}

// coarse lays every hit over one of the louder ones, and then over the average.
func (a *aligner) coarse() {
	byEnergy := slices.Clone(a.views)
	slices.SortFunc(byEnergy, func(v, w *view) int { return sign(energy(v.low) - energy(w.low)) })
	a.model = slices.Clone(byEnergy[len(byEnergy)*3/4].low[a.reach:][:a.length])
	for range 3 {
		next := make([]float64, a.length)
		for _, v := range a.views {
			a.lay(v)
			if v.similar > alike {
				x := v.low[v.from/a.each:][:a.length]
				floats.AddScaled(next, 1/math.Sqrt(energy(x)), x)
			}
		}
		if energy(next) > 0 {
			a.model = next
		}
	}
}

// lay lays a hit over the coarse average.
func (a *aligner) lay(v *view) {
	at, similar := best(v.low, a.model)
	v.from, v.shift, v.similar = at*a.each, 0, similar
}

// best returns where in x the model fits best, and how well: by the tops of the
// waves that the fit makes, for a tone has few samples to a cycle here, and the
// highest of them may lie a cycle away.
func best(x, model []float64) (at int, similar float64) {
	fits := fitness(x, model)
	for i, s := range fits {
		if i > 0 && i+1 < len(fits) && s > fits[i-1] && s >= fits[i+1] {
			s = crest(fits[i-1], s, fits[i+1])
		}
		if s > similar {
			at, similar = i, s
		}
	}
	return at, similar
}

// crest returns the amplitude of the sinusoid through three neighbours, of which
// the middle one is the highest; of one with fewer than four samples to a cycle
// they do not tell.
func crest(before, at, after float64) float64 {
	cos := (before + after) / (2 * at)
	if !(cos > 0 && cos < 1) {
		return at
	}
	most := at / math.Sqrt((1+cos)/2) // the top lies at most half a sample away
	return math.Min(math.Hypot(at, (after-before)/2/math.Sqrt(1-cos*cos)), most)
}

// fitness returns how well the model fits each place of x, as a correlation.
func fitness(x, model []float64) []float64 {
	size := math.Sqrt(energy(model))
	left := energy(x[:len(model)])
	fits := make([]float64, len(x)-len(model)+1)
	for i := range fits {
		if i > 0 {
			left += x[i+len(model)-1]*x[i+len(model)-1] - x[i-1]*x[i-1]
		}
		fits[i] = dot(model, x[i:i+len(model)]) / (size*math.Sqrt(math.Max(left, 0)) + silence)
	}
	return fits
}

func (a *aligner) typical() float64 {
	var s []float64
	for _, v := range a.views {
		s = append(s, v.similar)
	}
	return median(s)
}

// fineRounds is how often a hit is moved to where it fits best.
const fineRounds = 3

// fine makes the average at full rate and moves each hit to where it fits best.
func (a *aligner) fine() {
	x := make([]float64, a.length*a.each)
	for round := range fineRounds {
		a.average()
		for _, v := range a.views {
			if v.similar > alike {
				a.nudge(v, x, round == 0)
			}
		}
		a.centre()
	}
	a.average()
}

// average makes the mean of the hits, each shifted to where it fits.
func (a *aligner) average() {
	n := a.length * a.each
	a.mean, a.slope = make([]float64, n), make([]float64, n)
	x := make([]float64, n)
	for _, v := range a.views {
		if v.similar > alike {
			shifted(x, v.y, v.from, v.shift)
			floats.AddScaled(a.mean, 1/math.Sqrt(energy(x)), x)
		}
	}
	for i := 1; i+1 < n; i++ {
		a.slope[i] = (a.mean[i+1] - a.mean[i-1]) / 2
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
// average's slope. In x is room for the average.
func (a *aligner) nudge(v *view, x []float64, wide bool) {
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
	shifted(x, v.y, v.from, v.shift)
	t, slope := a.mean, a.slope
	size, ss := dot(x, t)/energy(t), energy(slope)
	if size > 0 && ss > 0 {
		v.shift -= min(max((dot(x, slope)-size*dot(t, slope))/(size*ss), -0.5), 0.5)
	}
}

// shifted fills y with samples of x from a place between samples on.
func shifted(y, x []float64, from int, shift float64) {
	whole := math.Floor(shift)
	from += int(whole)
	part := shift - whole
	var taps [2 * sincTaps]float64
	for k := range taps {
		d := float64(k-sincTaps+1) - part // from the place to the sample
		taps[k] = sinc(d) * (0.5 + 0.5*math.Cos(math.Pi*d/sincTaps))
	}
	// Where a tap would lie outside, the sample itself must do.
	n := len(y)
	lo := min(max(sincTaps-1-from, 0), n)
	hi := max(min(len(x)-sincTaps-from, n), lo)
	clear(y)
	for i := range y {
		if at := from + i; (i < lo || i >= hi) && at >= 0 && at < len(x) {
			y[i] = x[at]
		}
	}
	for k, c := range taps {
		if lo < hi {
			floats.AddScaled(y[lo:hi], c, x[from+lo-sincTaps+1+k:][:hi-lo])
		}
	}
}

func sinc(x float64) float64 {
	if math.Abs(x) < 1e-9 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// settle picks the average once.
func (a *aligner) settle() {
	lead := int(alignLeadS * a.rate)
	sum := make([]float64, lead+len(a.mean))
	x, y := make([]float64, (a.length+2*a.reach)*a.each), make([]float64, len(sum))
	var offs []float64
	for _, v := range a.views {
		if v.similar <= alike {
			continue
		}
		for i, s := range v.raw {
			x[i] = finite(s)
		}
		size := math.Sqrt(energy(a.mean)) / math.Sqrt(energy(v.y))
		shifted(y, x, v.from-lead, v.shift)
		floats.AddScaled(sum, size, y)
		offs = append(offs, v.at-float64(v.from-lead)-v.shift)
	}
	a.pick(sum, median(offs))
	a.onset -= float64(lead)
}

// move returns the hits with their new times: those of the average, and the
// others, read only now and one by one.
func (a *aligner) move(ctx context.Context, hits []Hit, of func(int) bool) ([]Hit, error) {
	moved := slices.Clone(hits)
	for _, v := range a.views {
		a.moveOne(&moved[v.hit], v)
	}
	return moved, inParallel(ctx, len(hits), func(i int) error {
		if of(i) {
			return nil
		}
		v, err := a.view(i, hits[i])
		if v == nil {
			return err
		}
		a.lay(v)
		x := make([]float64, len(a.mean))
		for round := range fineRounds {
			a.nudge(v, x, round == 0)
		}
		a.moveOne(&moved[i], v)
		return nil
	})
}

// moveOne moves a hit to where its sound begins, if it is like the average.
func (a *aligner) moveOne(h *Hit, v *view) {
	if v.similar <= alike {
		return
	}
	was := h.TimeS
	h.TimeS = (float64(v.start) + float64(v.from) + v.shift + a.onset) / a.rate
	h.mainS += h.TimeS - was
	h.under = min(h.under, a.under)
}

// pick picks the average, in which most hits were picked at usual. What sounded before them
// at random is less in it, and may uncover a first stage.
func (a *aligner) pick(raw []float64, usual float64) {
	a.onset, a.under = usual, 1
	at := int(usual + guardS/2*a.rate) // where such a hit would have triggered
	o, ok := pick(raw, min(max(at, 0), len(raw)-1), 0, a.rate)
	if !ok {
		return
	}
	if math.Abs(o.main-usual) < math.Abs(o.first-usual) {
		o.first = o.main
	}
	if early := usual - o.first; early < earlierS*a.rate && early > -onsetReachS*a.rate {
		a.onset, a.under = o.first, o.under
	}
}
