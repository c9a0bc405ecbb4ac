package picture

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// anyView draws a view somewhere in a take.
func anyView(t *rapid.T) View {
	v := Whole(rapid.Float64Range(0.5, 7200).Draw(t, "length"), 48000)
	from := rapid.Float64Range(0, v.Length).Draw(t, "from")
	return v.Show(from, from+rapid.Float64Range(0, v.Length).Draw(t, "span"))
}

// sound fails unless the view lies in the take and shows enough.
func sound(t *rapid.T, v View) {
	slack := 1e-9 * v.Length
	if v.From < 0 || v.To > v.Length+slack || v.Span() < v.Least-slack {
		t.Fatalf("unsound view %+v", v)
	}
}

func TestZoomKeepsThePoint(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		at := v.From + v.Span()*rapid.Float64Range(0, 1).Draw(t, "share")
		in := v.Zoom(rapid.Float64Range(0.05, 1).Draw(t, "factor"), at)
		sound(t, in)
		if before, after := v.X(at, 1000), in.X(at, 1000); math.Abs(before-after) > 0.01 {
			t.Fatalf("the point moved from %v to %v", before, after)
		}
		sound(t, v.Zoom(rapid.Float64Range(1, 50).Draw(t, "out"), at))
	})
}

func TestPanKeepsTheSpan(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		p := v.Pan(rapid.Float64Range(-8000, 8000).Draw(t, "by"))
		sound(t, p)
		if math.Abs(p.Span()-v.Span()) > 1e-9*v.Length {
			t.Fatalf("span changed from %v to %v", v.Span(), p.Span())
		}
	})
}

func TestShow(t *testing.T) {
	v := Whole(100, 48000)
	for _, c := range []struct{ from, to, wantFrom, wantTo float64 }{
		{10, 20, 10, 20}, {20, 10, 10, 20}, {-5, 5, 0, 10}, {95, 105, 90, 100}, {-50, 500, 0, 100},
		{50, 50, 50 - 6.0/48000, 50 + 6.0/48000},
	} {
		got := v.Show(c.from, c.to)
		if math.Abs(got.From-c.wantFrom) > 1e-9 || math.Abs(got.To-c.wantTo) > 1e-9 {
			t.Errorf("show(%v, %v) = %v to %v, want %v to %v", c.from, c.to, got.From, got.To, c.wantFrom, c.wantTo)
		}
	}
	if got := v.Show(math.NaN(), 3); got != v {
		t.Errorf("showing nothing that is a number gave %+v", got)
	}
	if got := Whole(0, 48000).Zoom(0.5, 0); got != (View{}) {
		t.Errorf("an empty take has a view: %+v", got)
	}
}

func TestXAndAtAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		x := rapid.Float64Range(0, 2000).Draw(t, "x")
		if got := v.X(v.At(x, 2000), 2000); math.Abs(got-x) > 0.01 {
			t.Fatalf("x %v became %v", x, got)
		}
	})
}
