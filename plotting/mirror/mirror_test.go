package mirror

import (
	"image/color"
	"testing"

	"lagwright/calib"
	"lagwright/plotting/sketch"
)

// boxes is a surface that counts the boxes by their left edge.
type boxes map[float64]int

func (boxes) Size() (w, h float64)                     { return 100, 80 }
func (boxes) Grain() float64                           { return 1 }
func (b boxes) Box(_ color.Color, x0, _, _, _ float64) { b[x0]++ }
func (boxes) Shape(color.Color, ...[]sketch.Pt)        {}
func (boxes) TextWidth(float64, bool, string) float64  { return 0 }
func (boxes) Text(color.Color, float64, float64, sketch.Align, float64, bool, string) float64 {
	return 0
}

// However pairs follow each other, two that lie in one grain are drawn as one stroke.
func TestStrokesAreDrawnOnce(t *testing.T) {
	var r calib.Reading
	for i, at := range []float64{0, 40.2, 41.2, 40.3, 41.3, 40.4, 100} {
		r.Pairs = append(r.Pairs, calib.Pair{ReferenceS: at - 0.1, VoiceS: at + 0.1, LagMS: 200, Used: i%2 == 0})
	}
	b := boxes{}
	New(sketch.Pen{Surface: b}, sketch.OnPaper(), 10, 80, sketch.Span{Hi: 100}, r).strokes()
	if len(b) != 4 {
		t.Errorf("strokes at %v, want 4", b)
	}
	for x, n := range b {
		if n != 1 {
			t.Errorf("%d strokes at %g", n, x)
		}
	}
}
