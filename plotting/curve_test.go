package plotting

import (
	"math"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
)

func TestCurveSaysWhatItShows(t *testing.T) {
	f, err := weirCurve().Figure(Light())
	if err != nil {
		t.Fatal(err)
	}
	texts := svgTexts(t, f)
	for _, want := range []string{
		"Weir Lane No. 2", "tub drum", wordsTogether, "wanted 104", lagAxis, "tempo (BPM)",
		"take", "tight take", "95 %", "at 0", "at +10", "at +20", "at +27", "+25", "+27", "+28",
	} {
		if !slices.Contains(texts, want) {
			t.Errorf("the curve lacks %q; it has %q", want, texts)
		}
	}
}

func TestEmptyCurveInvites(t *testing.T) {
	f, err := Curve{ToleranceMS: 6}.Figure(Light())
	if err != nil {
		t.Fatal(err)
	}
	if all := strings.Join(svgTexts(t, f), " "); !strings.Contains(all, emptyCurve) {
		t.Errorf("the empty curve says %q", all)
	}
}

func TestCurveCountsWhatItLeavesOut(t *testing.T) {
	c := weirCurve()
	c.Takes = append(c.Takes, CurveTake{TempoBPM: nan}, CurveTake{TempoBPM: 90, LagMS: inf}, CurveTake{TempoBPM: 90, LagMS: 1e9})
	v := c.view(Light())
	if v.left != 3 || len(v.takes) != 7 {
		t.Errorf("%d takes drawn, %d left out; want 7 and 3", len(v.takes), v.left)
	}
	if f, _ := c.Figure(Light()); !slices.Contains(svgTexts(t, f), v.note()) {
		t.Errorf("the curve does not say %q", v.note())
	}
	if v := crowdedCurve(1000, 1).view(Light()); len(v.takes) != mostTakes || v.older != 600 {
		t.Errorf("%d takes drawn, %d older; want %d and 600", len(v.takes), v.older, mostTakes)
	}
}

func TestCurveKeepsItsOwnData(t *testing.T) {
	c := weirCurve()
	v := c.view(Light())
	c.Takes[0].LagMS, c.Takes[0].Label = nan, "changed"
	if v.takes[0].LagMS == c.Takes[0].LagMS || v.takes[0].Label == "changed" {
		t.Error("the figure shares the caller's takes")
	}
}

func TestCurrentTakeAndLawAreDrawnLast(t *testing.T) {
	c := weirCurve()
	slices.Reverse(c.Takes)
	slices.Reverse(c.Laws)
	v := c.view(Light())
	if !v.takes[len(v.takes)-1].Current || !v.laws[len(v.laws)-1].current {
		t.Error("the current take or law is not on top")
	}
}

func TestUsableInterval(t *testing.T) {
	for _, test := range []struct{ give, want [2]float64 }{
		{[2]float64{7, 13}, [2]float64{7, 13}},
		{[2]float64{13, 7}, [2]float64{7, 13}},
		{[2]float64{nan, 13}, [2]float64{10, 10}},
		{[2]float64{-inf, inf}, [2]float64{10, 10}},
		{[2]float64{}, [2]float64{10, 10}},
	} {
		if got := usable(CurveTake{LagMS: 10, CI95MS: test.give}).CI95MS; got != test.want {
			t.Errorf("interval %v becomes %v, want %v", test.give, got, test.want)
		}
	}
}

// The drawn band must be the 95 % interval of a normal distribution: 1.959964
// standard deviations (the 0.975 quantile of the standard normal, NIST/SEMATECH
// e-Handbook of Statistical Methods, 1.3.6.7.1; value from memory).
func TestLawBandIs95Percent(t *testing.T) {
	law := sampleLaw(CurveLaw{LagMS: func(float64) (float64, float64) { return 40, 5 }}, span{60, 140})
	for _, p := range law.points {
		if math.Abs(p.high-p.lag-5*1.959964) > 0.005 || math.Abs(p.lag-p.low-5*1.959964) > 0.005 {
			t.Fatalf("band from %v to %v about %v", p.low, p.high, p.lag)
		}
	}
}

// The law of calib, at the setting calib gives for a tempo, must cross zero there.
func TestLawCrossesZeroAtItsTempo(t *testing.T) {
	law := calib.Law{DelayMS: weirDelayMS, OffsetBeats: weirAngle, StepBeats: weirStepBeats}
	setting := law.Setting(calib.PeriodMS(100))
	s := sampleLaw(CurveLaw{LagMS: func(p float64) (float64, float64) { return law.Lag(p, setting) }}, span{60, 140})
	for i := 1; i < len(s.points); i++ {
		a, b := s.points[i-1], s.points[i]
		if (a.lag < 0) != (b.lag < 0) && (a.bpm > 100 || b.bpm < 100) {
			t.Errorf("lag changes sign between %v and %v BPM, want 100", a.bpm, b.bpm)
		}
	}
	if first, last := s.points[0].lag, s.points[len(s.points)-1].lag; first >= 0 || last <= 0 {
		t.Errorf("lag runs from %v to %v ms, want from early to late", first, last)
	}
}

func TestLawGapsAreLeftOut(t *testing.T) {
	hole := func(p float64) (float64, float64) {
		if p > 600 {
			return nan, 1
		}
		return 10, nan
	}
	s := sampleLaw(CurveLaw{LagMS: hole}, span{60, 140})
	for _, p := range s.points {
		if !finite(p.lag) || !finite(p.low) || !finite(p.high) || p.bpm < 100 {
			t.Fatalf("a point that is none: %+v", p)
		}
	}
	if len(s.points) == 0 {
		t.Error("the usable half of the law is gone too")
	}
}

func TestToleranceIsChecked(t *testing.T) {
	for _, ms := range []float64{-1, nan, inf, -inf, 1e9} {
		_, curve := Curve{ToleranceMS: ms}.Figure(Light())
		_, fan := Fan{ToleranceMS: ms}.Figure(Light())
		_, card := Card{ToleranceMS: ms}.Figure()
		for _, err := range []error{curve, fan, card} {
			if err == nil || !strings.Contains(err.Error(), "give the milliseconds") {
				t.Errorf("tolerance %v: error %v", ms, err)
			}
		}
	}
}
