package sketch

import (
	"image/color"
	"math"
	"strconv"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Fan is the hit fan: every pair of a take laid over every other with the reference
// hits at zero, so that scatter and offset are seen at once. Each pair is a ray from
// the reference to where its voice sounded, the take's first pair on top; late lies
// to the right, early to the left.
type Fan struct {
	calib.Reading
	ToleranceMS float64 // a lag within ± this is tight; 0 draws none
	Sweep       *Sweep  // what is drawn instead of a take that tells a law: each of its tempos has a lag
}

// FanOf returns the fan of a reading; songs at the tempos lie on that of a sweep. A tolerance
// that no distance can be draws none.
func FanOf(r calib.Reading, toleranceMS float64, songsBPM ...float64) Fan {
	f := Fan{Reading: r, Sweep: sweepOf(r, songsBPM)}
	if toleranceMS > 0 && IsLag(toleranceMS) {
		f.ToleranceMS = toleranceMS
	}
	return f
}

// maxLag is the lag in ms beyond which nothing is one.
const maxLag = 1e5

// IsLag reports whether ms can be a lag.
func IsLag(ms float64) bool { return math.Abs(ms) <= maxLag }

// Ray is one pair of a fan.
type Ray struct {
	LagMS, Turn float64 // Turn is when in the take: 0 first, 1 last
	Used        bool
}

// Rays returns the pairs that have a lag.
func (f Fan) Rays() []Ray {
	var rays []Ray
	for i, p := range f.Pairs {
		if IsLag(p.LagMS) {
			turn := 0.5
			if len(f.Pairs) > 1 {
				turn = float64(i) / float64(len(f.Pairs)-1)
			}
			rays = append(rays, Ray{p.LagMS, turn, p.Used})
		}
	}
	return rays
}

// leastReach is how far a fan's axis goes from zero to either side at least, in ms:
// a tight reading must look tight.
const leastReach = 10

// Axis is the scale in sight: zero, the tolerance, the interval and all lags that
// count, with some room, and of the rest what lies near. A far stray would otherwise
// squeeze what matters.
func (f Fan) Axis() Span {
	s := Span{-leastReach, leastReach}
	if IsLag(f.ToleranceMS) {
		s = s.Include(-1.15*f.ToleranceMS, 1.15*f.ToleranceMS)
	}
	for _, lag := range []float64{f.LagMS, f.LagCI95MS[0], f.LagCI95MS[1]} {
		if IsLag(lag) {
			s = s.Include(lag)
		}
	}
	rays := f.Rays()
	for _, r := range rays {
		if r.Used {
			s = s.Include(r.LagMS)
		}
	}
	near := s.Padded(0.25)
	for _, r := range rays {
		if near.Contains(r.LagMS) {
			s = s.Include(r.LagMS)
		}
	}
	return s.Padded(0.06)
}

// mostRays are as many as can be told from each other.
const mostRays = 600

// Thinned returns at most so many rays, keeping of each run of neighbours the
// earliest and the latest voice hit, so that the fan keeps its outline.
func Thinned(rays []Ray, most int) []Ray {
	if len(rays) <= most || most < 2 {
		return rays
	}
	runs := most / 2
	var kept []Ray
	for i := range runs {
		run := rays[i*len(rays)/runs : (i+1)*len(rays)/runs]
		low, high := run[0], run[0]
		for _, r := range run {
			if r.LagMS < low.LagMS {
				low = r
			}
			if r.LagMS > high.LagMS {
				high = r
			}
		}
		kept = append(kept, low, high)
	}
	return kept
}

// Verdict says in a word how the lag lies to the tolerance; empty without one.
func (f Fan) Verdict() string {
	switch {
	case !(f.ToleranceMS > 0) || !IsLag(f.LagMS):
		return ""
	case math.Abs(f.LagMS) <= f.ToleranceMS:
		return i18n.L("tight")
	case f.LagMS > 0:
		return i18n.L("late")
	}
	return i18n.L("early")
}

// Summary says the reading in words: the lag, how sure it is, and the pairs.
func (f Fan) Summary() string {
	used, out := 0, 0
	for _, r := range f.Rays() {
		if r.Used {
			used++
		} else {
			out++
		}
	}
	words := i18n.F("%d of %d used", used, used+out)
	if IsLag(f.LagMS) {
		lag, half := calib.LateEarly(f.LagMS), 0.0
		if ci := f.LagCI95MS; IsLag(ci[0]) && IsLag(ci[1]) {
			half = (ci[1] - ci[0]) / 2
		}
		words = i18n.F("as played: %s ± %.1f · %d pairs", lag, half, used)
		if out > 0 {
			words = i18n.F("as played: %s ± %.1f · %d pairs, %d left out", lag, half, used, out)
		}
	}
	if without := len(f.Pairs) - used - out; without > 0 {
		words += " · " + i18n.F("%d without a lag", without)
	}
	return words
}

// Field is where a fan's parts lie on a surface.
type Field struct {
	W, H        float64
	Scale       Span
	Left, Right float64 // where the axis ends
	Apex        float64 // height of the reference, whence the rays come
	Top, Bottom float64 // of the band of voice hits, the first pair on top
	Bar         float64 // height of the interval
	Base        float64 // the axis line
	Words       float64 // middle of the summary
	Row         float64 // of text
}

// Field divides a surface w by h with small text of the given size.
func (f Fan) Field(w, h, small float64) Field {
	row := small * 1.5
	g := Field{W: w, H: h, Scale: f.Axis(), Left: 14, Right: w - 14, Row: row, Words: 4 + row/2}
	g.Apex = row + 14
	g.Base = h - row - 5
	g.Bar = g.Base - 11
	g.Bottom = g.Bar - 14
	g.Top = min(g.Bottom, g.Apex+(g.Bottom-g.Apex)*0.42)
	return g
}

// X is where a lag lies.
func (g Field) X(ms float64) float64 { return g.Scale.X(ms, g.Left, g.Right) }

// Head is where a ray ends; lags beyond the axis stay at its edge.
func (g Field) Head(r Ray) Pt {
	return Pt{max(g.Left-6, min(g.Right+6, g.X(r.LagMS))), g.Top + r.Turn*(g.Bottom-g.Top)}
}

// fanPainter draws one fan.
type fanPainter struct {
	Fan
	Field
	Pen
	inks  Inks
	small float64
	room  Placer
	rays  []Ray
}

// Draw draws the fan with small text of the given size, or, where no pair has a lag,
// the sentence that says what to do.
func (f Fan) Draw(p Pen, inks Inks, small float64, otherwise string) {
	if f.Sweep != nil {
		f.Sweep.draw(p, inks, small, f.ToleranceMS)
		return
	}
	w, h := p.Size()
	d := &fanPainter{Fan: f, Field: f.Field(w, h, small), Pen: p, inks: inks, small: small, rays: Thinned(f.Rays(), mostRays)}
	if len(d.rays) == 0 {
		d.Upright(inks.Grid, w/2, 12, h-12, 1)
		d.Sentence(inks.Quiet, inks.Paper, small*1.1, otherwise)
		return
	}
	d.zone()
	d.axis()
	d.fan()
	d.interval()
	d.summary()
	d.labels()
}

// zone shades the tolerance.
func (d *fanPainter) zone() {
	if !(d.ToleranceMS > 0) {
		return
	}
	edges := []float64{max(0, d.X(-d.ToleranceMS)), min(d.W, d.X(d.ToleranceMS))}
	d.Box(d.inks.Zone(), edges[0], d.Apex, edges[1], d.Base)
	for _, x := range edges {
		d.Upright(Mix(d.inks.Paper, d.inks.Tight, 0.6), x, d.Apex, d.Base, 1)
	}
}

// axis draws the scale of lags; its last label carries the unit.
func (d *fanPainter) axis() {
	y := d.Base + 4 + d.Row/2
	marks := d.Scale.Ticks(max(3, int(d.W/(d.small*5.8))))
	for i, m := range marks {
		x := d.X(m.At)
		d.Upright(Mix(d.inks.Paper, d.inks.Grid, 0.7), x, d.Apex, d.Base, 1)
		d.Upright(d.inks.Quiet, x, d.Base, d.Base+4, 1)
		label := m.Label
		if i == len(marks)-1 {
			label = i18n.F("%s ms", label)
		}
		half := d.TextWidth(d.small, m.At == 0, label) / 2
		x = max(half+3, min(x, d.W-half-3))
		d.Text(d.inks.Quiet, x, y, Centre, d.small, m.At == 0, label)
	}
	d.Level(d.inks.Grid, 0, d.W, d.Base, 1.5)
}

// fan draws each pair: rays first, so that no head is hidden.
func (d *fanPainter) fan() {
	zero := d.X(0)
	d.Upright(d.inks.Reference, zero, d.Apex, d.Base, 1.5)
	apex := Pt{zero, d.Apex}
	faint := Faded(d.inks.Voice, max(40, min(150, 2200/float64(len(d.rays))))/255)
	for _, r := range d.rays {
		head := d.Head(r)
		d.room.Line(apex, head)
		d.room.Mark(About(head, 6))
		if r.Used {
			d.Line(faint, 1.2, apex, head)
		} else {
			d.Dashes(Mix(d.inks.Paper, d.inks.Quiet, 0.6), 1, 4, apex, head)
		}
	}
	for _, used := range []bool{false, true} {
		for _, r := range d.rays {
			if r.Used == used {
				d.head(r)
			}
		}
	}
	d.Disc(d.inks.Reference, zero, d.Apex, 5.5)
	d.room.Mark(About(apex, 7))
	d.room.Mark(Rect{Pt{zero - 2, d.Apex}, Pt{zero + 2, d.Base}})
}

// head draws a voice hit: a diamond when used, else a cross; an arrow for one that
// lies beyond the axis.
func (d *fanPainter) head(r Ray) {
	at := d.Head(r)
	x := d.X(r.LagMS)
	switch way := math.Copysign(1, x-at.X); {
	case r.Used:
		d.Diamond(d.inks.Voice, at.X, at.Y, 5)
	case math.Abs(x-at.X) > 1e-9:
		d.Shape(d.inks.Quiet, []Pt{{at.X + way*6, at.Y}, {at.X - way*3, at.Y - 5}, {at.X - way*3, at.Y + 5}})
	default:
		d.Cross(d.inks.Quiet, at.X, at.Y, 3.6, 1.8)
	}
}

// interval draws the lag with its 95 % interval.
func (d *fanPainter) interval() {
	lo, hi, mid := d.X(d.LagCI95MS[0]), d.X(d.LagCI95MS[1]), d.X(d.LagMS)
	if !IsLag(d.LagCI95MS[0]) || !IsLag(d.LagCI95MS[1]) || !IsLag(d.LagMS) {
		return
	}
	c := d.inks.Lag(d.LagMS, d.ToleranceMS)
	d.Level(c, lo, hi, d.Bar, 3)
	d.Upright(c, lo, d.Bar-5, d.Bar+5, 2)
	d.Upright(c, hi, d.Bar-5, d.Bar+5, 2)
	d.Disc(d.inks.Paper, mid, d.Bar, 5.5)
	d.Ring(c, mid, d.Bar, 4.5, 2)
	d.room.Mark(Rect{Pt{min(lo, mid) - 6, d.Bar - 6}, Pt{max(hi, mid) + 6, d.Bar + 6}})
}

// summary writes the reading in words along the top: all of it, or the lag alone, as
// large as there is room.
func (d *fanPainter) summary() {
	size := d.small * min(max(1.08, d.H/220), 1.4)
	s := d.Summary()
	if d.TextWidth(size, true, s) > d.W-12 {
		s, _, _ = strings.Cut(s, " · ")
	}
	c := d.inks.Text
	if IsLag(d.LagMS) {
		c = d.inks.Lag(d.LagMS, d.ToleranceMS)
	}
	d.Text(c, d.W/2, d.Words, Centre, d.Fit(size, true, s, d.W-6), true, s)
}

// labels names the sides, the reference, the zone and which pair is which, as far
// as there is room apart from the hits and from each other.
func (d *fanPainter) labels() {
	d.room.Area = Rect{Pt{2, d.Words + d.Row/2}, Pt{d.W - 2, d.Base - 1}}
	zero, away, tall := d.X(0), -1.0, d.small*1.25
	if d.LagMS < 0 {
		away = 1 // to the side the rays do not take
	}
	d.side(d.inks.Early, d.Left-8, -1, i18n.L("early"))
	d.side(d.inks.Late, d.Right+8, 1, i18n.L("late"))
	d.reference(zero, away)
	for _, way := range []float64{away, -away} { // which the reference's name may lie over
		edge := d.X(way * d.ToleranceMS)
		d.room.Line(Pt{edge, d.Apex - d.small}, Pt{edge, d.Base})
	}
	if d.ToleranceMS > 0 {
		word := i18n.L("tight")
		for _, way := range []float64{away, -away} {
			edge := d.X(way * d.ToleranceMS)
			if math.Abs(zero-edge) >= d.TextWidth(d.small, false, word)+9 && d.rows(d.room.Place, d.inks.Tight, edge-way*5, -way, false, word) {
				break
			}
		}
		within := i18n.F("±%s ms", i18n.Decimal(strconv.FormatFloat(math.Round(d.ToleranceMS*10)/10, 'f', -1, 64)))
		if edge := d.X(away * d.ToleranceMS); math.Abs(zero-edge) >= d.TextWidth(d.small, false, within)+9 {
			d.word(d.room.PlaceClear, d.inks.Tight, -away, false, within, Pt{edge - away*5, d.Base - tall - 2})
		}
	}
	edge := d.Left - 8
	if away > 0 {
		edge = d.Right + 8
	}
	clear := d.room.PlaceClear
	d.word(clear, d.inks.Voice, -away, true, i18n.L("voice"), Pt{edge, d.Top - 1.6*tall})
	d.word(clear, d.inks.Quiet, -away, false, i18n.L("first pair"), Pt{edge, d.Top - tall/2})
	d.word(clear, d.inks.Quiet, -away, false, i18n.F("last of %d", len(d.Pairs)), Pt{edge, d.Bottom - tall/2})
}

// reference names the reference beside its mark, or where rays leave no room there, lower
// down its line.
func (d *fanPainter) reference(zero, away float64) {
	word, tall := i18n.L("reference"), d.small*1.25
	for _, way := range []float64{away, -away} {
		if d.word(d.room.PlaceClear, d.inks.Reference, way, true, word, Pt{zero + way*11, d.Apex - tall/2}) {
			return
		}
	}
	for _, way := range []float64{away, -away} {
		if d.rows(d.room.PlaceClear, d.inks.Reference, zero+way*7, way, true, word) {
			return
		}
	}
}

// side names one side of zero at the picture's edge x, with an arrow that way.
func (d *fanPainter) side(c color.Color, x, way float64, word string) {
	y, wide, tall := d.Apex, d.TextWidth(d.small, true, word)+11, d.small*1.25
	left, align := x, Left
	if way > 0 {
		left, align = x-wide, Right
	}
	if _, ok := d.room.Place(wide, tall, Pt{left, y - tall/2}); !ok {
		return
	}
	d.Shape(c, []Pt{{x, y}, {x - way*7, y - 4}, {x - way*7, y + 4}})
	d.Text(c, x-way*11, y, align, d.small, true, word)
}

// place finds room for a label, as a Placer does.
type place = func(w, h float64, corners ...Pt) (Rect, bool)

// rows writes a word beside an upright at x, at the first height that has room.
func (d *fanPainter) rows(find place, c color.Color, x, way float64, bold bool, word string) bool {
	var at []Pt
	for y := d.Apex + d.small*0.8; y < d.Base-d.small*1.4; y += d.small * 0.7 {
		at = append(at, Pt{x, y})
	}
	return d.word(find, c, way, bold, word, at...)
}

// word writes a word at the first of the places, each the upper end of its left side,
// or where it is written to the left, of its right one.
func (d *fanPainter) word(find place, c color.Color, way float64, bold bool, word string, at ...Pt) bool {
	wide, tall := d.TextWidth(d.small, bold, word), d.small*1.25
	if way < 0 {
		for i := range at {
			at[i].X -= wide
		}
	}
	r, ok := find(wide, tall, at...)
	if ok {
		d.Text(c, r.Min.X, r.Min.Y+tall/2, Left, d.small, bold, word)
	}
	return ok
}
