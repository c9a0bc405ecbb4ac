package signal

import (
	"cmp"
	"context"
	"lagwright/calib"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

const (
	alignBeforeS = 0.012 // of each hit, before its pick, are compared
	alignAfterS  = 0.022 // and after it
	alignReachS  = 0.010 // a pick is at most this far off
	alignLeadS   = 0.020 // of sound before that, in the average, teach its noise
	onsetReachS  = 0.001 // the average's pick is at most this much later than where most hits were picked
	earlierS     = 0.020 // and earlier: so long before the loudest a first stage may be
	coarseHz     = 12000 // rate at which hits are laid over each other at first
	alike        = 0.60  // correlation below which a hit keeps its own pick
	fewAlike     = 3     // hits that make an average
	alignHz      = 16000 // rate below which a rise has too few samples: many picks of it are better than one
	sincTaps     = 8     // samples either side that tell what lies between two
	modelMost    = 128   // hits that make the average, and are kept in memory, at most
)

// align makes the times of hits of one sound agree to a fraction of a sample.
// Each hit is laid over the average of all, or of modelMost spread over the take,
// by cross-correlation, finely by least squares, and the moment the sound begins
// is picked once, on the average, in which the noise is less. Hits unlike the
// others keep their own picks. It also returns where else that moment may be, and fails where
// the channel cannot be read or ctx ends.
func align(ctx context.Context, src calib.Source, channel int, hits, other []Hit) ([]Hit, open, error) {
	if len(hits) < fewAlike || src.Rate() < alignHz {
		return hits, open{}, nil
	}
	rate, each := src.Rate(), max(int(src.Rate()/coarseHz), 1)
	coarse := func(s float64) int { return int(s * rate / float64(each)) }
	a := &aligner{src: src, channel: channel, rate: rate, each: each, lead: int(alignLeadS * rate),
		length: coarse(alignBeforeS + alignAfterS), reach: coarse(alignReachS)}
	// Spread evenly, but not always by as many hits: they may take turns in a bar.
	of := func(i int) bool { return i*modelMost/len(hits) != (i-1)*modelMost/len(hits) }
	if err := a.read(ctx, hits, of); err != nil || len(a.views) < fewAlike {
		return hits, open{}, err
	}
	a.coarse()
	a.views = slices.DeleteFunc(a.views, func(v *view) bool { return v.similar <= alike })
	a.fine()
	if err := a.settle(times(other)); err != nil {
		return hits, open{}, err
	}
	moved, err := a.move(ctx, hits, of)
	return moved, a.other, err
}

// view is one hit as the aligner sees it.
type view struct {
	hit     int
	start   int64     // frame of y[0]
	y       []float64 // through the high-pass
	low     []float64 // y at the coarse rate
	at      float64   // the pick, in samples of y
	from    int       // where in y the view that lies over the average begins
	shift   float64   // how much later than from, in samples
	similar float64
}

type aligner struct {
	src           calib.Source
	channel       int
	rate          float64
	each, lead    int       // samples in a coarse one, and in alignLeadS
	length, reach int       // in coarse samples: of a view, of the search
	views         []*view   // of the hits that make the average
	model         []float64 // the average, at the coarse rate
	mean          []float64 // the average, at full rate
	slope         []float64 // its slope, a sample
	onset         float64   // where in the average the sound begins
	hides         float64   // as in Hit
	other         open      // where else
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
	start := int64((h.TimeS-alignBeforeS)*a.rate) - int64(a.reach*a.each)
	y, err := highPassed(a.src, a.channel, start, (a.length+2*a.reach)*a.each)
	if y == nil {
		return nil, err
	}
	v := &view{hit: i, start: start, at: h.TimeS*a.rate - float64(start), y: slices.Clone(y)} // without what came before: many are kept
	for j := 0; j+a.each <= len(v.y); j += a.each {
		v.low = append(v.low, mean(v.y[j:j+a.each]))
	}
	return v, nil
}

// coarse lays every hit over one of the louder ones, and then over the average.
func (a *aligner) coarse() {
	byEnergy := slices.Clone(a.views)
	slices.SortFunc(byEnergy, func(v, w *view) int { return cmp.Compare(energy(v.low), energy(w.low)) })
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

// fineRounds is how often a hit is moved to where it fits best.
const fineRounds = 3

// fine makes the average at full rate and moves each hit to where it fits best.
func (a *aligner) fine() {
	x := make([]float64, a.length*a.each)
	for round := range fineRounds {
		a.average()
		for _, v := range a.views {
			a.nudge(v, x, round == 0)
		}
	}
	a.average()
}

// average makes the mean of the hits, each shifted to where it fits.
func (a *aligner) average() {
	n := a.length * a.each
	a.mean, a.slope = make([]float64, n), make([]float64, n)
	x := make([]float64, n)
	for _, v := range a.views {
		shifted(x, v.y, v.from, v.shift)
		floats.AddScaled(a.mean, 1/math.Sqrt(energy(x)), x)
	}
	for i := 1; i+1 < n; i++ {
		a.slope[i] = (a.mean[i+1] - a.mean[i-1]) / 2
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

// settle picks the average once, that of the other channel's hits given. What sounded before
// the hits at random is less in it, and may uncover a first stage: the sound that first
// arrives is the strike, unless it is likelier to be the leak of the other channel's hits.
func (a *aligner) settle(otherS []float64) error {
	sum := make([]float64, a.lead+len(a.mean))
	y := make([]float64, len(sum))
	var offs []float64
	for _, v := range a.views {
		raw, err := recorded(a.src, a.channel, v.start-int64(a.lead), a.lead+len(v.y))
		if err != nil {
			return err
		}
		size := math.Sqrt(energy(a.mean)) / math.Sqrt(energy(v.y))
		shifted(y, floats64(raw), v.from, v.shift)
		floats.AddScaled(sum, size, y)
		offs = append(offs, v.at-float64(v.from)-v.shift)
	}
	a.onset, a.hides = median(offs), math.Inf(1)
	usual := a.onset + float64(a.lead)
	at := int(usual + guardS/2*a.rate) // where such a hit would have triggered
	quiet := int(usual - (earlierS+guardS/2)*a.rate)
	o, ok := pick(sum, min(max(at, 0), len(sum)-1), 0, quiet, len(a.views), a.rate)
	early := usual - o.first
	if !ok || math.Abs(early) > earlierS*a.rate {
		return nil
	}
	// How likely are the picks right? What lies between is a leak, or their own.
	p := a.leaks(math.Min(usual, o.first)-float64(a.lead), math.Abs(early), otherS)
	if early < 0 {
		p = 1 - p
	}
	a.other = open{p, early / a.rate}
	if p > 0.5 && (early > 0 || early < -onsetReachS*a.rate) {
		a.other.p = 1 - p
	} else {
		a.onset, a.hides = o.first-float64(a.lead), o.hides
	}
	return nil
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
	h.hides = min(h.hides, a.hides)
}

const (
	stageS   = 0.0015 // s of a first stage, at most, that tell whose it is
	stageDOF = 6      // degrees of freedom of how alike it is
)

// leaks returns how likely it is that what begins at a place of the average, a while before
// most hits were picked, is the leak of the other channel's hits: then it keeps its distance
// to them, and the views are more alike there as those lay them than as the hits' own do.
func (a *aligner) leaks(at, early float64, otherS []float64) float64 {
	n := int(math.Min(early-leadS*a.rate, stageS*a.rate))
	if n < int(mainS*a.rate/2) {
		return 0
	}
	var places, late []float64
	var views []*view
	for _, v := range a.views {
		place := float64(v.from) + v.shift + at
		i, _ := slices.BinarySearch(otherS, (float64(v.start)+place)/a.rate-earlierS)
		if i < len(otherS) && otherS[i]*a.rate < float64(v.start)+place+leakEarlyS*a.rate {
			views, places = append(views, v), append(places, place)
			late = append(late, float64(v.start)+place-otherS[i]*a.rate)
		}
	}
	if len(views) < fewAlike {
		return 0
	}
	usual := median(slices.Clone(late))
	// semblance is how much of the views' energy, each at its place, their sum keeps (Neidell and
	// Taner (1971), Geophysics 36:482-497, from memory), times their number.
	semblance := func(place func(i int) float64) float64 {
		sum, x, all := make([]float64, n), make([]float64, n), 0.0
		for i, v := range views {
			shifted(x, v.y, 0, place(i))
			floats.AddScaled(sum, 1/math.Sqrt(energy(v.y)), x)
			all += energy(x) / energy(v.y)
		}
		return energy(sum) / (all + silence)
	}
	own, its := semblance(func(i int) float64 { return places[i] }), semblance(func(i int) float64 { return places[i] - late[i] + usual })
	return 1 / (1 + math.Pow((own+silence)/(its+silence), stageDOF/2))
}
