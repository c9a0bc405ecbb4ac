package sketch

import (
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// TestOn checks the four quarters of the clock.
func TestOn(t *testing.T) {
	for quarter, want := range []Pt{{0, -1}, {1, 0}, {0, 1}, {-1, 0}} {
		got := On(0, 0, 1, float64(quarter)*math.Pi/2)
		if math.Hypot(got.X-want.X, got.Y-want.Y) > 1e-12 {
			t.Errorf("quarter %d is at %v, want %v", quarter, got, want)
		}
	}
}

func TestRoundStep(t *testing.T) {
	for least, want := range map[float64]float64{1: 1, 1.1: 2, 2.5: 5, 7: 10, 0.03: 0.05, 0.0011: 0.002, 120: 200} {
		if got := RoundStep(least); got != want {
			t.Errorf("RoundStep(%v) = %v, want %v", least, got, want)
		}
	}
	deeptest.Check(t, func(t *rapid.T) {
		least := rapid.Float64Range(1e-6, 1e6).Draw(t, "least")
		if got := RoundStep(least); got < least*(1-1e-8) || got > least*2.5*(1+1e-8) {
			t.Fatalf("RoundStep(%v) = %v", least, got)
		}
	})
	for step, want := range map[float64]int{1: 0, 20: 0, 0.5: 1, 0.1: 1, 0.02: 2, 0.001: 3} {
		if got := Decimals(step); got != want {
			t.Errorf("Decimals(%v) = %d, want %d", step, got, want)
		}
	}
}

// No word is lost, and no line too wide.
func TestWrap(t *testing.T) {
	measure := func(s string) float64 { return 7 * float64(utf8.RuneCountInString(s)) }
	deeptest.Check(t, func(t *rapid.T) {
		words := strings.Join(rapid.SliceOfN(rapid.StringMatching(`[a-z]{1,8}`), 1, 20).Draw(t, "words"), " ")
		lines := Wrap(words, 120, measure)
		for _, line := range lines {
			if measure(line) > 120 {
				t.Fatalf("line %q is too wide", line)
			}
		}
		if got := strings.Join(lines, " "); got != words {
			t.Fatalf("wrapped to %q, want %q", got, words)
		}
	})
}

// TestStrides checks that notches are never drawn too densely and long ones fall
// on whole drawn notches and powers of ten.
func TestStrides(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		n, radius := rapid.IntRange(1, 100000).Draw(t, "notches"), rapid.Float64Range(0, 1000).Draw(t, "radius")
		each, long := Plate{Notches: n}.Stride(radius)
		if most := max(2*math.Pi*radius/5, 1); each < 1 || float64(n)/float64(each) > most*(1+1e-6) {
			t.Fatalf("every %d of %d notches drawn, want at most %v", each, n, most)
		}
		if power := math.Log10(float64(long)); long%each != 0 || power != math.Trunc(power) {
			t.Errorf("long notches every %d steps, each is %d", long, each)
		}
	})
}

// Settings lie clockwise from the top, a turn apart on one place.
func TestPlateTurnsClockwise(t *testing.T) {
	p := Plate{Notches: 48}
	for setting, want := range map[float64]float64{0: 0, 12: math.Pi / 2, -12: -math.Pi / 2, 48: 2 * math.Pi, 60: 2.5 * math.Pi} {
		if got := p.Angle(setting); math.Abs(got-want) > 1e-12 {
			t.Errorf("setting %v lies at %v, want %v", setting, got, want)
		}
	}
	if unknown := (Plate{}); unknown.PerTurn() != 100 || (Plate{Notches: -3}).PerTurn() != 100 {
		t.Error("a plate that is not known has no turn")
	}
}

// Every notch is drawn where there is room, and a known part of them elsewhere.
func TestPlateHasItsNotches(t *testing.T) {
	for notches, want := range map[int]int{0: 10, 12: 12, 48: 48, 96: 96, 360: 72} {
		r := &recorder{w: 300, h: 300}
		Plate{Notches: notches}.Draw(Pen{r}, OnPaper(), 150, 150, 100, 1)
		drawn := 0
		for _, shape := range r.shapes {
			if len(shape) == 4 {
				drawn++
			}
		}
		if drawn != want {
			t.Errorf("%d notches: %d drawn, want %d", notches, drawn, want)
		}
	}
}

func TestWrapWithAndWithoutSpaces(t *testing.T) {
	letters := func(s string) float64 { return float64(utf8.RuneCountInString(s)) }
	for _, c := range []struct {
		text  string
		width float64
		want  []string
	}{
		{"", 5, []string{""}},
		{"turn 5 ahead", 6, []string{"turn 5", "ahead"}},
		{"5\u00a0steps ahead", 7, []string{"5\u00a0steps", "ahead"}},
		{"unbreakable word", 4, []string{"unbreakable", "word"}},
		{"板を前へ回す", 3, []string{"板を前", "へ回す"}},
		{"止めて、待つ。", 3, []string{"止め", "て、待", "つ。"}},
		{"次の「音」", 3, []string{"次の", "「音」"}},
		{"板を 26 歩進める", 5, []string{"板を 26", "歩進める"}},
		{"84 BPMで打つ", 6, []string{"84 BPM", "で打つ"}},
		{"ずれ±5.0 ms", 5, []string{"ずれ", "±5.0", "ms"}},
	} {
		if got := Wrap(c.text, c.width, letters); !slices.Equal(got, c.want) {
			t.Errorf("%q at %g: got %q, want %q", c.text, c.width, got, c.want)
		}
	}
}
