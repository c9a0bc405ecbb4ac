package rail

import (
	"testing"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
)

// A level is said in a word.
func TestGradeOf(t *testing.T) {
	for _, c := range []struct {
		hold float64
		want handsfree.Grade
	}{{0, handsfree.NoSound}, {0.001, handsfree.TooQuiet}, {0.2, handsfree.Good}, {0.9, handsfree.TooHot}, {32767.0 / 32768, handsfree.Clipping}, {1, handsfree.Clipping}} {
		if got := GradeOf(capture.Level{Hold: c.hold}, 0); got != c.want {
			t.Errorf("%g is %q, want %q", c.hold, got, c.want)
		}
	}
}
