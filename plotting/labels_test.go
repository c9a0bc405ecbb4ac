package plotting

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"lagwright/plotting/sketch"
)

func TestPlacerAvoidsLinesOnlyWhileItCan(t *testing.T) {
	p := surface{w: 100, h: 100}.room()
	p.Mark(sketch.About(sketch.Pt{X: 20, Y: 20}, 20))
	p.Line(sketch.Pt{X: 50}, sketch.Pt{X: 60, Y: 100})
	corners := []sketch.Pt{{X: 30, Y: 30}, {X: 95, Y: 5}, {X: 45, Y: 5}, {X: 70, Y: 5}}
	for _, want := range []sketch.Pt{{X: 70, Y: 5}, {X: 45, Y: 5}} {
		r, ok := p.Place(20, 10, corners...)
		if !ok || r.Min != want {
			t.Fatalf("label at %v (%v), want %v", r.Min, ok, want)
		}
	}
	if r, ok := p.Place(20, 10, corners...); ok {
		t.Fatalf("a third label at %v where there was no room", r.Min)
	}
}

func TestSpreadKeepsApartAndInside(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		at := make([]float64, 1+r.IntN(9))
		for i := range at {
			at[i] = r.Float64()*140 - 20
		}
		slices.Sort(at)
		spread(at, 10, 0, 100)
		for i, y := range at {
			if y < -1e-9 || y > 100+1e-9 || i > 0 && y-at[i-1] < 10-1e-9 {
				t.Fatalf("spread gives %v", at)
			}
		}
	}
}

func TestSpreadLeavesRoomyPositionsAlone(t *testing.T) {
	at := []float64{5, 30, 80}
	spread(at, 10, 0, 100)
	if want := []float64{5, 30, 80}; !slices.Equal(at, want) {
		t.Errorf("spread moved %v to %v", want, at)
	}
}

// painted draws the curve at a size and returns its painter.
func painted(t *testing.T, c Curve, w, h vg.Length) *curvePainter {
	t.Helper()
	painter := c.view(inks).layout(penOn(draw.New(vgimg.New(w, h))))
	painter.paint()
	return painter
}

// onPage is where a place between the axes lies on a page 600 high.
func onPage(c *curvePainter, at sketch.Pt) (x, y float64) {
	return float64(c.pen.on.Min.X) + at.X, 600 - float64(c.pen.on.Max.Y) + at.Y
}

func TestCurveLabelsNeverOverlap(t *testing.T) {
	for name, c := range map[string]Curve{"plain": weirCurve(), "crowded": crowdedCurve(120, 60)} {
		for _, size := range [][2]vg.Length{{200, 140}, {420, 300}, {800, 500}, {1600, 900}} {
			t.Run(fmt.Sprintf("%s_%v", name, size[0]), func(t *testing.T) {
				c := painted(t, c, size[0], size[1])
				for i, a := range c.labels.Placed {
					if !a.Within(c.room().Area) {
						t.Errorf("label %v leaves the axes %v", a, c.room().Area)
					}
					for _, b := range c.labels.Placed[:i] {
						if a.Overlaps(b) {
							t.Errorf("labels %v and %v overlap", a, b)
						}
					}
					for _, take := range c.takes {
						if a.Overlaps(sketch.About(c.at(take), c.base*0.38)) {
							t.Errorf("label %v covers the take at %v BPM", a, take.TempoBPM)
						}
					}
				}
			})
		}
	}
}

func TestEveryTakeIsLabelledWhereThereIsRoom(t *testing.T) {
	c := painted(t, weirCurve(), 800, 500)
	// The labels of seven takes, the zero line, the wanted tempo, and the law at +20 where it leaves.
	if n := len(c.labels.Placed); n != 10 {
		t.Errorf("%d labels placed, want 10", n)
	}
}

func TestLateIsUp(t *testing.T) {
	c := painted(t, weirCurve(), 800, 500)
	if !(c.y(10) < c.y(0) && c.y(0) < c.y(-10)) {
		t.Error("on the curve late is not above early")
	}
}

func TestEvenly(t *testing.T) {
	items := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	for most, want := range map[int][]int{12: items, 10: items, 5: {0, 2, 4, 6, 7}, 2: {0, 7}, 1: {7}} {
		if got := evenly(items, most, func(i int) bool { return i == 7 }); !slices.Equal(got, want) {
			t.Errorf("evenly(%d) = %v, want %v", most, got, want)
		}
	}
}
