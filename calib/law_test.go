package calib

import (
	"errors"
	"math"
	"testing"
)

// near fails the test where got is further from want than tol.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.15g, want %.15g ± %g", what, got, want, tol)
	}
}

var (
	unknown = Belief{SD: math.Inf(1)}
	free    = Prior{Delay: unknown, Offset: unknown, Step: Belief{Mean: 1}} // D and A open, f plays no part at setting 0
)

// line turns x, y, u columns into points whose law is the straight line
// y = D + A·x.
func line(x, y, u []float64) []Point {
	points := make([]Point, len(x))
	for i := range x {
		points[i] = Point{PeriodMS: x[i], LagMS: y[i]}
		if u != nil {
			points[i].SDMS = u[i]
		}
	}
	return points
}

// The thermometer calibration of JCGM 100:2008 (GUM), H.3, Table H.6; full
// digits from the GTC documentation, docs/API/GUM_H3.rst.
func TestFitGUMH3(t *testing.T) {
	x := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	y := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	for i := range x {
		x[i] -= 20
	}
	law, err := Fit(line(x, y, nil), free)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "y1", law.DelayMS, -0.17120379013135, 1e-13)
	near(t, "y2", law.OffsetBeats, 0.00218269773988730, 1e-14)
	near(t, "s(y1), as printed", math.Sqrt(law.Cov[0][0]), 0.0029, 0.00005)
	near(t, "s(y2)", math.Sqrt(law.Cov[1][1]), 0.000667938773227823, 1e-15)
	near(t, "r(y1,y2), as printed", law.Cov[0][1]/math.Sqrt(law.Cov[0][0]*law.Cov[1][1]), -0.93, 0.005)
	near(t, "sum of squared residuals", law.ChiSquared, 0.000110096583109, 1e-15)
	b, u := law.Lag(10, 0) // 30 °C; dropping the covariance would give 0.0073
	near(t, "b(30 °C)", b, -0.149376812732477, 1e-12)
	near(t, "u(b(30 °C))", u, 0.00413859575285495, 1e-14)
	if law.DOF != 9 {
		t.Errorf("degrees of freedom = %d, want 9", law.DOF)
	}
}

// NIST StRD linear regression, dataset Norris: certified values.
func TestFitNISTNorris(t *testing.T) {
	yx := []float64{
		0.1, 0.2, 338.8, 337.4, 118.1, 118.2, 888.0, 884.6, 9.2, 10.1, 228.1, 226.5,
		668.5, 666.3, 998.5, 996.3, 449.1, 448.6, 778.9, 777.0, 559.2, 558.2, 0.3, 0.4,
		0.1, 0.6, 778.1, 775.5, 668.8, 666.9, 339.3, 338.0, 448.9, 447.5, 10.8, 11.6,
		557.7, 556.0, 228.3, 228.1, 998.0, 995.8, 888.8, 887.6, 119.6, 120.2, 0.3, 0.3,
		0.6, 0.3, 557.6, 556.8, 339.3, 339.1, 888.0, 887.2, 998.5, 999.0, 778.9, 779.0,
		10.2, 11.1, 117.6, 118.3, 228.9, 229.2, 668.4, 669.1, 449.2, 448.9, 0.2, 0.5,
	}
	var x, y []float64
	for i := 0; i < len(yx); i += 2 {
		y, x = append(y, yx[i]), append(x, yx[i+1])
	}
	law, err := Fit(line(x, y, nil), free)
	if err != nil {
		t.Fatal(err)
	}
	const rel = 1e-11
	near(t, "B0", law.DelayMS, -0.262323073774029, 0.262*rel)
	near(t, "B1", law.OffsetBeats, 1.00211681802045, rel)
	near(t, "sd B0", math.Sqrt(law.Cov[0][0]), 0.232818234301152, 0.233*rel)
	near(t, "sd B1", math.Sqrt(law.Cov[1][1]), 0.429796848199937e-03, 0.00043*rel)
	near(t, "residual sum of squares", law.ChiSquared, 26.6173985294224, 26.6*rel)
}

// ISO/TS 28037:2010, straight lines with known uncertainties, equal and unequal
// (values remembered and recomputed, the document was not opened).
func TestFitKnownUncertainties(t *testing.T) {
	for _, c := range []struct {
		y, u                     []float64
		a, b, ua, ub, cov, chisq float64
	}{
		{
			[]float64{3.3, 5.6, 7.1, 9.3, 10.7, 12.1}, []float64{0.5, 0.5, 0.5, 0.5, 0.5, 0.5},
			1.867, 1.757, 0.465, 0.120, -0.050, 1.665,
		},
		{
			[]float64{3.2, 4.3, 7.6, 8.6, 11.7, 12.8}, []float64{0.5, 0.5, 0.5, 1, 1, 1},
			0.885, 2.057, 0.530, 0.178, -0.082, 4.131,
		},
	} {
		law, err := Fit(line([]float64{1, 2, 3, 4, 5, 6}, c.y, c.u), free)
		if err != nil {
			t.Fatal(err)
		}
		const printed = 0.0006 // three decimals are printed
		near(t, "a", law.DelayMS, c.a, printed)
		near(t, "b", law.OffsetBeats, c.b, printed)
		near(t, "u(a)", math.Sqrt(law.Cov[0][0]), c.ua, printed)
		near(t, "u(b)", math.Sqrt(law.Cov[1][1]), c.ub, printed)
		near(t, "cov(a,b)", law.Cov[0][1], c.cov, printed)
		near(t, "chi-squared", law.ChiSquared, c.chisq, printed)
	}
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
	first, second := PeriodMS(90), PeriodMS(140)
	points := []Point{
		{PeriodMS: first, Setting: 0, LagMS: 210, SDMS: byEyeMS},
		{PeriodMS: first, Setting: 10, LagMS: 110, SDMS: byEyeMS},
		{PeriodMS: first, Setting: 20, LagMS: 0, SDMS: byEyeMS},
	}
	law, err := Fit(points, PlatePrior(Plate{}))
	if err != nil {
		t.Fatal(err)
	}
	const rule = 210.0 / 20 // ms per step, the same at every tempo
	for _, c := range []struct {
		setting, seenMS float64
	}{{20, 70}, {29, 10}, {30, 0}} {
		got, _ := law.Lag(second, c.setting)
		near(t, "lag by the law", got, c.seenMS, withinMS)
	}
	near(t, "setting at 140 BPM by the law", law.Setting(second), 30, within)

	// The rule sees no tempo: tight at 90 BPM means tight at 140 BPM, and 70 ms
	// want 70/10.5 further steps.
	if ruleLag := 210 - rule*20; math.Abs(ruleLag-70) <= withinMS {
		t.Errorf("the constant rule gives %.0f ms at 140 BPM, which should have been wrong by more than %g", ruleLag, withinMS)
	}
	if ruleSetting := 20 + 70/rule; math.Abs(ruleSetting-30) <= within {
		t.Errorf("the constant rule gives setting %.1f at 140 BPM, which should have been wrong by more than %g steps", ruleSetting, within)
	}
}

func TestFitLearnsTheStep(t *testing.T) {
	want := Law{DelayMS: 212, OffsetBeats: 0.01, StepBeats: 1.0 / 72}
	var points []Point
	for _, c := range []struct {
		bpm     float64
		setting int
	}{{60, 0}, {60, 12}, {120, 12}, {150, 30}} {
		lag, _ := want.Lag(PeriodMS(c.bpm), float64(c.setting))
		points = append(points, Point{PeriodMS: PeriodMS(c.bpm), Setting: c.setting, LagMS: lag, SDMS: 0.5})
	}
	got, err := Fit(points, Prior{Delay: unknown, Offset: unknown, Step: unknown})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "D", got.DelayMS, want.DelayMS, 1e-8)
	near(t, "A", got.OffsetBeats, want.OffsetBeats, 1e-11)
	near(t, "f", got.StepBeats, want.StepBeats, 1e-12)
	lag, _ := want.Lag(500, want.Setting(500))
	near(t, "lag at its own setting", lag, 0, 1e-9)
}

func TestFitRefuses(t *testing.T) {
	at := func(periodMS float64, setting int, lagMS, sdMS float64) Point {
		return Point{PeriodMS: periodMS, Setting: setting, LagMS: lagMS, SDMS: sdMS}
	}
	one := at(500, 0, 200, 1)
	known := Prior{Delay: unknown, Step: Belief{Mean: 0.01}}
	for _, c := range []struct {
		name   string
		points []Point
		prior  Prior
		want   error
	}{
		{"nothing", nil, free, ErrNoPoints},
		{"one setting, step unknown", []Point{one, at(600, 0, 205, 1)}, Prior{Delay: unknown, Step: unknown}, ErrUndetermined},
		{"one tempo, offset free", []Point{one, at(500, 10, 130, 1)}, free, ErrUndetermined},
		{"one take, offset free", []Point{one}, free, ErrUndetermined},
		{"everything known", []Point{one}, Prior{}, ErrUndetermined},
		{"NaN lag", []Point{at(500, 0, math.NaN(), 1)}, known, ErrBadPoint},
		{"infinite period", []Point{at(math.Inf(1), 0, 1, 1)}, known, ErrBadPoint},
		{"no period", []Point{at(0, 0, 1, 1)}, known, ErrBadPoint},
		{"one point without uncertainty", []Point{one, at(500, 0, 1, 0)}, known, ErrBadPoint},
	} {
		if _, err := Fit(c.points, c.prior); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
	}
}

// Times to fall from the vacuum column of a table computed with standard
// gravity; g itself is the 3rd CGPM's of 1901.
func TestFall(t *testing.T) {
	for _, c := range []struct{ heightMM, ms float64 }{
		{0, 0}, {-1, 0}, {100, 142.8087}, {300, 247.3519}, {500, 319.3300}, {1000, 451.6008}, {2000, 638.6599},
	} {
		near(t, "fall", FallMS(c.heightMM), c.ms, 0.0001)
	}
}

func TestPlate(t *testing.T) {
	near(t, "step", Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6}.StepBeats(), 1.0/72, 1e-15)
	if got := (Plate{}).StepBeats(); got != 0 {
		t.Errorf("an unknown plate has step %g, want 0", got)
	}
	near(t, "period at 90 BPM", PeriodMS(90), 666.6667, 0.0001)
	near(t, "tempo at 500 ms", TempoBPM(500), 120, 0)
}
