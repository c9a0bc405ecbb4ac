package plotting

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
)

func TestCurveSaysWhatItShows(t *testing.T) {
	f := weirCurve().Figure(inks)
	texts := svgTexts(t, f)
	for _, want := range []string{
		"Weir Lane No. 2", "tub drum", "strikes together", "target 104", lagAxis(), "tempo (BPM)",
		"late", "early", "tight take", "95 %", "at +20", "at +27", "+25", "+27", "+28", "0 · 169 ms", "0 · 157 ms", "+10 · 97 ms",
	} {
		if !slices.Contains(texts, want) {
			t.Errorf("the curve lacks %q; it has %q", want, texts)
		}
	}
}

// Several voices are named in the key and at their current laws, and no two of a
// dozen look alike to somebody who sees no colours.
func TestVoicesAreToldApartWithoutColour(t *testing.T) {
	f := weirVoices(3).Figure(inks)
	texts := svgTexts(t, f)
	for _, want := range []string{"tub drum", "elm block", "brass bar", "tub drum · at +27", "elm block · at +27", "brass bar · at +27", "tempo window"} {
		if !slices.Contains(texts, want) {
			t.Errorf("the curve lacks %q; it has %q", want, texts)
		}
	}
	var many Curve
	for i := range 12 {
		many.Laws = append(many.Laws, CurveLaw{Voice: fmt.Sprint("voice ", i)})
	}
	seen := map[string]string{}
	for _, look := range many.view(inks).voices {
		signs := fmt.Sprint(look.shape, look.dashes)
		if other, ok := seen[signs]; ok {
			t.Errorf("%s looks like %s", look.name, other)
		}
		seen[signs] = look.name
	}
	if len(seen) != 12 {
		t.Errorf("%d looks, want 12", len(seen))
	}
}

func TestOneVoiceKeepsTheThemesColours(t *testing.T) {
	c := weirCurve()
	for i := range c.Takes {
		c.Takes[i].Voice = "tub drum"
	}
	for i := range c.Laws {
		c.Laws[i].Voice = "tub drum"
	}
	if v := c.view(inks); len(v.voices) != 0 || v.laws[0].look.line != inks.Mark {
		t.Errorf("one voice looks like %+v", v.laws[0].look)
	}
}

// A square, a triangle and a hexagon of the given shares of a circle's radius
// have about its area: a regular n-gon has n/2 r² sin(2π/n) (Euclidean geometry).
func TestMarksWeighAlike(t *testing.T) {
	for _, m := range marks[1:] {
		n := float64(m.corners)
		if area := n / 2 * float64(m.radius*m.radius) * math.Sin(2*math.Pi/n); math.Abs(area/math.Pi-1) > 0.12 {
			t.Errorf("%d corners: %.2f of a circle's area", m.corners, area/math.Pi)
		}
	}
}

func TestSongBars(t *testing.T) {
	bars := songBars([]CurveSong{
		{Name: "b", TempoBPM: 100, Setting: -3, WindowBPM: [2]float64{95, 105}},
		{Name: "a", TempoBPM: 90, WindowBPM: [2]float64{0, 96}, Picked: true},
		{Name: "c", TempoBPM: 120, WindowBPM: [2]float64{110, inf}},
		{Name: "bare", TempoBPM: 102},
		{Name: "none", TempoBPM: nan}, {Name: "odd", TempoBPM: 99, WindowBPM: [2]float64{nan, 9}},
	}, span{Lo: 60, Hi: 140})
	want := []songBar{
		{0, "b · −3", "−3", 100, 95, 105, 1, false},
		{5, "odd · 0", "0", 99, 99, 99, 0, false},
		{3, "bare · 0", "0", 102, 102, 102, 0, false},
		{2, "c · 0", "0", 120, 110, 140, 0, false},
		{1, "a · 0", "0", 90, 60, 96, 0, true},
	}
	if !slices.Equal(bars, want) {
		t.Errorf("bars\n%+v, want\n%+v", bars, want)
	}
	many := songBars(weirSongs(1000), span{Lo: 60, Hi: 170})
	if len(many) != mostSongs {
		t.Errorf("%d bars, want %d", len(many), mostSongs)
	}
	for _, bar := range many {
		if bar.lane >= mostLanes {
			t.Errorf("a bar in lane %d", bar.lane)
		}
	}
}

func TestSongsAreNamedWhereThereIsRoom(t *testing.T) {
	c := weirVoices(12)
	f := c.Figure(inks)
	texts := svgTexts(t, f)
	for _, song := range c.Songs {
		if !slices.Contains(texts, signed(song.Setting)) {
			t.Errorf("%s lacks its setting", song.Name)
		}
	}
	if !slices.Contains(texts, "Low Water · +36") {
		t.Errorf("the song picked is not named: %q", texts)
	}
	for i := range c.Songs {
		c.Songs[i].Name, c.Songs[i].WindowBPM = "Reel", [2]float64{c.Songs[i].TempoBPM - 15, c.Songs[i].TempoBPM + 15}
	}
	c.Songs = c.Songs[:3]
	wide := c.Figure(inks)
	if texts := svgTexts(t, wide); !slices.Contains(texts, "Reel · +19") {
		t.Errorf("wide bars lack names: %q", texts)
	}
}

// The strip of songs lies below the data, and lag has no ticks in it.
func TestLagHasNoTicksAmongTheSongs(t *testing.T) {
	v := weirVoices(40).view(inks)
	ticks := above{ticker{300, func(string) vg.Length { return 20 }, false}, v.lag.Lo}.Ticks(v.lag.Lo-80, v.lag.Hi)
	if len(ticks) < 3 {
		t.Errorf("%d ticks", len(ticks))
	}
	for _, tick := range ticks {
		if tick.Value < v.lag.Lo {
			t.Errorf("a tick at %v ms, below %v", tick.Value, v.lag.Lo)
		}
	}
	for _, height := range []vg.Length{10, 100, 1000} {
		if lane, strip := v.songRoom(height, 10); lane <= 0 || strip > height/2+4 {
			t.Errorf("of %v points the songs take %v, a lane %v", height, strip, lane)
		}
	}
}

// Takes that lie far off do not squeeze the others: they stand at the edge.
func TestFarTakesDoNotSqueezeTheCurve(t *testing.T) {
	take := func(lag float64, current bool) CurveTake {
		return CurveTake{TempoBPM: 100, LagMS: lag, CI95MS: [2]float64{lag - 2, lag + 2}, Current: current}
	}
	for _, test := range []struct {
		name string
		lags []float64
		far  int
		hi   float64 // least upper end of the axis
		most float64 // and the greatest
	}{
		{"one take alone", []float64{160}, 0, 160, 200},
		{"the first take of two", []float64{160, 5}, 1, 15, 20},
		{"two untuned of four", []float64{160, 150, 5, 1}, 2, 15, 20},
		{"most untuned", []float64{160, 150, 140, 1}, 0, 160, 200},
		{"the latest is never far", []float64{1, 2, 160}, 0, 160, 200},
		{"nothing lies far from the rest", []float64{160, 60, 30, 9}, 0, 160, 200},
		{"early", []float64{-160, 5, 3}, 1, 15, 20},
		{"farther still", []float64{900, 160, 150, 1}, 1, 160, 200},
	} {
		c := Curve{ToleranceMS: 6}
		for i, lag := range test.lags {
			c.Takes = append(c.Takes, take(lag, i == len(test.lags)-1))
		}
		v, far := c.view(inks), 0
		for _, take := range v.takes {
			if take.far {
				far++
			}
			if take.far == v.lag.Contains(take.LagMS) {
				t.Errorf("%s: a take of %v ms is far: %v, on an axis from %v to %v", test.name, take.LagMS, take.far, v.lag.Lo, v.lag.Hi)
			}
		}
		if far != test.far || v.lag.Hi < test.hi || v.lag.Hi > test.most {
			t.Errorf("%s: %d far, the axis to %v ms; want %d, and %v to %v", test.name, far, v.lag.Hi, test.far, test.hi, test.most)
		}
	}
	v := painted(t, weirCurve(), 800, 500)
	for _, take := range v.takes {
		if at := v.at(take); at.Y > v.Max.Y || at.Y < v.Min.Y {
			t.Errorf("a take of %v ms stands at %v, outside %v", take.LagMS, at, v.Rectangle)
		}
	}
}

func TestEmptyCurveInvites(t *testing.T) {
	f := Curve{ToleranceMS: 6}.Figure(inks)
	if all := strings.Join(svgTexts(t, f), " "); !strings.Contains(all, "No takes yet: play the machine at one tempo, record, and the first point appears here.") {
		t.Errorf("the empty curve says %q", all)
	}
}

func TestCurveCountsWhatItLeavesOut(t *testing.T) {
	c := weirCurve()
	c.Takes = append(c.Takes, CurveTake{TempoBPM: nan}, CurveTake{TempoBPM: 90, LagMS: inf}, CurveTake{TempoBPM: 90, LagMS: 1e9})
	v := c.view(inks)
	if v.left != 3 || len(v.takes) != 7 {
		t.Errorf("%d takes drawn, %d left out; want 7 and 3", len(v.takes), v.left)
	}
	if f := c.Figure(inks); !slices.Contains(svgTexts(t, f), v.note()) {
		t.Errorf("the curve does not say %q", v.note())
	}
	if v := crowdedCurve(1000, 1).view(inks); len(v.takes) != mostTakes || v.older != 600 {
		t.Errorf("%d takes drawn, %d older; want %d and 600", len(v.takes), v.older, mostTakes)
	}
}

func TestCurveKeepsItsOwnData(t *testing.T) {
	c := weirCurve()
	v := c.view(inks)
	c.Takes[0].LagMS, c.Takes[0].Setting = nan, -99
	if v.takes[0].LagMS == c.Takes[0].LagMS || v.takes[0].Setting == -99 {
		t.Error("the figure shares the caller's takes")
	}
}

func TestCurrentTakeAndLawAreDrawnLast(t *testing.T) {
	c := weirCurve()
	slices.Reverse(c.Takes)
	slices.Reverse(c.Laws)
	v := c.view(inks)
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
	law := new(curveView).sampleLaw(CurveLaw{LagMS: func(float64) (float64, float64) { return 40, 5 }}, span{Lo: 60, Hi: 140}, lawSamples)
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
	s := new(curveView).sampleLaw(CurveLaw{LagMS: func(p float64) (float64, float64) { return law.Lag(p, setting) }}, span{Lo: 60, Hi: 140}, lawSamples)
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
	s := new(curveView).sampleLaw(CurveLaw{LagMS: hole}, span{Lo: 60, Hi: 140}, lawSamples)
	for _, p := range s.points {
		if !finite(p.lag) || !finite(p.low) || !finite(p.high) || p.bpm < 100 {
			t.Fatalf("a point that is none: %+v", p)
		}
	}
	if len(s.points) == 0 {
		t.Error("the usable half of the law is gone too")
	}
}

// A tolerance that no distance can be is drawn as none.
func TestHostileTolerance(t *testing.T) {
	none := weirCurve()
	none.ToleranceMS = 0
	for _, ms := range []float64{-1, nan, inf, -inf, 1e9} {
		c := none
		c.ToleranceMS = ms
		if difference(c.Figure(inks).Image(300, 200, 1), none.Figure(inks).Image(300, 200, 1)) != 0 {
			t.Errorf("a tolerance of %v ms is drawn", ms)
		}
		fanOf(calib.Reading{}, nan, ms).figure().Image(300, 200, 1)
	}
}
