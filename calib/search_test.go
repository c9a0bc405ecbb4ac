package calib

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// fitAtOnce is Fit by gonum's QR decomposition of all observations at once, each
// with an uncertainty.
func fitAtOnce(points []Point, prior Prior) Law {
	var free []int
	var rows, rhs []float64
	observe := func(g [3]float64, y, sd float64) {
		for i, b := range prior.beliefs() {
			if b.SD == 0 {
				y -= g[i] * b.Mean
			} else {
				rows = append(rows, g[i]/sd)
			}
		}
		rhs = append(rhs, y/sd)
	}
	for i, b := range prior.beliefs() {
		if b.SD > 0 {
			free = append(free, i)
		}
		if b.SD > 0 && !math.IsInf(b.SD, 1) {
			var unit [3]float64
			unit[i] = 1
			observe(unit, b.Mean, b.SD)
		}
	}
	for _, p := range points {
		observe(design(p.PeriodMS, float64(p.Setting)), p.LagMS, p.SDMS)
	}
	n, k := len(rhs), len(free)
	a := mat.NewDense(n, k, rows)
	var qr mat.QR
	qr.Factorize(a)
	var x, residual mat.VecDense
	b := mat.NewVecDense(n, rhs)
	qr.SolveVecTo(&x, false, b) // the error only says that columns differ in size
	residual.MulVec(a, &x)
	residual.SubVec(b, &residual)
	var r, inv, cov mat.Dense
	qr.RTo(&r)
	inv.Inverse(r.Slice(0, k, 0, k))
	cov.Mul(&inv, inv.T())

	values := [3]float64{prior.Delay.Mean, prior.Offset.Mean, prior.Step.Mean}
	law := Law{ChiSquared: mat.Dot(&residual, &residual), DOF: n - k}
	for i, p := range free {
		values[p] = x.AtVec(i)
		law.logInfo += 2 * math.Log(math.Abs(r.At(i, i)))
		for j, q := range free {
			law.Cov[p][q] = cov.At(i, j)
		}
	}
	law.DelayMS, law.OffsetBeats, law.StepBeats = values[0], values[1], values[2]
	return law
}

// sameLaw says where two laws differ by more than rounding: parameters are held
// against their standard deviations.
func sameLaw(got, want Law) error {
	const rounding = 1e-7
	off := func(what string, got, want, scale float64) error {
		if math.Abs(got-want) <= rounding*scale {
			return nil
		}
		return fmt.Errorf("%s = %.15g, at once %.15g", what, got, want)
	}
	x, y := [3]float64{got.DelayMS, got.OffsetBeats, got.StepBeats}, [3]float64{want.DelayMS, want.OffsetBeats, want.StepBeats}
	errs := []error{
		off("chi-squared", got.ChiSquared, want.ChiSquared, 1+want.ChiSquared),
		off("log of the information", got.logInfo, want.logInfo, 1),
		off("degrees of freedom", float64(got.DOF), float64(want.DOF), 0),
	}
	for i := range x {
		sd := math.Sqrt(want.Cov[i][i])
		errs = append(errs, off(fmt.Sprint("parameter ", i), x[i], y[i], sd+1e-9*math.Abs(y[i])))
		for j := range x {
			errs = append(errs, off(fmt.Sprint("covariance ", i, j), got.Cov[i][j], want.Cov[i][j], sd*math.Sqrt(want.Cov[j][j])))
		}
	}
	return errors.Join(errs...)
}

// heard draws what a machine's takes may say, and what is known of it.
func heard(rt *rapid.T) ([]Point, Prior) {
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 7))
	law := Law{DelayMS: 60 + 400*rng.Float64(), OffsetBeats: rng.Float64() - 0.5, StepBeats: 1 / (20 + 200*rng.Float64())}
	prior := Prior{Delay: usualDelay, Offset: usualOffset, Step: usualStep}
	if rapid.Bool().Draw(rt, "step known") {
		prior.Step = Belief{Mean: law.StepBeats * (1 + 0.05*rng.NormFloat64())}
	}
	if rapid.Bool().Draw(rt, "anywhere") {
		prior.Elsewhere = 0.1 + 0.8*rng.Float64()
	}
	if rapid.Bool().Draw(rt, "pins known") {
		prior.Offset.SD = 0
	}
	jitter := math.Pow(10, -1.5+3*rng.Float64())
	points := make([]Point, rapid.IntRange(1, 25).Draw(rt, "points"))
	for i := range points {
		p := &points[i]
		p.PeriodMS, p.Setting, p.SDMS = 300+900*rng.Float64(), rng.IntN(201)-100, jitter*(0.5+rng.Float64())
		lag, _ := law.Lag(p.PeriodMS, float64(p.Setting))
		p.LagMS = lag + (1+3*rng.Float64())*p.SDMS*rng.NormFloat64()
		if rng.IntN(4) > 0 {
			p.WrapMS = p.PeriodMS / float64(1+rng.IntN(2))
			p.LagMS = math.Remainder(p.LagMS, p.WrapMS)
		}
	}
	return points, prior
}

// Observations that join one at a time give the law that all at once give, by
// gonum's QR decomposition.
func TestFitIsThatOfAllAtOnce(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		points, prior := heard(rt)
		if rapid.Bool().Draw(rt, "nothing known of D") && len(points) > 1 {
			prior.Delay.SD = math.Inf(1)
		}
		got, err := Fit(points, prior)
		if err != nil {
			rt.Fatal(err)
		}
		if err := sameLaw(got, fitAtOnce(points, prior)); err != nil {
			rt.Error(err)
		}
	})
}

// thought is an explanation as explainAtOnce follows it.
type thought struct {
	points    []Point
	elsewhere bool
	law       Law
	doubt     float64
}

// explainAtOnce is the search of Explain with all readings fitted again for each
// whole beat tried, in time that grows with their square.
func explainAtOnce(points []Point, prior Prior) []thought {
	live := []thought{{law: Law{DelayMS: prior.Delay.Mean, OffsetBeats: prior.Offset.Mean, StepBeats: prior.Step.Mean}}}
	if prior.Elsewhere > 0 {
		live = append(live, live[0])
		live[1].elsewhere = true
	}
	for i, p := range points {
		var next []thought
		for _, t := range live {
			expected, _ := t.law.Lag(p.PeriodMS, float64(p.Setting))
			lags := []float64{p.LagMS}
			if p.WrapMS > 0 {
				nearest := p.LagMS + p.WrapMS*math.Round((expected-p.LagMS)/p.WrapMS)
				if lags = []float64{nearest}; i > 0 || !t.elsewhere {
					lags = append(lags, nearest-p.WrapMS, nearest+p.WrapMS)
				}
			}
			for _, lag := range lags {
				q := p
				q.LagMS = lag
				grown := thought{points: append(slices.Clip(t.points), q), elsewhere: t.elsewhere}
				grown.law = fitAtOnce(grown.points, prior.at(t.elsewhere))
				grown.doubt = grown.law.ChiSquared + grown.law.logInfo + prior.charge(t.elsewhere)
				next = append(next, grown)
			}
		}
		slices.SortStableFunc(next, func(a, b thought) int { return cmp.Compare(a.doubt, b.doubt) })
		live = next[:min(len(next), keepExplanations)]
		possible := slices.DeleteFunc(slices.Clone(live), func(t thought) bool {
			return math.Abs(t.law.DelayMS-prior.Delay.Mean) > noSuchDelay*prior.Delay.SD
		})
		if len(possible) > 0 {
			live = possible
		}
	}
	return live
}

// The explanations are those of a search that fits all readings again each time, in
// the same order, with the same laws and odds.
func TestExplainIsThatOfAllAtOnce(t *testing.T) {
	several := 0
	rapid.Check(t, func(rt *rapid.T) {
		points, prior := heard(rt)
		ways, err := Explain(points, prior)
		if err != nil {
			rt.Fatal(err)
		}
		want := explainAtOnce(points, prior)
		excess := want[0].law.excess()
		likely := func(w thought) float64 { return want[0].doubt + clearlyWorse*excess - w.doubt }
		n := 0
		for n < len(want) && likely(want[n]) >= 0 {
			n++
		}
		if len(ways) != n {
			rt.Fatalf("%d explanations, want %d: the next is %g from being one", len(ways), n, likely(want[min(n, len(want)-1)]))
		}
		if n > 1 {
			several++
		}
		for i, e := range ways {
			w := want[i]
			w.law.widen(w.law.excess())
			if err := sameLaw(e.Law, w.law); err != nil {
				rt.Errorf("explanation %d: %v", i, err)
			}
			if e.Elsewhere != w.elsewhere || !slices.Equal(e.Points, w.points) {
				rt.Errorf("explanation %d is another: elsewhere %v, points\n%v, want\n%v", i, e.Elsewhere, e.Points, w.points)
			}
			if got, want := e.Chance/ways[0].Chance, math.Exp((want[0].doubt-w.doubt)/(2*excess)); math.Abs(got-want) > 1e-6 {
				rt.Errorf("explanation %d is %g times as likely as the first, want %g", i, got, want)
			}
		}
	})
	t.Logf("several explanations in %d cases", several)
	if several == 0 {
		t.Error("no case had several explanations")
	}
}

// BenchmarkExplain shows that the time grows in proportion to the points.
func BenchmarkExplain(b *testing.B) {
	law := Law{DelayMS: 240, StepBeats: 1.0 / 72}
	for _, n := range []int{10, 100, 1000} {
		var points []Point
		for i := range n {
			period := 400 + 600*float64(i%60)/60
			lag, _ := law.Lag(period, float64(i%60))
			points = append(points, Point{PeriodMS: period, Setting: i % 60, LagMS: lag, SDMS: 0.5, WrapMS: period})
		}
		b.Run(fmt.Sprint(n, " points"), func(b *testing.B) {
			for b.Loop() {
				if _, err := Explain(points, PlatePrior(Plate{})); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
