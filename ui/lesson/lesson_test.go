package lesson

import (
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/ui/look"
)

// What the lessons say is worked out by hand here: 260 mm take √(0.52/9.80665) s
// with the standard acceleration of free fall (3rd CGPM 1901), which is 0.23027 s.
func TestWordsOfTheLessons(t *testing.T) {
	for words, want := range map[string][]string{
		fallText():         {"260 mm", "230 ms", "0.23 of a beat at 60 BPM", "0.46 of a beat at 120 BPM"},
		turnText():         {"here 1/60", "16.7 ms at 60 BPM", "8.3 ms at 120 BPM", "28 steps", "233.3 ms before"},
		lawText():          {"+19 at 82.5 BPM", "+28 at 121.6", "119.0 to 124.3 BPM"},
		takeText():         {"reference above", "right", "late", "left", "early"},
		halfText():         {"0.6 of a beat late", "0.4 of a beat early"},
		inches(fallText()): {"10.24 in"},
	} {
		for _, w := range want {
			if !strings.Contains(words, w) {
				t.Errorf("%q lacks %q", words, w)
			}
		}
	}
}

func inches(s string) string { return strings.ReplaceAll(s, "260 mm", "10.24 in") }

// At its own tempo a setting leaves nothing, at the edges of its window just what
// is tight, and beyond them more.
func TestWindow(t *testing.T) {
	for _, bpm := range []float64{songBPM, fastBPM} {
		setting := settingFor(bpm)
		if lag := lagAt(crossing(setting), setting); math.Abs(lag) > 1e-9 {
			t.Errorf("setting %d leaves %g ms where it crosses zero", setting, lag)
		}
		limit := math.Max(calib.DefaultToleranceMS, 60000/crossing(setting)/60/2)
		from, to := window(setting)
		for tempo, want := range map[float64]float64{from: -limit, to: limit} {
			if lag := lagAt(tempo, setting); math.Abs(lag-want) > 1e-9 {
				t.Errorf("setting %d: %g ms at %g BPM, the edge of its window, want %g", setting, lag, tempo, want)
			}
		}
		if !(from < bpm && bpm < to) {
			t.Errorf("setting %d is tight from %g to %g BPM, without %g", setting, from, to, bpm)
		}
	}
}

// The two machines sound alike at one tempo, a whole beat apart, and not at the
// other.
func TestHalf(t *testing.T) {
	if apart := beatsLate(farLaw(), fastBPM) - beatsLate(aheadLaw(), fastBPM); math.Abs(apart-1) > 1e-12 {
		t.Errorf("%g beats apart where they sound alike, want 1", apart)
	}
	if apart := beatsLate(farLaw(), slowBPM) - beatsLate(aheadLaw(), slowBPM); math.Abs(apart-math.Round(apart)) < 0.2 {
		t.Errorf("%g beats apart where they should differ", apart)
	}
}

// Every lesson has its words and its picture, in turn.
func TestBody(t *testing.T) {
	test.NewTempApp(t)
	objects := Body(inches).(*fyne.Container).Objects
	if len(objects) != 2*len(lessons(asIs)) {
		t.Fatalf("%d parts, want words and a picture for each of %d", len(objects), len(lessons(asIs)))
	}
	for i, o := range objects {
		text, isText := o.(*widget.RichText)
		picture, isPicture := o.(*Picture)
		switch {
		case i%2 == 0 && (!isText || len(text.String()) < 100):
			t.Errorf("part %d is %T", i, o)
		case i%2 == 1 && (!isPicture || len(picture.AccessibilityLabel()) < 80 || picture.AccessibilityRole() != fyne.AccessibleRoleText):
			t.Errorf("part %d is %T", i, o)
		}
	}
	if words := objects[0].(*widget.RichText).String(); !strings.Contains(words, "10.24 in") {
		t.Errorf("%q is not in the reader's unit", words)
	}
}

// In a language with words half as long again, nothing runs over an edge.
func TestLongerWords(t *testing.T) {
	app := test.NewTempApp(t)
	i18n.Use(&i18n.Language{Tag: "xx", Look: func(english string) string {
		return english + strings.Repeat("n", (len(english)+1)/2)
	}})
	t.Cleanup(func() { i18n.Use(nil) })
	for _, times := range []float32{1, 2} {
		app.Settings().SetTheme(look.Larger(look.New(), times))
		for _, l := range lessons(asIs) {
			p, title := newPicture(l), l.title
			win := test.NewWindow(container.NewStack(p))
			win.SetPadded(false)
			win.Resize(fyne.NewSize(420*times, p.MinSize().Height))
			win.Canvas().Capture()
			within(t, title, p)
			win.Close()
		}
	}
}
