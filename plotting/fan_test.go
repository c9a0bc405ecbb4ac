package plotting

import (
	"math"
	"slices"
	"strings"
	"testing"
)

func TestFanSaysWhatItShows(t *testing.T) {
	f, err := weirFan(60).Figure(Light())
	if err != nil {
		t.Fatal(err)
	}
	texts := svgTexts(t, f)
	for _, want := range []string{"reference", "voice", "first pair", "last of 60", "24.3 ms late ±1.2", "× 3 not counted", "±6 ms"} {
		if !slices.Contains(texts, want) {
			t.Errorf("the fan lacks %q; it has %q", want, texts)
		}
	}
}

func TestEmptyFanInvites(t *testing.T) {
	for _, fan := range []Fan{{}, {LagsMS: []float64{nan, inf}}} {
		f, err := fan.Figure(Light())
		if err != nil {
			t.Fatal(err)
		}
		if all := strings.Join(svgTexts(t, f), " "); !strings.Contains(all, emptyFan()) {
			t.Errorf("the empty fan says %q", all)
		}
	}
}

func TestFarStraysDoNotSqueezeTheFan(t *testing.T) {
	f := Fan{LagsMS: []float64{20, 22, 24, 640, -900}, Used: []bool{true, true, true, false, false}, CentreMS: 22, CI95MS: [2]float64{20, 24}, ToleranceMS: 6}
	v := f.view(Light())
	if v.lags.hi > 40 || v.lags.lo < -20 {
		t.Errorf("the axis runs from %v to %v ms", v.lags.lo, v.lags.hi)
	}
	if v.unused != 2 || len(v.pins) != 5 {
		t.Errorf("%d pins, %d unused; want 5 and 2", len(v.pins), v.unused)
	}
}

func TestFanAlwaysShowsZero(t *testing.T) {
	for _, lag := range []float64{-400, -3, 0, 5, 999} {
		v := Fan{LagsMS: []float64{lag}, CentreMS: lag, CI95MS: [2]float64{lag, lag}}.view(Light())
		if !v.lags.contains(0) || !v.lags.contains(lag) {
			t.Errorf("lag %v: the axis runs from %v to %v", lag, v.lags.lo, v.lags.hi)
		}
	}
}

func TestThinningKeepsTheOutline(t *testing.T) {
	pins := weirFan(5000).view(Light()).pins
	kept := thinned(pins, 300)
	if len(kept) > 300 {
		t.Fatalf("%d pins kept", len(kept))
	}
	extremes := func(pins []fanPin) (lo, hi float64) {
		lo, hi = math.Inf(1), math.Inf(-1)
		for _, p := range pins {
			lo, hi = min(lo, p.lag), max(hi, p.lag)
		}
		return lo, hi
	}
	lo, hi := extremes(pins)
	if l, h := extremes(kept); l != lo || h != hi {
		t.Errorf("the outline from %v to %v became %v to %v", lo, hi, l, h)
	}
}

func TestLagWords(t *testing.T) {
	for ms, want := range map[float64]string{24.34: "24.3 ms late", -3: "3.0 ms early", 0: "0.0 ms, together", -0.02: "0.0 ms, together"} {
		if got := lagWords(ms); got != want {
			t.Errorf("lagWords(%v) = %q, want %q", ms, got, want)
		}
	}
}
