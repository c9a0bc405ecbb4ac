package ui

import (
	"image"
	"math"
	"testing"

	"fyne.io/fyne/v2"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// The thumbnail's data: all takes and the law lie within its edges, the tolerance too;
// a filled disc is drawn where a take is tight, and nothing but a dashed line without
// takes.
func TestThumbnail(t *testing.T) {
	take := func(id int, bpm, lag float64, moved *session.Move) session.Take {
		pairs := make([]calib.Pair, 9)
		for i := range pairs {
			pairs[i] = calib.Pair{ReferenceS: float64(i), LagMS: lag, Used: true}
		}
		reading := calib.Reading{TempoBPM: bpm, LagMS: lag, LagCI95MS: [2]float64{lag - 1, lag + 1}, JitterMS: 1, ReferencePeriodMS: 60000 / bpm, Pairs: pairs}
		return session.Take{ID: id, Target: session.Target{TempoBPM: bpm, Voice: "bar"}, Moved: moved, Heard: []session.Heard{{Voice: "bar", Channel: 2, Reading: reading}}}
	}
	s := session.Session{
		Machine:     session.Machine{Voices: []string{"drum", "bar"}, Plate: calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.5}},
		ToleranceMS: 5, Target: session.Target{TempoBPM: 84, Voice: "drum"},
		Takes: []session.Take{take(1, 84, 96, &session.Move{Steps: 9}), take(2, 120, 2, nil)}, // 9 steps of 1/48 beat
	}
	v := loop.Look(s)
	got := thumbOf(&v)
	if len(got.takes) != 2 || got.takes[0].tight || !got.takes[1].tight {
		t.Fatalf("takes %+v", got.takes)
	}
	inside := func(bpm, lag float64) bool {
		return bpm >= got.tempos[0] && bpm <= got.tempos[1] && lag > got.lags[0] && lag < got.lags[1]
	}
	for _, p := range got.law {
		if !inside(p.X, p.Y) {
			t.Errorf("the law at %v lies outside", p)
		}
	}
	if !inside(84, 96) || !inside(120, 2) || !inside(84, 5) || !inside(84, -5) || len(got.law) != thumbSamples {
		t.Errorf("edges %v BPM, %v ms, law of %d", got.tempos, got.lags, len(got.law))
	}
	testApp(t)
	colours := thumbInkOf(fyne.CurrentApp().Settings().Theme())
	img := got.draw(colours, thumbWide, thumbHigh, 1)
	x := int(math.Round(thumbWide * (120 - got.tempos[0]) / (got.tempos[1] - got.tempos[0])))
	y := int(math.Round(thumbHigh * (got.lags[1] - 2) / (got.lags[1] - got.lags[0])))
	if r, g, b, _ := img.At(x, y).RGBA(); uint8(r>>8) != colours.tight.R || uint8(g>>8) != colours.tight.G || uint8(b>>8) != colours.tight.B {
		t.Errorf("at the tight take's place lies %v", img.At(x, y))
	}
	s.Takes = nil
	v = loop.Look(s)
	if empty := thumbOf(&v); len(empty.takes) != 0 || inked(empty.draw(colours, thumbWide, thumbHigh, 1)) > 200 {
		t.Errorf("without takes: %+v", empty)
	}
	for _, size := range []image.Point{{}, {1, 1}, {2, 900}} {
		got.draw(colours, size.X, size.Y, 1)
	}
}

// inked counts the pixels that differ from the first.
func inked(img image.Image) (n int) {
	r := img.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if img.At(x, y) != img.At(0, 0) {
				n++
			}
		}
	}
	return n
}
