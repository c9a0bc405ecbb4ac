package calib

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// The examples of R's documentation of mad:
// https://search.r-project.org/R/refmans/stats/html/mad.html
func TestMAD(t *testing.T) {
	near(t, "mad(1:9, constant=1)", mad([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9}), 2, 0)
	near(t, "mad(c(1:8,100), constant=1)", mad([]float64{1, 2, 3, 4, 5, 6, 7, 8, 100}), 2, 0)
	near(t, "mad of one value", mad([]float64{7}), 0, 0)
	near(t, "default constant", madScale, 1.4826, 0.00005)
}

// NIST StRD univariate summary statistics, dataset Michelso: certified values.
// Thousandths above 299 km/s ÷ 1000 keep the table short.
func TestLag1Michelso(t *testing.T) {
	var xs []float64
	for _, n := range []float64{
		85, 74, 90, 107, 93, 85, 95, 98, 98, 88, 100, 98, 93, 65, 76, 81, 100, 100, 96, 96,
		96, 94, 96, 94, 88, 80, 85, 88, 90, 84, 83, 79, 81, 88, 88, 83, 80, 79, 76, 80,
		88, 88, 88, 86, 72, 72, 62, 86, 97, 95, 88, 91, 85, 87, 84, 84, 85, 84, 84, 84,
		89, 81, 81, 82, 80, 77, 76, 74, 75, 76, 91, 92, 89, 86, 88, 72, 84, 85, 85, 78,
		89, 84, 78, 81, 76, 81, 79, 81, 82, 85, 87, 87, 81, 74, 81, 94, 95, 80, 81, 87,
	} {
		xs = append(xs, 299+n/100)
	}
	near(t, "mean", stat.Mean(xs, nil), 299.852400000000, 1e-10)
	near(t, "sd", stat.StdDev(xs, nil), 0.0790105478190518, 1e-12)
	near(t, "lag-1 autocorrelation", lag1(xs), 0.535199668621283, 1e-10)
	// Such neighbours make the plain interval of the mean, Student's factor of 99 degrees
	// of freedom as handbooks print it (1.984, from memory) by sd/√n, too narrow by the
	// root of (1+r)/(1−r) (first-order autoregression, from memory).
	plain := 1.984 * 0.0790105478190518 / 10
	near(t, "interval", Student975(99)*meanSD(xs), plain*math.Sqrt(1.535199668621283/0.464800331378717), 0.0005/10)
}

// NIST StRD univariate summary statistics, dataset NumAcc4: mean 10000000.2,
// standard deviation 0.1, lag-1 autocorrelation −0.999 (the last from memory).
// Doubles hold eight or nine digits of the deviation. TestCancellation holds the mean.
func TestNumAcc4(t *testing.T) {
	xs := []float64{10000000.2}
	for range 500 {
		xs = append(xs, 10000000.1, 10000000.3)
	}
	near(t, "sd", stat.StdDev(xs, nil), 0.1, 1e-8)
	near(t, "lag-1 autocorrelation", lag1(xs), -0.999, 1e-7)
}

// Student's t, 97.5 % points as every handbook prints them to three decimals
// (from memory: 2.262, 1.984 for 9, 100), and as the NIST/SEMATECH e-Handbook (1.3.6.7.2)
// and JCGM 100:2008, table G.2 do (both from memory); for one and two degrees of freedom
// by the closed forms of the distribution.
func TestStudent(t *testing.T) {
	near(t, "t with 1, closed form", Student975(1), math.Tan(0.475*math.Pi), 1e-9)
	near(t, "t with 2, closed form", Student975(2), 0.95/math.Sqrt(2*0.975*0.025), 1e-9)
	for dof, want := range map[float64]float64{9: 2.262, 100: 1.984} {
		near(t, fmt.Sprint("t with ", dof), Student975(dof), want, 0.0005)
	}
	for _, c := range []struct{ dof, nist, gum float64 }{
		{1, 12.706205, 12.71}, {2, 4.3026527, 4.30}, {3, 3.1824463, 3.18}, {4, 2.7764451, 2.78},
	} {
		near(t, fmt.Sprint("t with ", c.dof), Student975(c.dof), c.nist, 1e-6)
		near(t, fmt.Sprint("t with ", c.dof), Student975(c.dof), c.gum, 0.005)
	}
}

// train gives regular reference hits and voice hits late by the given lags.
func train(periodS float64, lagsMS ...float64) (pairs []Pair, ref, voice []float64, perBeat int) {
	for i, lag := range lagsMS {
		at := 1 + float64(i)*periodS
		ref, voice = append(ref, at), append(voice, at+lag/1000)
		pairs = append(pairs, Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	return pairs, ref, voice, 1
}

func TestRead(t *testing.T) {
	pairs, ref, voice, _ := train(0.5, 100, 101, 99, 100, 250, 100)
	pairs[3].Used, pairs[3].Reason = false, "bounce or double drop"
	r := Read(pairs, ref, voice, 1)
	near(t, "lag", r.LagMS, 100, 1e-9)
	near(t, "tempo", r.TempoBPM, 120, 1e-6)
	near(t, "reference period", r.ReferencePeriodMS, 500, 1e-6)
	near(t, "jitter", r.JitterMS, math.Sqrt(2.0/3), 1e-9)
	// t(3 dof) = 3.182 (handbook, from memory) times sd/√n; the crank's part comes on top
	near(t, "half width by the scatter", 3.182*r.Budget.ScatterMS, 3.182*math.Sqrt(2.0/3)/2, 0.001)
	if r.Used() != 4 || r.Rejected()[ReasonFar] != 1 || r.Rejected()["bounce or double drop"] != 1 {
		t.Errorf("used %d, rejected %v", r.Used(), r.Rejected())
	}
	if !pairs[4].Used {
		t.Error("Read changed the caller's pairs")
	}
	if twice := Read(pairs, ref, voice, 2); math.Abs(twice.TempoBPM-60) > 1e-6 {
		t.Errorf("two reference hits a beat: tempo %g, want 60", twice.TempoBPM)
	}
}

func TestReadLittle(t *testing.T) {
	if r := Read(nil, nil, nil, 1); r.Used() != 0 || r.TempoBPM != 0 || r.Pairs == nil || r.Warnings == nil {
		t.Errorf("reading of nothing = %+v", r)
	}
	pairs, ref, voice, _ := train(0.5, 42)
	r := Read(pairs, ref, voice, 1)
	if _, ok := r.Point(60); ok || r.LagMS != 42 || r.TempoBPM != 0 {
		t.Errorf("reading of one pair = %+v, usable %v", r, ok)
	}
}

// A reference that misses some ticks and doubles others still gives its tempo.
func TestTempoSurvivesMissesAndDoubles(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		period := rapid.Float64Range(0.3, 1.5).Draw(t, "period")
		n := rapid.IntRange(12, 40).Draw(t, "n")
		miss := rapid.IntRange(2, 6).Draw(t, "every so many is missing")
		double := rapid.IntRange(3, 7).Draw(t, "every so many is doubled")
		var hits []float64
		for i := range n {
			at := 0.7 + float64(i)*period
			if i%(miss+3) == 2 {
				continue
			}
			hits = append(hits, at)
			if i%(double+2) == 1 {
				hits = append(hits, at+0.06)
			}
		}
		if got := NewCrank(hits).meanPeriodMS(); math.Abs(got/(1000*period)-1) > 1e-9 {
			t.Fatalf("period %g ms, want %g", got, 1000*period)
		}
	})
}

// NIST StRD NumAcc4: mean 10000000.2 and standard deviation 0.1 of 1001 numbers
// whose digits cancel (rule of the numbers and certified values as public test
// suites quote them).
func TestCancellation(t *testing.T) {
	lags := []float64{10000000.2}
	for range 500 {
		lags = append(lags, 10000000.1, 10000000.3)
	}
	r := Read(pairsAt(lags), nil, nil, 1)
	if r.Used() != 1001 || math.Abs(r.LagMS-10000000.2) > 1e-7 || math.Abs(r.JitterMS/0.1-1) > 1e-7 {
		t.Errorf("mean %.8f, standard deviation %.9f of %d, want 10000000.2 and 0.1 of 1001", r.LagMS, r.JitterMS, r.Used())
	}
}
