package plotting

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// CurveTake is one take on the lag-versus-tempo curve.
type CurveTake struct {
	TempoBPM, LagMS float64
	CI95MS          [2]float64 // 95 % interval of LagMS; not finite = unknown
	Setting         int        // steps; positive = voice earlier
	Converged       bool       // within tolerance where it stands: drawn filled, others hollow
	Disputed        bool       // does not count: drawn as a cross
	Voice           string
	Take            int             // its id; 0 = none
	Current         bool            // the latest take, or the one shown elsewhere: drawn with a halo
	Sweep           bool            // at many tempos: it stands at the mean of them
	Hits            []sketch.Strike // of a sweep, each at its own tempo, as the plate stands
}

// CurveLaw is the machine's law at one setting.
type CurveLaw struct {
	Setting int
	Voice   string
	// LagMS gives lag and standard deviation in ms at a beat period in ms. It
	// is called by Figure only, never while drawing.
	LagMS   func(periodMS float64) (lag, sd float64)
	Current bool // the setting the plate stands at
}

// CurveSong is a song of the set list: a bar on the tempo axis, from the slowest
// to the fastest tempo at which its setting is good, with a notch at its own.
type CurveSong struct {
	Name      string
	TempoBPM  float64
	Setting   int
	WindowBPM [2]float64 // 0 = none too slow, +Inf = none too fast; 0, 0 = unknown
	Picked    bool       // the one in sight elsewhere: drawn stronger, and named
	Laws      []CurveLaw // of its voices at its setting, drawn within its window
}

// Curve is the data of the lag-versus-tempo figure.
type Curve struct {
	Title, Voice string
	Takes        []CurveTake
	Laws         []CurveLaw
	Songs        []CurveSong
	ToleranceMS  float64   // half width of the band around zero
	TargetBPM    float64   // tempo to adjust for; 0 = none
	CoversBPM    []float64 // more tempos that lie on the axis
	InSight      CurveAxes // what of it is drawn; empty = all
}

// CurveAxes are tempos in BPM and lags in ms.
type CurveAxes struct{ Tempos, Lags sketch.Span }

// More than these cannot be told apart, and would only slow the drawing.
const (
	mostTakes = 400 // the latest ones
	mostHits  = 300 // of a sweep, evenly chosen
	mostLaws  = 40  // evenly chosen, the current ones among them
	mostSongs = 200 // the first ones, and the one picked
)

const lawSamples = 160

// lawPoint is the law at one tempo: lag and the edges of its 95 % band in ms.
type lawPoint struct{ bpm, lag, low, high float64 }

// sampledLaw is a law as a run of points of rising tempo.
type sampledLaw struct {
	label   string // empty = none
	current bool
	picked  bool // the song picked has this setting
	points  []lawPoint
	look    voiceLook
}

// drawnTake is a take and its voice's look.
type drawnTake struct {
	CurveTake
	look voiceLook
	far  bool // beyond the axis' lags, and drawn at its edge
}

// curveView is a Curve made ready to draw.
type curveView struct {
	theme       Theme
	title       string
	voice       string
	voices      []voiceLook // empty = the one voice of the title
	takes       []drawnTake
	hits        []drawnTake // of sweeps, each as if it were a take
	laws        []sampledLaw
	songs       []songBar
	strokes     []songStroke
	tolerance   float64
	target      float64
	tempos, lag span
	rows        span // beyond the lags, of takes that are far, in base sizes
	all         CurveAxes
	empty       bool // there are no takes, in sight or not
	older       int  // takes beyond mostTakes
}

// Figure draws the curve: takes with their 95 % intervals, the law at each
// setting with its band, the tolerance around zero, the songs' tempo windows on
// the axis and, within each of them, the law at the song's setting; that of the
// song picked goes on, with its band, over all tempos. Several voices differ in shape,
// dashes and colour, and the key names them. Takes without a usable tempo and lag are left
// out; a curve without any takes says how to begin.
func (c Curve) Figure(t Theme) *Figure {
	v := c.view(t)
	f := A5.onSide(v.paint)
	f.background, f.near, f.axes = t.Paper, v.near, v.all
	return f
}

func (c Curve) view(t Theme) *curveView {
	v := &curveView{theme: t, title: clean(c.Title), voice: clean(c.Voice)}
	if isTempo(c.TargetBPM) {
		v.target = c.TargetBPM
	}
	if sketch.IsLag(c.ToleranceMS) {
		v.tolerance = max(c.ToleranceMS, 0)
	}
	v.findVoices(c)
	for _, take := range c.Takes {
		if isTempo(take.TempoBPM) && sketch.IsLag(take.LagMS) {
			v.takes = append(v.takes, drawnTake{usable(take), v.look(take.Voice), false})
		}
	}
	v.older = max(len(v.takes)-mostTakes, 0)
	v.takes = v.takes[v.older:]
	v.empty = len(v.takes) == 0
	for _, take := range v.takes {
		for _, hit := range take.Hits {
			if take.TempoBPM, take.LagMS = hit.TempoBPM, hit.LagMS; isTempo(hit.TempoBPM) && sketch.IsLag(hit.LagMS) {
				v.hits = append(v.hits, take)
			}
		}
	}
	// The latest take is drawn last, over the others, and keeps its label.
	slices.SortStableFunc(v.takes, func(a, b drawnTake) int { return order(a.Current, b.Current) })
	v.setRanges(c)
	return v
}

// order sorts false before true.
func order(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// evenly keeps at most so many of the items, in their order: those that must be
// kept, and an even choice of the rest.
func evenly[T any](items []T, most int, must func(T) bool) []T {
	if len(items) <= most {
		return items
	}
	var kept []T
	for i, item := range items {
		if must(item) || i*most/len(items) != (i-1)*most/len(items) || i == 0 {
			kept = append(kept, item)
		}
	}
	for i := len(kept) - 1; i >= 0 && len(kept) > most; i-- {
		if !must(kept[i]) {
			kept = slices.Delete(kept, i, i+1)
		}
	}
	return kept
}

// usable returns the take with an interval that can be drawn.
func usable(t CurveTake) CurveTake {
	low, high := min(t.CI95MS[0], t.CI95MS[1]), max(t.CI95MS[0], t.CI95MS[1])
	if !sketch.IsLag(low) || !sketch.IsLag(high) || t.LagMS < low || t.LagMS > high {
		low, high = t.LagMS, t.LagMS
	}
	t.CI95MS = [2]float64{low, high}
	return t
}

// setRanges lets takes and songs decide the axes; without any the laws do.
func (v *curveView) setRanges(c Curve) {
	tempos, lags := append([]float64{v.target}, c.CoversBPM...), []float64(nil)
	for _, take := range slices.Concat(v.takes, v.hits) {
		tempos = append(tempos, take.TempoBPM)
	}
	for _, song := range c.Songs {
		tempos = append(tempos, song.TempoBPM)
	}
	v.lay(c, tempoSpan(tempos))
	for _, s := range v.strokes {
		lags = append(lags, s.at.lag)
	}
	lags = v.nearLags(lags)
	if v.empty && len(v.strokes) == 0 {
		for _, law := range v.laws {
			for _, p := range law.points {
				lags = append(lags, p.lag)
			}
		}
	}
	v.lag = lagSpan(lags, v.tolerance)
	v.all = CurveAxes{v.tempos, v.lag}
	if sight := c.InSight; sight.Tempos.Width() > 0 && sight.Lags.Width() > 0 {
		v.lay(c, sight.Tempos)
		v.lag = sight.Lags
		v.takes = slices.DeleteFunc(v.takes, func(t drawnTake) bool { return !v.tempos.Contains(t.TempoBPM) })
		for i := range v.takes {
			v.takes[i].far = !v.lag.Contains(v.takes[i].LagMS)
		}
	}
	v.hits = slices.DeleteFunc(v.hits, func(h drawnTake) bool { return !v.tempos.Contains(h.TempoBPM) || !v.lag.Contains(h.LagMS) })
}

// lay lays songs and laws out along an axis of tempos.
func (v *curveView) lay(c Curve, tempos span) {
	v.tempos, v.laws = tempos, nil
	v.songs = songBars(c.Songs, v.tempos)
	v.strokes = v.songStrokes(c)
	v.sampleLaws(c)
}

// farTimes is how many times further from zero than all nearer takes one has to lie to
// be far.
const farTimes = 3

// farRow is the height of the row of their own, where none that is near covers them, in base sizes.
const farRow = 1.9

// nearLags adds to the lags that the axis shows those of the takes, but for takes that
// lie far from all others: those would squeeze what matters, and stand at the axis'
// edge with their number. Beside songs at their settings any may be far; else the latest
// take is not, nor are more than half of them.
func (v *curveView) nearLags(lags []float64) []float64 {
	reach, limit, songs := math.Max(minLag, 1.6*v.tolerance), math.Inf(1), len(lags) > 0
	for _, lag := range lags {
		reach = math.Max(reach, math.Abs(lag))
	}
	var rising []float64
	for _, take := range v.takes {
		rising = append(rising, math.Abs(take.LagMS))
		if take.Current && !songs {
			reach = math.Max(reach, math.Abs(take.LagMS))
		}
	}
	slices.Sort(rising)
	for i, lag := range rising {
		if lag > farTimes*reach && (songs || 2*i >= len(rising)) {
			limit = reach
			break
		}
		reach = math.Max(reach, lag)
	}
	near := span{Lo: -farTimes * reach, Hi: farTimes * reach}
	for i := range v.takes {
		take := &v.takes[i]
		if take.far = math.Abs(take.LagMS) > limit; take.far {
			v.rows = v.rows.Include(math.Copysign(farRow, take.LagMS))
		} else {
			lags = append(lags, take.LagMS, near.Clamp(take.CI95MS[0]), near.Clamp(take.CI95MS[1]))
		}
	}
	for _, hit := range v.hits {
		if !songs {
			lags = append(lags, near.Clamp(hit.LagMS))
		}
	}
	return lags
}

// sampleLaws follows the laws across the tempo axis. Of several voices only the
// current laws and those of the song picked are labelled, with the voice: the
// others' dashes tell which it is.
func (v *curveView) sampleLaws(c Curve) {
	for i, law := range slices.Concat(c.Laws, c.pickedLaws()) {
		s := v.sampleLaw(law, v.tempos, lawSamples)
		s.current, s.picked = law.Current, i >= len(c.Laws)
		if len(v.voices) == 0 || s.mustShow() {
			s.label = joined(s.look.name, i18n.F("at %s", calib.SettingWords(law.Setting)))
		}
		if len(s.points) > 1 {
			v.laws = append(v.laws, s)
		}
	}
	slices.SortStableFunc(v.laws, func(a, b sampledLaw) int {
		return cmp.Or(order(a.current, b.current), order(a.picked, b.picked))
	})
	v.laws = evenly(v.laws, mostLaws, sampledLaw.mustShow)
}

// mustShow reports whether the law has a place and a label before others.
func (s sampledLaw) mustShow() bool { return s.current || s.picked }

// sampleLaw follows the law across a span of tempos, leaving out what is not a lag.
func (v *curveView) sampleLaw(law CurveLaw, tempos span, samples int) sampledLaw {
	s := sampledLaw{look: v.look(law.Voice)}
	if law.LagMS == nil {
		return s
	}
	for i := range samples {
		bpm := tempos.Lo + tempos.Width()*float64(i)/float64(max(samples-1, 1))
		lag, sd := law.LagMS(60000 / bpm)
		if !sketch.IsLag(lag) {
			continue
		}
		half := calib.Half95 * math.Abs(sd)
		if !sketch.IsLag(half) {
			half = 0
		}
		s.points = append(s.points, lawPoint{bpm, lag, lag - half, lag + half})
	}
	return s
}

// voiceLook is how a voice looks: no two of the first twelve share the shape of
// the mark and the dashes both, whatever the colours. A mark's colour says how its
// lag lies, whatever the voice.
type voiceLook struct {
	name   string
	shape  int // of marks
	dashes []vg.Length
	line   color.NRGBA
}

// marks are the shapes of takes: corners, and the angle of the first, clockwise from the top;
// many corners are round. Of the same area, so that none outweighs another.
var marks = []struct {
	corners      int
	turn, radius float64
}{
	{48, 0, 1}, {4, math.Pi / 4, 1.25}, {3, 0, 1.5}, {4, 0, 1.32}, {3, math.Pi, 1.5}, {6, math.Pi / 2, 1.12},
}

// dashes are the patterns of the laws' lines; none = drawn through.
var dashes = [][]vg.Length{nil, {7, 3}, {2, 2.5}, {9, 3, 2, 3}}

// findVoices finds the curve's voices, in the order in which takes and laws name them. A
// single one has the theme's colours.
func (v *curveView) findVoices(c Curve) {
	tones := v.theme.Voices()
	add := func(name string) {
		name, i := clean(name), len(v.voices)
		if !slices.ContainsFunc(v.voices, func(l voiceLook) bool { return l.name == name }) {
			v.voices = append(v.voices, voiceLook{name, i % len(marks), dashes[i%len(dashes)], tones[i%len(tones)]})
		}
	}
	for _, take := range c.Takes {
		add(take.Voice)
	}
	for _, law := range c.Laws {
		add(law.Voice)
	}
	if len(v.voices) == 1 {
		v.voices = nil
	}
}

// look returns what a voice looks like.
func (v *curveView) look(voice string) voiceLook {
	i := slices.IndexFunc(v.voices, func(l voiceLook) bool { return l.name == clean(voice) })
	if i < 0 {
		return voiceLook{line: v.theme.Mark}
	}
	return v.voices[i]
}

// mark draws the voice's mark, hollow or filled.
func (look voiceLook) mark(p pen, background, c color.NRGBA, at sketch.Pt, radius float64, filled bool) {
	m := marks[look.shape]
	path := make([]sketch.Pt, m.corners+2) // the last two are the first again, so that no corner gapes
	for i := range path {
		path[i] = sketch.On(at.X, at.Y, radius*m.radius, m.turn+2*math.Pi*float64(i)/float64(m.corners))
	}
	if filled {
		background = c
	}
	p.Shape(background, path[:m.corners])
	p.stroke(c, 2, nil, path)
}
