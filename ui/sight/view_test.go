package sight

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
	"lagwright/plotting/sketch"
)

// anyView draws a view somewhere in a take.
func anyView(t *rapid.T) View {
	lo := rapid.Float64Range(-100, 100).Draw(t, "begin")
	v := Whole(sketch.Span{Lo: lo, Hi: lo + rapid.Float64Range(0.5, 7200).Draw(t, "length")}, 12.0/48000)
	from := lo + rapid.Float64Range(0, v.All.Width()).Draw(t, "from")
	return v.Show(from, from+rapid.Float64Range(0, v.All.Width()).Draw(t, "span"))
}

// sound fails unless the view lies in the take and shows enough.
func sound(t *rapid.T, v View) {
	slack := 1e-9 * (v.All.Width() + 100)
	if !(v.Lo >= v.All.Lo && v.Hi <= v.All.Hi) || v.Width() < v.Least-slack {
		t.Fatalf("unsound view %+v", v)
	}
}

func TestZoomKeepsThePoint(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		v := anyView(t)
		at := v.Lo + v.Width()*rapid.Float64Range(0, 1).Draw(t, "share")
		in := v.Zoom(rapid.Float64Range(0.05, 1).Draw(t, "factor"), at)
		sound(t, in)
		if before, after := v.X(at, 0, 1000), in.X(at, 0, 1000); math.Abs(before-after) > 0.01 {
			t.Fatalf("the point moved from %v to %v", before, after)
		}
		sound(t, v.Zoom(rapid.Float64Range(1, 50).Draw(t, "out"), at))
	})
}

// What shows all there is shows what comes later too, and what reaches the end goes on with
// it: neither may fail by rounding.
func TestAllAndTheEndAreExact(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		v := anyView(t)
		for what, all := range map[string]View{
			"zoomed out": v.Zoom(math.Inf(1), v.At(rapid.Float64Range(0, 1).Draw(t, "share"), 0, 1)),
			"shown":      v.Show(v.All.Lo, v.All.Hi),
		} {
			if all.Span != v.All {
				t.Fatalf("%s: %+v", what, all)
			}
		}
		if end := v.Pan(math.Inf(1)); end.Hi != v.All.Hi {
			t.Fatalf("panned to the end: %+v", end)
		}
	})
}

// Where nothing is in sight, or nothing was drawn yet, a place that is no number moves nothing.
func TestNoNumberMovesNothing(t *testing.T) {
	nan := math.NaN()
	for _, v := range []View{{}, Whole(sketch.Span{Hi: 100}, 1).Show(10, 20)} {
		for _, got := range []View{v.Pan(nan), v.Show(nan, 3), v.Show(3, nan), v.Zoom(2, nan)} {
			if got != v {
				t.Errorf("%+v became %+v", v, got)
			}
		}
	}
}

func TestPanKeepsTheSpan(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		v := anyView(t)
		p := v.Pan(rapid.Float64Range(-8000, 8000).Draw(t, "by"))
		sound(t, p)
		if math.Abs(p.Width()-v.Width()) > 1e-9*(v.All.Width()+100) {
			t.Fatalf("span changed from %v to %v", v.Width(), p.Width())
		}
	})
}

func TestShow(t *testing.T) {
	v := Whole(sketch.Span{Hi: 100}, 12.0/48000)
	for _, c := range []struct{ from, to, wantFrom, wantTo float64 }{
		{10, 20, 10, 20}, {20, 10, 10, 20}, {-5, 5, 0, 10}, {95, 105, 90, 100}, {-50, 500, 0, 100},
		{50, 50, 50 - 6.0/48000, 50 + 6.0/48000},
	} {
		got := v.Show(c.from, c.to)
		if math.Abs(got.Lo-c.wantFrom) > 1e-9 || math.Abs(got.Hi-c.wantTo) > 1e-9 {
			t.Errorf("show(%v, %v) = %v to %v, want %v to %v", c.from, c.to, got.Lo, got.Hi, c.wantFrom, c.wantTo)
		}
	}
	if got := Whole(sketch.Span{}, 1).Zoom(0.5, 0); got != (View{}) {
		t.Errorf("nothing has a view: %+v", got)
	}
}

func TestXAndAtAgree(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		v := anyView(t)
		x := rapid.Float64Range(0, 2000).Draw(t, "x")
		if got := v.X(v.At(x, 0, 2000), 0, 2000); math.Abs(got-x) > 0.01 {
			t.Fatalf("x %v became %v", x, got)
		}
	})
}
