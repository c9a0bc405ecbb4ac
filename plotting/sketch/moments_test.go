package sketch

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
	"lagwright/internal/i18ntest"
)

// Moments on the axis are phrases, with the comma of the language.
func TestTicksAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	for _, step := range []float64{60, 10, 0.5, 0.01} {
		texts = append(texts, moment(90, step), moment(2.5, step))
	}
	i18ntest.All(t, texts)
	if got := moment(2.5, 0.5) + moment(1234.5675, 0.0005); got != "⟦2,5 s⟧⟦1 234 567,5 ms⟧" {
		t.Errorf("%q", got)
	}
}

func TestMoments(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(0, 7200).Draw(t, "from")
		v := Span{from, from + rapid.Float64Range(0.0003, 7200).Draw(t, "span")}
		most := rapid.IntRange(1, 20).Draw(t, "most")
		marks := Moments(v, most)
		if len(marks) > most+1 {
			t.Fatalf("%d ticks, want at most %d", len(marks), most+1)
		}
		seen := map[string]bool{}
		for _, m := range marks {
			if m.At < v.Lo-v.Width()*1e-6 || m.At > v.Hi+v.Width()*1e-6 {
				t.Fatalf("tick at %v outside %v to %v", m.At, v.Lo, v.Hi)
			}
			if seen[m.Label] {
				t.Fatalf("label %q twice", m.Label)
			}
			seen[m.Label] = true
		}
	})
}

func TestMomentsSay(t *testing.T) {
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
		for _, m := range Moments(Span{c.from, c.to}, c.most) {
			got = append(got, m.Label)
		}
		if len(got) != len(c.want) {
			t.Errorf("Moments(%v, %v) = %q, want %q", c.from, c.to, got, c.want)
			continue
		}
		for i := range got {
			if got[i] != c.want[i] {
				t.Errorf("Moments(%v, %v) = %q, want %q", c.from, c.to, got, c.want)
				break
			}
		}
	}
	if Moments(Span{1, 1}, 5) != nil || Moments(Span{0, math.Inf(1)}, 5) != nil || Moments(Span{0, math.NaN()}, 5) != nil {
		t.Error("a stretch of no length has ticks")
	}
}
