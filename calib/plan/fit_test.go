package plan

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.15g, want %.15g ± %g", what, got, want, tol)
	}
}

var unknown = calib.Belief{SD: math.Inf(1)}

// straight is a machine of which nothing is known but its step.
var straight = Knowledge{Voices: 1, Prior: calib.Prior{Delay: unknown, Offset: unknown, Step: calib.Belief{Mean: 1}}}

// line fits the straight line y = D + A·x with the joint fit.
func line(t *testing.T, k Knowledge, x, y, u []float64) (Posterior, calib.Law) {
	t.Helper()
	var takes []Take
	for i := range x {
		takes = append(takes, Take{ID: i, Heard: []Observation{known(0, calib.Point{PeriodMS: x[i], LagMS: y[i], SDMS: u[i%len(u)]})}})
	}
	m := must.Get(Fit(k, takes))(t)
	return m, m.Law(0)
}

// ISO/TS 28037:2010, straight lines with known uncertainties, equal and unequal
// (values remembered and recomputed, the document was not opened).
func TestFitKnownUncertainties(t *testing.T) {
	for _, c := range []struct {
		y, u                     []float64
		a, b, ua, ub, cov, chisq float64
	}{
		{[]float64{3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, []float64{0.5}, 1.867, 1.757, 0.465, 0.120, -0.050, 1.665},
		{[]float64{3.2, 4.3, 7.6, 8.6, 11.7, 12.8}, []float64{0.5, 0.5, 0.5, 1, 1, 1}, 0.885, 2.057, 0.530, 0.178, -0.082, 4.131},
	} {
		x := []float64{1, 2, 3, 4, 5, 6}
		_, law := line(t, straight, x, c.y, c.u)
		chisq := 0.0
		for i := range x {
			lag, _ := law.Lag(x[i], 0)
			chisq += square((c.y[i] - lag) / c.u[i%len(c.u)])
		}
		const printed = 0.0006 // three decimals are printed
		near(t, "a", law.DelayMS, c.a, printed)
		near(t, "b", law.OffsetBeats, c.b, printed)
		near(t, "u(a)", math.Sqrt(law.Cov[0][0]), c.ua, printed)
		near(t, "u(b)", math.Sqrt(law.Cov[1][1]), c.ub, printed)
		near(t, "cov(a,b)", law.Cov[0][1], c.cov, printed)
		near(t, "chi-squared", chisq, c.chisq, printed)
	}
}

// JCGM 100:2008, H.3, Table H.6, with the residual standard deviation as the
// uncertainty of each point: the GUM prints it as 0.0035 (from memory), its digits are
// worked out here by gonum's least squares. All other digits are from the GTC
// documentation (docs/API/GUM_H3). Leaving the covariance out would give
// u(b(30 °C)) = 0.0073.
func TestFitGUMH3(t *testing.T) {
	x := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	y := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	for i := range x {
		x[i] -= 20
	}
	s := residualSD(x, y)
	near(t, "s", s, 0.0035, 0.00005)
	_, law := line(t, straight, x, y, []float64{s})
	near(t, "y1", law.DelayMS, -0.17120379013135, 1e-9)
	near(t, "y2", law.OffsetBeats, 0.00218269773988730, 1e-10)
	near(t, "s(y2)", math.Sqrt(law.Cov[1][1]), 0.000667938773227823, 1e-10)
	b, u := law.Lag(10, 0)
	near(t, "b(30 °C)", b, -0.149376812732477, 1e-9)
	near(t, "u(b(30 °C))", u, 0.00413859575285495, 1e-9)
}

// JCGM 100:2008, H.5, Table H.9: means of five observations on each of ten days, which
// differ by more than their scatter within a day says; here 20 µV are a ms (from memory,
// recomputed: the mean, its standard uncertainty and F = 2.25 come out as in H.5.2). Days
// alone would make the uncertainty 12 µV.
func TestFitGUMH5(t *testing.T) {
	const mean, u = 97, 18 // µV
	const perMS = 20.0
	k := straight
	k.Prior.Offset, k.Prior.ScatterMS = calib.Belief{}, 1
	var takes []Take
	for i, day := range []struct{ mean, sd float64 }{{172, 60}, {116, 77}, {13, 111}, {144, 101}, {106, 67}, {31, 93}, {60, 80}, {125, 73}, {163, 88}, {41, 86}} {
		takes = append(takes, Take{ID: i, Heard: []Observation{{PeriodMS: 1000, LagMS: day.mean / perMS, ScatterMS: day.sd / math.Sqrt(5) / perMS, Hits: 5}}})
	}
	m := must.Get(Fit(k, takes))(t)
	near(t, "mean", m.Lag(0, Place{}, 1000)*perMS, mean, 2)
	near(t, "its uncertainty", sdOf(m, 0, 1000)*perMS, u, 2)
	if found := m.Findings(); len(found) > 0 {
		t.Errorf("found %+v", found)
	}
}

// NIST StRD, datasets Norris and NoInt1: certified values.
func TestFitNIST(t *testing.T) {
	norris := []float64{
		0.1, 0.2, 338.8, 337.4, 118.1, 118.2, 888.0, 884.6, 9.2, 10.1, 228.1, 226.5,
		668.5, 666.3, 998.5, 996.3, 449.1, 448.6, 778.9, 777.0, 559.2, 558.2, 0.3, 0.4,
		0.1, 0.6, 778.1, 775.5, 668.8, 666.9, 339.3, 338.0, 448.9, 447.5, 10.8, 11.6,
		557.7, 556.0, 228.3, 228.1, 998.0, 995.8, 888.8, 887.6, 119.6, 120.2, 0.3, 0.3,
		0.6, 0.3, 557.6, 556.8, 339.3, 339.1, 888.0, 887.2, 998.5, 999.0, 778.9, 779.0,
		10.2, 11.1, 117.6, 118.3, 228.9, 229.2, 668.4, 669.1, 449.2, 448.9, 0.2, 0.5,
	}
	var x, y []float64
	for i := 0; i < len(norris); i += 2 {
		y, x = append(y, norris[i]), append(x, norris[i+1])
	}
	s := math.Sqrt(0.782864662630069) // residual mean square
	_, law := line(t, straight, x, y, []float64{s})
	near(t, "B0", law.DelayMS, -0.262323073774029, 1e-8)
	near(t, "B1", law.OffsetBeats, 1.00211681802045, 1e-10)
	near(t, "sd B0", math.Sqrt(law.Cov[0][0]), 0.232818234301152, 1e-8)
	near(t, "sd B1", math.Sqrt(law.Cov[1][1]), 0.429796848199937e-03, 1e-11)

	through := straight // y = B1·x, no intercept
	through.Prior.Delay = calib.Belief{}
	x, y = nil, nil
	for i := range 11 {
		x, y = append(x, 60+float64(i)), append(y, 130+float64(i))
	}
	_, law = line(t, through, x, y, []float64{math.Sqrt(12.7272727272727)})
	near(t, "NoInt1 B1", law.OffsetBeats, 2.07438016528926, 1e-9)
	near(t, "NoInt1 sd B1", math.Sqrt(law.Cov[1][1]), 0.165289256198347e-01, 1e-9)
}

// residualSD is that of least squares by gonum, with two parameters.
func residualSD(x, y []float64) float64 {
	a, b := stat.LinearRegression(x, y, nil, false)
	var sum float64
	for i := range x {
		sum += square(y[i] - a - b*x[i])
	}
	return math.Sqrt(sum / float64(len(x)-2))
}

// Telephone calls in Belgium, 1950 to 1973 (Rousseeuw and Leroy 1987, table 2, as
// quoted in R's MASS, phones, in millions of calls): from 1964 to 1969 another
// quantity was recorded. The years that are no calls have to be told, and the line
// has to be that of gonum's least squares through the years that are left, far from
// that through all (slope 5.04, as R's lm has it, from memory).
func TestFitSetsBadReadingsAside(t *testing.T) {
	calls := []float64{4.4, 4.7, 4.7, 5.9, 6.6, 7.3, 8.1, 8.8, 10.6, 12.0, 13.5, 14.9, 16.1, 21.2, 119, 124, 142, 159, 182, 212, 43, 24, 27, 29}
	var year []float64
	for i := range calls {
		year = append(year, 50+float64(i))
	}
	m, law := line(t, straight, year, calls, []float64{1.5})
	aside := map[int]bool{}
	for _, f := range m.Findings() {
		if f.Kind == Bad {
			aside[1950+f.Take] = true
		}
	}
	for y := 1964; y <= 1969; y++ {
		if !aside[y] {
			t.Errorf("%d is not set aside: %v", y, aside)
		}
	}
	_, all := stat.LinearRegression(year, calls, nil, false)
	near(t, "slope of least squares through all", all, 5.04, 0.005)
	var years, left []float64
	for i, y := range year {
		if !aside[1900+int(y)] {
			years, left = append(years, y), append(left, calls[i])
		}
	}
	a, b := stat.LinearRegression(years, left, nil, false)
	near(t, "slope", law.OffsetBeats, b, 0.01)
	near(t, "1960", law.DelayMS+60*law.OffsetBeats, a+60*b, 0.1)
}

// TestVoiceByVoiceIsDense holds the sums voice by voice against gonum's dense inverse.
func TestVoiceByVoiceIsDense(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		voices := rapid.IntRange(1, 4).Draw(t, "voices")
		k := Knowledge{Voices: voices, Prior: calib.PlatePrior(calib.Plate{})}
		anywhere := rapid.Bool().Draw(t, "anywhere")
		models := k.models([]Take{{Came: 1}, {Came: -1}}) // that with backlash comes last, anywhere after near
		m := &models[len(models)-1]
		if !anywhere {
			m = &models[len(models)-2]
		}
		sd := backlashSteps * k.Prior.Step.Mean
		mean := row{k.Prior.Delay.Mean, k.Prior.Offset.Mean, k.Prior.Step.Mean}
		w := k.start(m)
		n := 2 + 2*voices
		start := n // the start comes last
		if anywhere {
			n++
		}
		info, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		prior := []float64{k.Prior.Step.SD, sd}
		for range voices {
			prior = append(prior, k.Prior.Delay.SD, m.offset)
		}
		if anywhere {
			prior = append(prior, calib.AnywhereBeats)
		}
		for i, sd := range prior {
			info.SetSym(i, i, 1/(sd*sd))
		}
		for range rapid.IntRange(1, 12).Draw(t, "readings") {
			v := rapid.IntRange(0, voices-1).Draw(t, "voice")
			g := gradient(rapid.Float64Range(300, 1000).Draw(t, "period"), rapid.IntRange(-40, 40).Draw(t, "setting"), rapid.IntRange(-1, 1).Draw(t, "came"))
			y, sd := rapid.Float64Range(-300, 600).Draw(t, "lag"), rapid.Float64Range(0.3, 5).Draw(t, "sd")
			full := mat.NewVecDense(n, nil)
			for i, place := range []int{2 + 2*v, 3 + 2*v, 0, 1} {
				full.SetVec(place, g[i])
			}
			if anywhere {
				full.SetVec(start, g[iS])
			}
			info.SymRankOne(info, 1/(sd*sd), full)
			expected := 0.0
			for i, mean := range mean {
				expected += g[i] * mean
			}
			rhs.AddScaledVec(rhs, (y-expected)/(sd*sd), full)
			w.observe(v, g, y, sd*sd)
		}
		for i, sd := range prior { // in units of what is believed: ms beside beats would cost the inverse its digits
			for j := i; j < n; j++ {
				info.SetSym(i, j, info.At(i, j)*sd*prior[j])
			}
		}
		var inverse mat.Dense
		if err := inverse.Inverse(info); err != nil {
			t.Skip(err)
		}
		inverse.Apply(func(i, j int, v float64) float64 { return v * prior[i] * prior[j] }, &inverse)
		var x mat.VecDense
		x.MulVec(&inverse, rhs)
		all := make([]int, voices)
		for v := range all {
			all[v] = v
		}
		if anywhere { // the joint covariance has the start in each A
			to := mat.NewDense(start, n, nil)
			for i := range start {
				to.Set(i, i, 1)
				if i >= 2 && i%2 == 1 {
					to.Set(i, start, 1)
				}
			}
			var half mat.Dense
			half.Mul(to, &inverse)
			inverse.Reset()
			inverse.Mul(&half, to.T())
		}
		of := w.parameters(all...)
		for i := range start {
			for j := range start {
				scale := math.Sqrt(inverse.At(i, i) * inverse.At(j, j))
				if got := w.cov(&of[i], &of[j]); math.Abs(got-inverse.At(i, j)) > 1e-6*scale {
					t.Fatalf("covariance %d, %d is %g, dense %g", i, j, got, inverse.At(i, j))
				}
			}
		}
		for v := range voices {
			near := func(what string, got, want, sd float64) {
				if math.Abs(got-want) > 1e-6*sd+1e-9*math.Abs(want) {
					t.Fatalf("%s of voice %d is %g, dense %g", what, v, got, want)
				}
			}
			offset := x.AtVec(3 + 2*v)
			if anywhere {
				offset += x.AtVec(start)
			}
			near("D", of[2+2*v].mean-mean[iD], x.AtVec(2+2*v), prior[2+2*v])
			near("A", of[3+2*v].mean-mean[iA], offset, prior[3+2*v])
			near("f", of[0].mean-mean[iF], x.AtVec(0), prior[0])
		}
	})
}

func TestFitRefuses(t *testing.T) {
	good := known(0, calib.Point{PeriodMS: 500, LagMS: 100, SDMS: 1})
	for _, c := range []struct {
		name  string
		k     Knowledge
		heard func(h *Observation)
		want  error
	}{
		{"no voice", Knowledge{Prior: straight.Prior}, func(*Observation) {}, ErrNothingKnown},
		{"no step to start from", Knowledge{Voices: 1}, func(*Observation) {}, ErrNothingKnown},
		{"NaN lag", straight, func(h *Observation) { h.LagMS = math.NaN() }, ErrBadTake},
		{"no period", straight, func(h *Observation) { h.PeriodMS = 0 }, ErrBadTake},
		{"a voice there is not", straight, func(h *Observation) { h.Voice = 1 }, ErrBadTake},
		{"no uncertainty", straight, func(h *Observation) { h.ScatterMS = 0 }, ErrBadTake},
		{"a lag of ages", straight, func(h *Observation) { h.LagMS = -1e160 }, ErrBadTake},
		{"a period of ages", straight, func(h *Observation) { h.PeriodMS = 1e200 }, ErrBadTake},
		{"scatter without bounds", straight, func(h *Observation) { h.ScatterMS = 1e200 }, ErrBadTake},
		{"a slope without bounds", straight, func(h *Observation) { h.Slope, h.SlopeSD = 1e200, 1 }, ErrBadTake},
		{"a slope surer than arithmetic", straight, func(h *Observation) { h.Slope, h.SlopeSD = 1, 1e-200 }, ErrBadTake},
	} {
		h := good
		c.heard(&h)
		for _, heard := range [][2]Observation{{h, h}, {good, h}, {h, good}} {
			if _, err := Fit(c.k, []Take{{Heard: heard[:1]}, {Heard: heard[1:]}}); !errors.Is(err, c.want) {
				t.Errorf("%s: error %v, want %v", c.name, err, c.want)
			}
		}
	}
}

// The logarithm of a hypothesis is that of prior and evidence: differences between
// hypotheses are those of the joint normal density of all readings, by gonum.
func TestHypothesesWeighAsTheirEvidence(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		k := Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{})}
		k.Prior.Elsewhere = 0
		beliefs := []calib.Belief{k.Prior.Delay, k.Prior.Offset, k.Prior.Step}
		var takes []Take
		var rows [][]float64
		for i := range rapid.IntRange(1, 6).Draw(t, "takes") {
			h := Observation{PeriodMS: rapid.Float64Range(400, 800).Draw(t, "period"), ScatterMS: rapid.Float64Range(0.5, 4).Draw(t, "sd")}
			h.LagMS = 220 + 40*rapid.Float64Range(-1, 1).Draw(t, "lag")
			takes = append(takes, Take{ID: i, Heard: []Observation{h}})
			rows = append(rows, []float64{1, h.PeriodMS, 0})
		}
		s := search{known: k, takes: takes, pools: pool(takes, 1)}
		s.run()
		fine := slices.IndexFunc(s.live, func(h *hypothesis) bool { return h.model.fault == Fine && h.faults == nil })
		if fine < 0 {
			t.Skip("no hypothesis without a fault is likely")
		}
		model := s.live[fine].model
		beliefs[1].SD = model.offset
		want := model.log + float64(len(takes)-1)*outcomes(nil, 0, 0, false, 1, 1, 1)[asTold].log
		cov, miss := mat.NewSymDense(len(takes), nil), make([]float64, len(takes))
		for i, g := range rows {
			miss[i] = takes[i].Heard[0].LagMS
			for v, b := range beliefs {
				miss[i] -= g[v] * b.Mean
			}
			for j := i; j < len(rows); j++ {
				for v, b := range beliefs {
					cov.SetSym(i, j, cov.At(i, j)+g[v]*rows[j][v]*b.SD*b.SD)
				}
			}
			cov.SetSym(i, i, cov.At(i, i)+square(takes[i].Heard[0].ScatterMS)+model.scatter)
		}
		var chol mat.Cholesky
		var solved mat.VecDense
		off := mat.NewVecDense(len(miss), miss)
		if !chol.Factorize(cov) || chol.SolveVecTo(&solved, off) != nil {
			t.Skip("the covariance is singular")
		}
		want -= (mat.Dot(off, &solved) + chol.LogDet() + float64(len(miss))*math.Log(2*math.Pi)) / 2
		if got := s.live[fine].log; math.Abs(got-want) > 1e-6*math.Max(1, math.Abs(want)) {
			t.Errorf("log %.9f, the joint density has %.9f", got, want)
		}
	})
}

// A builder's figures, read by eye to about 10 ms: common practice, no published
// source. From the first tempo's figures alone the law has to give the second
// tempo's within 15 ms and two steps; a constant rule in ms per step does not.
func TestLawCarriesToAnotherTempo(t *testing.T) {
	const (
		byEyeMS  = 10.0
		withinMS = 15.0
		within   = 2.0 // steps
	)
	first, second := calib.PeriodMS(90), calib.PeriodMS(140)
	var takes []Take
	for i, lag := range []float64{210, 110, 0} {
		takes = append(takes, Take{ID: i, Setting: 10 * i, Heard: []Observation{{PeriodMS: first, LagMS: lag, ScatterMS: byEyeMS}}})
	}
	m := must.Get(Fit(Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{})}, takes))(t)
	law := m.Law(0)
	for _, c := range []struct{ setting, seenMS float64 }{{20, 70}, {29, 10}, {30, 0}} {
		got, _ := law.Lag(second, c.setting)
		near(t, "lag by the law", got, c.seenMS, withinMS)
	}
	near(t, "setting at 140 BPM by the law", law.Setting(second), 30, within)
	const rule = 210.0 / 20 // ms per step, the same at every tempo
	if lag, setting := 210-rule*20, 20+70/rule; math.Abs(lag-70) <= withinMS || math.Abs(setting-30) <= within {
		t.Errorf("the constant rule gives %.0f ms and setting %.1f at 140 BPM, which should have been wrong", lag, setting)
	}
}

// known is a Heard whose uncertainty is known as it is, from a point of the
// single-voice law.
func known(voice int, p calib.Point) Observation {
	return Observation{Voice: voice, PeriodMS: p.PeriodMS, LagMS: p.LagMS, WrapMS: p.WrapMS, ScatterMS: p.SDMS}
}

// What all takes of a voice have alike does not shrink by their number: with one take the
// lag is as sure as that take says, and with many no surer than what they share.
func TestSharedErrorIsNotAveragedAway(t *testing.T) {
	const own, shared = 0.4, 0.5
	k := Knowledge{Voices: 2, Prior: calib.Prior{Delay: unknown, Offset: calib.Belief{}, Step: calib.Belief{Mean: 1}}}
	var takes []Take
	for n, want := range []float64{1: math.Hypot(own, shared), 16: math.Hypot(own/4, shared)} {
		if n > 0 {
			takes = append(takes, Take{ID: n, Heard: []Observation{
				{Voice: 0, PeriodMS: 600, LagMS: 30, OtherMS: own, SharedMS: shared}, {Voice: 1, PeriodMS: 600, LagMS: 30, OtherMS: own}}})
		}
		if want == 0 {
			continue
		}
		m := must.Get(Fit(k, takes))(t)
		near(t, "sd of a lag", sdOf(m, 0, 600), want, 0.05) // a chance that a reading was bad is in it
		near(t, "sd by the law", math.Sqrt(m.Law(0).Cov[0][0]), want, 1e-6)
		near(t, "sd of a lag without", sdOf(m, 1, 600), own/math.Sqrt(float64(n)), 0.05)
	}
	takes[3].Heard[0].SharedMS = 3 // more in one take is that take's own
	m, _ := Fit(k, takes)
	near(t, "sd with one vague take", sdOf(m, 0, 600), math.Hypot(own/math.Sqrt(15), shared), 1e-3)
}

// By how much one voice's delay is longer than another's is as uncertain as it says: the
// errors of many machines scatter by it.
func TestSlowerIsAsUncertainAsItSays(t *testing.T) {
	const machines = 200
	duo := mill{delay: []float64{212, 190}, offset: []float64{0.01, -0.02}, step: 1.0 / 72}
	rng := rand.New(rand.NewPCG(8, 9))
	var square float64
	for range machines {
		var takes []Take
		for i, bpm := range []float64{60, 84, 110, 140} {
			take := duo.take(i+1, bpm, Place{}, Place{})
			for v := range take.Heard {
				h := &take.Heard[v]
				h.ScatterMS, h.OtherMS = 1, 0
				h.LagMS += rng.NormFloat64()
			}
			takes = append(takes, take)
		}
		ms, sd := fitted(t, duo, takes).DelayDifference(0, 1)
		square += (ms - 22) * (ms - 22) / (sd * sd) / machines
	}
	if rms := math.Sqrt(square); rms < 0.6 || rms > 1.3 {
		t.Errorf("errors are %.2f times what it says", rms)
	}
}

// sdOf returns how unsure a lag is where the plate stood at first.
func sdOf(m Posterior, voice int, periodMS float64) float64 {
	_, sd := m.Expect(voice, Place{}, periodMS)
	return sd
}

// The interval of a quantity is that which its chance is reckoned by: a fortieth lies on either
// side (against the normal distributions of gonum), so that what is almost surely within a
// limit has no interval that leaves it.
func TestIntervalIsThatOfTheChance(t *testing.T) {
	deeptest.Check(t, func(rt *rapid.T) {
		var m Posterior
		var all []normal
		left := 1.0
		for left > 0 {
			p := left
			if len(all) < 3 {
				p = left * rapid.Float64Range(0.5, 0.97).Draw(rt, "share")
			}
			m.posterior, left = append(m.posterior, p), left-p
			all = append(all, normal{rapid.Float64Range(-6, 6).Draw(rt, "mean"), rapid.Float64Range(0.2, 3).Draw(rt, "sd")})
		}
		got := m.central(func(i int) normal { return all[i] }, math.Inf(1))
		below := func(x float64) (p float64) {
			for i, l := range all {
				p += m.posterior[i] * distuv.Normal{Mu: l.mean, Sigma: l.sd}.CDF(x)
			}
			return p
		}
		low, high := got.mean-calib.Half95*got.sd, got.mean+calib.Half95*got.sd
		if a, b := below(low), 1-below(high); math.Abs(a-0.025) > nearly95+0.002 || math.Abs(b-0.025) > nearly95+0.002 {
			rt.Fatalf("%.4f lies below %.3f and %.4f above %.3f: %v %v", a, low, b, high, m.posterior, all)
		}
	})
}

// parameters predicts f, b, and D and A of some voices: A with the start of the plate and
// what it stands further ahead.
func (h *hypothesis) parameters(voices ...int) []prediction {
	all := make([]prediction, 2+2*len(voices))
	h.predict(&all[0], voices[0], &row{iF: 1})
	h.predict(&all[1], voices[0], &row{iB: 1})
	for i, v := range voices {
		h.predict(&all[2+2*i], v, &row{iD: 1})
		h.predict(&all[3+2*i], v, &row{iA: 1, iS: 1, iF: -float64(h.offset)})
	}
	return all
}
