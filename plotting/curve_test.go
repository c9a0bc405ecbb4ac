package plotting

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/plotting/sketch"
)

func TestCurveSaysWhatItShows(t *testing.T) {
	f := weirCurve().Figure(inks)
	texts := svgTexts(t, f)
	wantTexts(t, texts,
		"Weir Lane No. 2", "tub drum", "strikes together", "target 104", lagAxis(), "tempo (BPM)",
		"late", "early", "tight take", "95 %", "at +20", "at +27", "+25", "+27", "+28", "0 · 169 ms", "0 · 157 ms", "+10 · 97 ms",
	)
}

// Several voices are named in the key and at their current laws, and no two of a
// dozen look alike to somebody who sees no colours.
func TestVoicesAreToldApartWithoutColour(t *testing.T) {
	f := weirVoices(3).Figure(inks)
	texts := svgTexts(t, f)
	wantTexts(t, texts, "tub drum", "elm block", "brass bar", "tub drum · at +27", "elm block · at +27", "brass bar · at +27", "tempo window")
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
		if !slices.Contains(texts, calib.SettingWords(song.Setting)) {
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
	c := painted(t, weirVoices(40), 800, 500)
	if len(c.high.marks) < 3 || c.high.Lo >= c.lag.Lo {
		t.Errorf("%d ticks, the songs lie between %v and %v ms", len(c.high.marks), c.high.Lo, c.lag.Lo)
	}
	for _, tick := range c.high.marks {
		if tick.At < c.lag.Lo {
			t.Errorf("a tick at %v ms, below %v", tick.At, c.lag.Lo)
		}
	}
	for _, height := range []float64{10, 100, 1000} {
		if lane, strip := c.songRoom(height, 10); lane <= 0 || strip > height/2+4 {
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
	first := weirVoices(12) // beside songs at their settings the one take there is may be far
	first.Takes = []CurveTake{take(260, true)}
	if v := first.view(inks); len(v.strokes) == 0 || !v.takes[0].far || v.lag.Hi > 60 {
		t.Errorf("beside %d songs a first take of 260 ms stands on an axis to %v ms", len(v.strokes), v.lag.Hi)
	}
	near := weirCurve() // its latest take at the top of the axis, where others are far
	near.Takes[len(near.Takes)-1].TempoBPM, near.Takes[len(near.Takes)-1].LagMS = near.Takes[0].TempoBPM, 16
	v := painted(t, near, 800, 500)
	for _, take := range v.takes {
		if low := v.at(v.takes[len(v.takes)-1]).Y - v.base*0.85; take.far && v.at(take).Y > low {
			t.Errorf("the latest take covers that of %v ms", take.LagMS)
		}
		if at := v.at(take); at.Y > v.h || at.Y < 0 {
			t.Errorf("a take of %v ms stands at %v, outside %v", take.LagMS, at, v.h)
		}
	}
}

// A sweep's hits stand at their own tempos between the axes, which they do not stretch beside
// songs at their settings, and a click on one means the take.
func TestCurveOfASweep(t *testing.T) {
	c := weirVoices(12)
	voice := c.Takes[0].Voice
	c.Takes = []CurveTake{{TempoBPM: 100, LagMS: 3, Take: 76, Voice: voice}}
	steady := c.Figure(inks).Axes()
	c.Takes = append(c.Takes, CurveTake{TempoBPM: 95, LagMS: 260, Take: 77, Voice: voice, Hits: []sketch.Strike{{TempoBPM: 70, LagMS: 11}, {TempoBPM: 115, LagMS: -9}, {TempoBPM: 95, LagMS: 260}, {TempoBPM: nan, LagMS: 1}}})
	v := c.view(inks)
	if len(v.hits) != 2 || v.lag != steady.Lags {
		t.Errorf("%d hits on an axis of %v; want 2, and %v as without the sweep", len(v.hits), v.lag, steady.Lags)
	}
	p := painted(t, c, 900, 600)
	for _, hit := range p.hits {
		x, y := onPage(p, p.at(hit))
		near := c.Figure(inks).Near(900, 600, 1, x, y)
		if near.Take != 77 || near.Voice != voice || math.Abs(near.TempoBPM-hit.TempoBPM) > 0.1 || math.Abs(near.LagMS-hit.LagMS) > 0.1 {
			t.Errorf("a click on the hit %+v means %+v", hit.CurveTake, near)
		}
	}
	c.Songs, c.Takes = nil, c.Takes[len(c.Takes)-1:] // alone it has all the axes
	c.Takes[0].Current = true
	if v = c.view(inks); len(v.hits) != 3 || !v.tempos.Contains(70) || !v.tempos.Contains(115) {
		t.Errorf("alone %d hits on %v and %v", len(v.hits), v.tempos, v.lag)
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
	if left := len(c.Takes) - len(v.takes); left != 3 || v.older != 0 {
		t.Errorf("%d of %d takes left out, %d as older; want the 3 that have no place, none as older", left, len(c.Takes), v.older)
	}
	c = crowdedCurve(1000, 1)
	if v := c.view(inks); len(v.takes) != mostTakes || v.older != 600 {
		t.Errorf("%d takes drawn, %d older; want %d and 600", len(v.takes), v.older, mostTakes)
	}
	if f := c.Figure(inks); !slices.Contains(svgTexts(t, f), "older takes, not drawn: 600") {
		t.Error("the curve does not say how many it leaves out")
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

// A stretch of the curve has what lies in it: a take at another tempo is not drawn, one of
// another lag stands at the edge with its number, and a place has the values of the axes.
func TestCurveInSight(t *testing.T) {
	c := weirVoices(3)
	whole := c.Figure(inks).Axes()
	c.InSight = CurveAxes{Tempos: span{Lo: 90, Hi: 108}, Lags: span{Lo: -5, Hi: 5}}
	f := c.Figure(inks)
	if got := f.Axes(); got != whole {
		t.Errorf("the axes are %v, want those of all that there is: %v", got, whole)
	}
	for _, take := range c.view(inks).takes {
		if !c.InSight.Tempos.Contains(take.TempoBPM) || take.far == c.InSight.Lags.Contains(take.LagMS) {
			t.Errorf("drawn: %+v", take)
		}
	}
	texts := svgTexts(t, f)
	for word, want := range map[string]bool{"strikes together": true, "target 104": true, "96": true, "70": false, "+10 · 97 ms": true, "No takes yet: play the machine at one tempo, record, and the first point appears here.": false} {
		if slices.Contains(texts, word) != want {
			t.Errorf("%q is written: %v; all there is: %q", word, !want, texts)
		}
	}
	corner, far := f.Near(900, 600, 1, 0, 600), f.Near(900, 600, 1, 900, 0)
	if !(corner.TempoBPM < 90 && far.TempoBPM > 108 && corner.LagMS < -5 && far.LagMS > 5) {
		t.Errorf("the picture goes from %+v to %+v", corner, far)
	}

	c.InSight = CurveAxes{Tempos: span{Lo: 128, Hi: 130}, Lags: span{Lo: 60, Hi: 90}}
	texts = svgTexts(t, c.Figure(inks))
	for _, s := range texts {
		if strings.HasPrefix(s, "No takes") || s == "strikes together" || s == "target 104" {
			t.Errorf("beside all takes, zero and target, %q is written", s)
		}
	}
}
