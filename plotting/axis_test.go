package plotting

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

var (
	nan = math.NaN()
	inf = math.Inf(1)
)

func TestTempoSpan(t *testing.T) {
	for _, test := range []struct {
		name   string
		tempos []float64
		want   span
	}{
		{"nothing", nil, span{Lo: 60, Hi: 140}},
		{"nothing usable", []float64{nan, inf, -inf, 0, -3, 1e300}, span{Lo: 60, Hi: 140}},
		{"one tempo gets the least span", []float64{96}, span{Lo: 76, Hi: 116}},
		{"two tempos get air", []float64{60, 160}, span{Lo: 52, Hi: 168}},
		{"slow tempos stay above zero", []float64{8}, span{Lo: 5, Hi: 45}},
		{"what is not a tempo changes nothing", []float64{60, nan, 160, inf}, span{Lo: 52, Hi: 168}},
	} {
		if got := tempoSpan(test.tempos); !near(got, test.want) {
			t.Errorf("%s: tempoSpan(%v) = %v, want %v", test.name, test.tempos, got, test.want)
		}
	}
}

func TestLagSpan(t *testing.T) {
	for _, test := range []struct {
		name      string
		lags      []float64
		tolerance float64
		want      span
	}{
		{"nothing", nil, 0, span{Lo: -15, Hi: 15}},
		{"small lags keep the least span", []float64{-2, 3}, 6, span{Lo: -15, Hi: 15}},
		{"nothing usable", []float64{nan, inf, -inf, 1e9}, 6, span{Lo: -15, Hi: 15}},
		{"a wide tolerance shows whole", nil, 20, span{Lo: -32, Hi: 32}},
		{"late lags get air and keep zero", []float64{100, 50}, 6, span{Lo: -15, Hi: 108}},
		{"early lags", []float64{-200}, 6, span{Lo: -216, Hi: 16}},
	} {
		if got := lagSpan(test.lags, test.tolerance); !near(got, test.want) {
			t.Errorf("%s: lagSpan(%v, %v) = %v, want %v", test.name, test.lags, test.tolerance, got, test.want)
		}
	}
}

func near(a, b span) bool { return math.Abs(a.Lo-b.Lo) < 1e-9 && math.Abs(a.Hi-b.Hi) < 1e-9 }

func TestTicksAreRound(t *testing.T) {
	wide := func(s string) float64 { return float64(10 + 10*utf8.RuneCountInString(s)) }
	for _, test := range []struct {
		lo, hi float64
		length float64
		want   string
	}{
		{76, 116, 300, "80 90 100 110"},
		{76, 116, 700, "80 85 90 95 100 105 110 115"},
		{-15, 15, 120, "−10 0 10"},
		{-0.7, 0.7, 150, "−0.5 0 0.5"},
		{-216, 16, 200, "−200 −100 0"},
	} {
		var labels []string
		for _, tick := range ticks(span{Lo: test.lo, Hi: test.hi}, test.length, false, wide) {
			labels = append(labels, tick.Label)
		}
		if got := strings.Join(labels, " "); got != test.want {
			t.Errorf("ticks from %v to %v on %v points: %s, want %s", test.lo, test.hi, test.length, got, test.want)
		}
	}
}

func TestTickLabelsNeverCollide(t *testing.T) {
	for _, base := range []float64{9.5, 12, 15} {
		l := lettering{size: base}
		for _, length := range []float64{1, 7, 40, 150, 333, 800, 1600, 5000} {
			for _, s := range []span{{Lo: 76, Hi: 116}, {Lo: 5, Hi: 2000}, {Lo: -15, Hi: 15}, {Lo: -1e5, Hi: 1e5}, {Lo: 99.5, Hi: 100.5}, {Lo: -3e-4, Hi: 7e-4}} {
				ticks := ticks(s, length, false, l.width)
				for i := 1; i < len(ticks); i++ {
					apart := length * (ticks[i].At - ticks[i-1].At) / s.Width()
					if room := (l.width(ticks[i].Label) + l.width(ticks[i-1].Label)) / 2; room > apart {
						t.Errorf("%v on %v points: %q and %q overlap", s, length, ticks[i-1].Label, ticks[i].Label)
					}
				}
				for _, tick := range ticks {
					if !s.Padded(1e-9).Contains(tick.At) {
						t.Errorf("%v: tick %v lies outside", s, tick.At)
					}
				}
			}
		}
	}
}

func TestTicksEndOnNonsense(t *testing.T) {
	for _, s := range []span{{Lo: nan, Hi: 1}, {Lo: 0, Hi: nan}, {Lo: 0, Hi: inf}, {Lo: -inf, Hi: inf}, {Lo: 5, Hi: 5}, {Lo: 9, Hi: 3}, {Lo: 1e17, Hi: 1e17 + 64}, {Lo: 0, Hi: 5e-324}, {Lo: -1e308, Hi: 1e308}} {
		if n := len(ticks(s, 500, false, func(string) float64 { return 20 })); n > 100 {
			t.Errorf("%v: %d ticks", s, n)
		}
	}
}
