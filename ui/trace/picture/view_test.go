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

func TestTicks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := anyView(t)
		most := rapid.IntRange(1, 20).Draw(t, "most")
		marks := ticks(v.From, v.To, most)
		if len(marks) > most+1 {
			t.Fatalf("%d ticks, want at most %d", len(marks), most+1)
		}
		seen := map[string]bool{}
		for _, m := range marks {
			if m.at < v.From-v.Span()*1e-6 || m.at > v.To+v.Span()*1e-6 {
				t.Fatalf("tick at %v outside %v to %v", m.at, v.From, v.To)
			}
			if seen[m.label] {
				t.Fatalf("label %q twice", m.label)
			}
			seen[m.label] = true
		}
	})
}

func TestTickLabels(t *testing.T) {
	for _, c := range []struct {
		from, to float64
		most     int
		want     []string
	}{
		{0, 30, 4, []string{"0 s", "10 s", "20 s", "30 s"}},
		{0, 240, 5, []string{"0 s", "1:00 min", "2:00 min", "3:00 min", "4:00 min"}},
		{0, 1, 2, []string{"0.0 s", "0.5 s", "1.0 s"}},
		{12.34, 12.36, 4, []string{"12 340 ms", "12 345 ms", "12 350 ms", "12 355 ms", "12 360 ms"}},
		{0.0100, 0.0104, 2, []string{"10.0 ms", "10.2 ms", "10.4 ms"}},
	} {
		var got []string
		for _, m := range ticks(c.from, c.to, c.most) {
			got = append(got, m.label)
		}
		if len(got) != len(c.want) {
			t.Errorf("ticks(%v, %v) = %q, want %q", c.from, c.to, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("ticks(%v, %v) = %q, want %q", c.from, c.to, got, c.want)
				break
			}
		}
	}
	if ticks(1, 1, 5) != nil || ticks(0, math.Inf(1), 5) != nil || ticks(0, math.NaN(), 5) != nil {
		t.Error("a stretch of no length has ticks")
	}
}
