package fan

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

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/ui/look"
)

// shown returns a fan of the given size and reading.
func shown(w, h float32, r calib.Reading, tolerance float64) *Fan {
	f := New()
	f.Resize(fyne.NewSize(w, h))
	f.Set(r, tolerance)
	return f
}

// count returns how many pixels left and right of a column hold the colour exactly.
func count(img *image.RGBA, c color.Color, column int) (left, right int) {
	want := color.RGBAModel.Convert(c).(color.RGBA)
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			switch {
			case img.RGBAAt(x, y) != want:
			case x < column:
				left++
			default:
				right++
			}
		}
	}
	return left, right
}

// TestLateIsRight checks on which side of the reference the voice hits stand.
func TestLateIsRight(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantLight))
	for _, lag := range []float64{60, -60} {
		f := shown(600, 300, reading(20, lag, 3), 0)
		img := f.Board.Paint(600, 300).(*image.RGBA)
		zero := int(f.fan.Field(600, 300, 13).X(0))
		left, right := count(img, look.Color(look.Voice, theme.VariantLight), zero)
		if lag < 0 {
			left, right = right, left
		}
		if right < 10*left || right == 0 { // the word on the other side counts too
			t.Errorf("lag %v: %d pixels of heads on its side, %d on the other", lag, right, left)
		}
	}
}

func TestLabel(t *testing.T) {
	test.NewTempApp(t)
	f := shown(300, 200, reading(20, 62, 3), 10)
	for _, want := range []string{"as played: 62.0 ms late", "18 pairs", "2 left out", "late"} {
		if got := f.AccessibilityLabel(); !strings.Contains(got, want) {
			t.Errorf("label %q does not say %q", got, want)
		}
	}
	f.Set(reading(20, -4, 3), 10)
	if got := f.fan.Verdict(); got != "tight" {
		t.Errorf("–4 within 10 is %q", got)
	}
	f.Set(calib.Reading{}, 10)
	none := f.AccessibilityLabel()
	f.Clear()
	if cleared := f.AccessibilityLabel(); none == "" || cleared == "" || none == cleared {
		t.Errorf("empty says %q, cleared says %q", none, cleared)
	}
}

// sweep returns a take whose crank goes ever faster, with a voice of 220 ms delay released
// half a beat before its beat.
func sweep() calib.Reading {
	at := func(beat float64) float64 { return 0.9*beat - 0.002*beat*beat }
	var pairs []calib.Pair
	var reference []float64
	for beat := range 101 {
		ref, voice := at(float64(beat)), at(float64(beat)-0.5)+0.22+0.001*float64(beat*beat%5-2)
		reference = append(reference, ref)
		pairs = append(pairs, calib.Pair{ReferenceS: ref, VoiceS: voice, LagMS: 1000 * (voice - ref), Used: true})
	}
	return calib.Read(pairs, reference, nil, 1)
}

// A sweep is shown by tempo in the fan's place: its late hits stand above its early ones, the
// slow ones left of the fast ones, and its words say the law and where the songs lie.
func TestSweepIsShownByTempo(t *testing.T) {
	app := test.NewTempApp(t)
	app.Settings().SetTheme(look.Forced(theme.VariantDark))
	f := New()
	f.Resize(fyne.NewSize(400, 240))
	f.Set(sweep(), 10, 80, 100)
	// lag(P) = 220 ms − P/2: −155 ms at 80 BPM, −80 ms at 100 BPM
	label := f.AccessibilityLabel()
	if !strings.HasPrefix(label, "Hits by tempo: ") {
		t.Errorf("label %q", label)
	}
	for _, song := range f.fan.Sweep.Songs {
		if want := 220 - calib.PeriodMS(song.TempoBPM)/2; math.Abs(song.LagMS-want) > 0.5 || !strings.Contains(label, calib.LateEarly(song.LagMS)) {
			t.Errorf("the song at %g BPM lies at %.2f ms, want %.2f; the label says %q", song.TempoBPM, song.LagMS, want, label)
		}
	}
	img, voice := f.Board.Paint(400, 240).(*image.RGBA), color.RGBAModel.Convert(look.Color(look.Voice, theme.VariantDark))
	slow, fast, heights := 0, 0, [2]int{}
	for y := range 240 {
		for x := range 400 {
			switch {
			case img.RGBAAt(x, y) != voice:
			case x < 200:
				slow, heights[0] = slow+1, heights[0]+y
			default:
				fast, heights[1] = fast+1, heights[1]+y
			}
		}
	}
	if slow < 100 || fast < 100 || heights[0]/max(slow, 1) < heights[1]/max(fast, 1)+40 {
		t.Errorf("%d pixels of slow hits and %d of fast ones, at heights that add up to %v", slow, fast, heights)
	}
	if f.Set(reading(20, 62, 3), 10, 80); !strings.HasPrefix(f.AccessibilityLabel(), "Hit fan") {
		t.Errorf("a steady take is %q", f.AccessibilityLabel())
	}
}

// TestAnything draws any reading, even senseless, at any size and scale.
func TestAnything(t *testing.T) {
	test.NewTempApp(t)
	odd := rapid.OneOf(rapid.Float64Range(-300, 300), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1)}))
	deeptest.Check(t, func(t *rapid.T) {
		r := calib.Reading{LagMS: odd.Draw(t, "lag"), LagCI95MS: [2]float64{odd.Draw(t, "lo"), odd.Draw(t, "hi")}}
		for range rapid.IntRange(0, 12).Draw(t, "pairs") {
			r.Pairs = append(r.Pairs, calib.Pair{LagMS: odd.Draw(t, "pair"), Used: rapid.Bool().Draw(t, "used")})
		}
		w, h := rapid.IntRange(0, 300).Draw(t, "w"), rapid.IntRange(0, 200).Draw(t, "h")
		f := shown(float32(w), float32(h), r, odd.Draw(t, "tolerance"))
		scale := rapid.SampledFrom([]float64{1, 1.5, 2}).Draw(t, "scale")
		pw, ph := int(math.Ceil(float64(w)*scale)), int(math.Ceil(float64(h)*scale))
		if got := f.Board.Paint(pw, ph).Bounds().Size(); got != image.Pt(pw, ph) {
			t.Fatalf("asked for %d by %d, got %v", pw, ph, got)
		}
	})
}
