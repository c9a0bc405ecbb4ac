package dial

import (
	"image"
	"image/color"
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"
	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
	"lagwright/ui/look"
)

// shown returns a dial of the given size and setting.
func shown(size float32, notches, current, target int, has bool) *Dial {
	d := New()
	d.Resize(fyne.NewSquareSize(size))
	d.SetPlate(notches)
	d.Set(current, target, has)
	return d
}

// at returns the colour of the picture at an angle (radians clockwise from the
// top) and a distance from the middle.
func at(d *Dial, size int, a, r float64) color.RGBA {
	img := d.Board.Paint(size, size).(*image.RGBA)
	half := float64(size) / 2
	return img.RGBAAt(int(half+r*math.Sin(a)), int(half-r*math.Cos(a)))
}

// TestAheadIsClockwise checks that the arc of a quarter turn ahead lies on the
// right, that of a quarter back on the left, and that there is none to stay.
func TestAheadIsClockwise(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantLight))
	want := color.RGBAModel.Convert(look.Color(theme.ColorNamePrimary, theme.VariantLight))
	eighth := math.Pi / 4
	const size = 300
	radius := layout(size, size, 1).r + 5
	for target, side := range map[int][2]bool{15: {true, false}, -15: {false, true}, 0: {false, false}} {
		d := shown(size, 60, 0, target, true)
		right, left := at(d, size, eighth, radius) == want, at(d, size, -eighth, radius) == want
		if right != side[0] || left != side[1] {
			t.Errorf("target %d: arc on the right %v, on the left %v, want %v", target, right, left, side)
		}
	}
}

// TestMarkStandsAtSetting checks the full mark, beyond a turn too.
func TestMarkStandsAtSetting(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantLight))
	want := color.RGBAModel.Convert(look.Color(theme.ColorNameForeground, theme.VariantLight))
	const size = 300
	g := layout(size, size, 1)
	for _, setting := range []int{0, 14, -7, 60, 134, -61} {
		d := shown(size, 60, setting, 0, false)
		a := 2 * math.Pi * float64(setting) / 60
		if got := at(d, size, a, g.hub+8); got != want {
			t.Errorf("setting %d: %v stands at its notch, want the mark", setting, got)
		}
		if got := at(d, size, a+math.Pi, g.hub+8); got == want {
			t.Errorf("setting %d: the mark stands opposite too", setting)
		}
	}
}

// TestTurn checks that the plate turns to where it should go, and that the target
// is then gone. The test driver runs an animation to its end at once.
func TestTurn(t *testing.T) {
	test.NewTempApp(t)
	d := shown(200, 60, 14, 20, true)
	if d.shown != 14 {
		t.Fatalf("shows %v before the move is accepted, want 14", d.shown)
	}
	d.Turn(20)
	if d.shown != 20 || d.current != 20 || d.hasTarget {
		t.Errorf("shows %v, stands at %d, target left %v", d.shown, d.current, d.hasTarget)
	}
	d.Set(3, 0, false)
	if d.shown != 3 || d.moving != nil {
		t.Error("Set does not end a turn")
	}
}

func TestTurnTime(t *testing.T) {
	if a, b, c := turnTime(0, 1), turnTime(0, 10), turnTime(0, 5000); a >= b || b >= c || c.Seconds() > 1.5 {
		t.Errorf("turns take %v, %v, %v", a, b, c)
	}
}

func TestLabel(t *testing.T) {
	test.NewTempApp(t)
	for _, c := range []struct {
		current, target int
		has             bool
		want            []string
	}{
		{14, 20, true, []string{"+14", "6 ahead", "+20"}},
		{0, -3, true, []string{"3 back", "–3"}},
		{5, 5, true, []string{"stay"}},
		{-61, 0, false, []string{"–61"}},
	} {
		label := shown(200, 60, c.current, c.target, c.has).AccessibilityLabel()
		for _, w := range c.want {
			if !strings.Contains(label, w) {
				t.Errorf("label %q does not say %q", label, w)
			}
		}
	}
}

func TestTurnWords(t *testing.T) {
	test.NewTempApp(t)
	for target, want := range map[int]string{47: "to +47", 48: "to +48, 1 turn", 50: "to +50, 1 turn + 2", -120: "to –120, 2 turns + 24"} {
		if got := shown(200, 48, 0, target, true).targetWords(); got != want {
			t.Errorf("to %d: %q, want %q", target, got, want)
		}
	}
	if got := shown(200, 0, 0, 500, true).targetWords(); got != "to +500" {
		t.Errorf("turns of a plate that is not known: %q", got)
	}
}

// TestAnything draws any plate at any setting, size and scale.
func TestAnything(t *testing.T) {
	test.NewTempApp(t)
	deeptest.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(0, 200).Draw(t, "size")
		d := shown(float32(size), rapid.IntRange(-1, 3000).Draw(t, "notches"),
			rapid.IntRange(-5000, 5000).Draw(t, "current"), rapid.IntRange(-5000, 5000).Draw(t, "target"),
			rapid.Bool().Draw(t, "has"))
		w := int(math.Ceil(float64(size) * rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, "scale")))
		if got := d.Board.Paint(w, w).Bounds().Size(); got != image.Pt(w, w) {
			t.Fatalf("asked for %d, got %v", w, got)
		}
	})
	if shown(0, 60, 1, 2, true).MinSize() != fyne.NewSquareSize(160) {
		t.Error("the least size is not 160")
	}
}
