package sketch

import (
	"image/color"
	"math"
	"slices"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
)

// recorder is a surface that keeps what was written on it and the diamonds.
type recorder struct {
	w, h     float64
	words    []string
	boxes    []Rect
	diamonds []Pt
	shapes   [][]Pt
}

func (r *recorder) Size() (w, h float64)                                { return r.w, r.h }
func (r *recorder) Grain() float64                                      { return 1 }
func (r *recorder) Box(color.Color, float64, float64, float64, float64) {}

func (r *recorder) Shape(_ color.Color, polygons ...[]Pt) {
	r.shapes = append(r.shapes, polygons...)
	if p := polygons[0]; len(p) == 4 && p[0].X == p[2].X && p[1].Y == p[3].Y {
		r.diamonds = append(r.diamonds, Pt{p[0].X, p[1].Y})
	}
}

func (r *recorder) TextWidth(size float64, _ bool, s string) float64 {
	return 0.55 * size * float64(utf8.RuneCountInString(s))
}

func (r *recorder) Text(_ color.Color, x, y float64, align Align, size float64, bold bool, s string) float64 {
	w := r.TextWidth(size, bold, s)
	x -= w * float64(align) / 2
	r.words = append(r.words, s)
	r.boxes = append(r.boxes, Rect{Pt{x, y - size*0.45}, Pt{x + w, y + size*0.45}})
	return w
}

// drawn is a fan on a surface of the given size.
func drawn(f Fan, w, h, small float64) *recorder {
	r := &recorder{w: w, h: h}
	f.Draw(Pen{r}, OnPaper(), small, "nothing yet")
	return r
}

// scattered is a fan of n pairs about a lag, every seventh left out, and one of those
// far away.
func scattered(n int, lag, spread float64) Fan {
	f := Fan{Reading: calib.Reading{LagMS: lag, LagCI95MS: [2]float64{lag - 1.5, lag + 1.5}}, ToleranceMS: 6}
	for i := range n {
		at := lag + spread*math.Sin(float64(i)*2.4)
		if i == 10 {
			at = lag + 900
		}
		f.Pairs = append(f.Pairs, calib.Pair{LagMS: at, Used: i%7 != 3})
	}
	return f
}

// Zero, tolerance, interval and the lags that count are in sight of any fan, and the
// labels of its axis are few, distinct and hold zero.
func TestFanShowsWhatCounts(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		lag := rapid.Float64Range(-500, 500).Draw(t, "lag")
		f := Fan{Reading: calib.Reading{LagMS: lag, LagCI95MS: [2]float64{lag - 2, lag + 2}}, ToleranceMS: rapid.Float64Range(0, 50).Draw(t, "tolerance")}
		for range rapid.IntRange(0, 20).Draw(t, "pairs") {
			f.Pairs = append(f.Pairs, calib.Pair{LagMS: rapid.Float64Range(-500, 500).Draw(t, "pair"), Used: rapid.Bool().Draw(t, "used")})
		}
		s := f.Axis()
		seen := []float64{0, leastReach, -leastReach, f.ToleranceMS, -f.ToleranceMS, f.LagCI95MS[0], f.LagCI95MS[1]}
		for _, p := range f.Pairs {
			if p.Used {
				seen = append(seen, p.LagMS)
			}
		}
		for _, ms := range seen {
			if ms <= s.Lo || ms >= s.Hi {
				t.Fatalf("%v is not between %v and %v", ms, s.Lo, s.Hi)
			}
		}
		ticks, labels := s.Ticks(8), map[string]bool{}
		for _, m := range ticks {
			labels[m.Label] = true
		}
		if !labels["0"] || len(labels) != len(ticks) || len(ticks) > 9 {
			t.Fatalf("ticks %v", ticks)
		}
	})
}

func TestFarStraysDoNotSqueezeTheFan(t *testing.T) {
	f := Fan{Reading: calib.Reading{LagMS: 22, LagCI95MS: [2]float64{20, 24}}, ToleranceMS: 6}
	for _, ms := range []float64{20, 22, 24, 640, -900} {
		f.Pairs = append(f.Pairs, calib.Pair{LagMS: ms, Used: ms > 0 && ms < 30})
	}
	s := f.Axis()
	if s.Hi > 40 || s.Lo < -20 {
		t.Errorf("the axis runs from %v to %v ms", s.Lo, s.Hi)
	}
	g := f.Field(400, 200, 12)
	for _, r := range f.Rays() {
		if head := g.Head(r); head.X < 0 || head.X > 400 {
			t.Errorf("the ray of %v ms ends at %v, outside", r.LagMS, head)
		}
	}
}

func TestFiguresOfTheAxis(t *testing.T) {
	for _, c := range []struct {
		ms, step float64
		want     string
	}{{10, 5, "+10"}, {-5, 5, "−5"}, {0, 5, "0"}, {2.5, 0.5, "+2.5"}, {-1e-15, 0.5, "0"}} {
		if got := Signed(c.ms, c.step); got != c.want {
			t.Errorf("Signed(%v, %v) = %q, want %q", c.ms, c.step, got, c.want)
		}
	}
}

func TestThinningKeepsTheOutline(t *testing.T) {
	rays := scattered(5000, 24, 3).Rays()
	kept := Thinned(rays, 300)
	if len(kept) > 300 {
		t.Fatalf("%d rays kept", len(kept))
	}
	extremes := func(rays []Ray) (lo, hi float64) {
		lo, hi = math.Inf(1), math.Inf(-1)
		for _, r := range rays {
			lo, hi = min(lo, r.LagMS), max(hi, r.LagMS)
		}
		return lo, hi
	}
	lo, hi := extremes(rays)
	if l, h := extremes(kept); l != lo || h != hi {
		t.Errorf("the outline from %v to %v became %v to %v", lo, hi, l, h)
	}
}

// A late hit stands right of the reference and a later pair lower, a used one as a
// diamond and one left out as none.
func TestHeadsStandWhereTheyStruck(t *testing.T) {
	f := Fan{Reading: calib.Reading{Pairs: []calib.Pair{{LagMS: 8, Used: true}, {LagMS: -8, Used: true}, {LagMS: 5}}}}
	g, r := f.Field(600, 300, 13), drawn(f, 600, 300, 13)
	if len(r.diamonds) != 2 || r.diamonds[0].X <= g.X(0) || r.diamonds[1].X >= g.X(0) || r.diamonds[0].Y >= r.diamonds[1].Y {
		t.Errorf("diamonds at %v, the reference at %v", r.diamonds, g.X(0))
	}
}

// No two words lie over each other, none leaves the picture, and none covers a hit.
func TestWordsOfTheFanKeepApart(t *testing.T) {
	for _, f := range []Fan{scattered(40, 62, 8), scattered(24, -38, 9), scattered(30, 1.5, 4), scattered(400, 14, 20), scattered(3, 0, 1)} {
		for _, size := range [][3]float64{{220, 150, 13}, {260, 180, 13}, {500, 220, 13}, {1000, 420, 13}, {440, 300, 26}, {595, 297, 11}, {330, 170, 10}} {
			r := drawn(f, size[0], size[1], size[2])
			for i, a := range r.boxes {
				if !a.Within(Rect{Pt{-0.5, -0.5}, Pt{size[0] + 0.5, size[1] + 0.5}}) {
					t.Errorf("%v: %q leaves the picture", size, r.words[i])
				}
				for j, b := range r.boxes[:i] {
					if a.Overlaps(b) {
						t.Errorf("%v: %q lies over %q", size, r.words[i], r.words[j])
					}
				}
				for _, head := range r.diamonds {
					if a.Overlaps(About(head, 3)) {
						t.Errorf("%v: %q covers a hit at %v", size, r.words[i], head)
					}
				}
			}
		}
	}
}

func TestFanSaysWhatItShows(t *testing.T) {
	f := scattered(60, 24.3, 2)
	f.Pairs[5].LagMS = math.NaN()
	r := drawn(f, 595, 297, 11)
	for _, want := range []string{"as played: 24.3 ms late ± 1.5 · 50 pairs, 9 left out · 1 without a lag", "reference", "voice", "first pair", "last of 60", "early", "late", "tight", "±6 ms", "0"} {
		if !slices.Contains(r.words, want) {
			t.Errorf("the fan lacks %q; it has %q", want, r.words)
		}
	}
	for _, empty := range []Fan{{}, {Reading: calib.Reading{Pairs: []calib.Pair{{LagMS: math.NaN()}, {LagMS: math.Inf(1)}}}}} {
		if got := drawn(empty, 400, 200, 12).words; !slices.Equal(got, []string{"nothing yet"}) {
			t.Errorf("an empty fan says %q", got)
		}
	}
}
