package sign

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
)

// The headline is as large as its place allows and never wider than it, down to
// its smallest size.
func TestSignFits(t *testing.T) {
	test.NewTempApp(t)
	s := New(44, 22, 2, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 300)
	s.Text = "Turn the programme 26 steps ahead"
	wide, lines := s.Fit(fyne.NewSize(1200, 120))
	if wide != 44 || len(lines) != 1 {
		t.Errorf("with room: size %g in %d lines", wide, len(lines))
	}
	narrow, lines := s.Fit(fyne.NewSize(420, 120))
	if narrow < 30 || len(lines) != 2 {
		t.Errorf("in 420: size %g in %q", narrow, lines)
	}
	small, lines := s.Fit(fyne.NewSize(320, 60))
	if small < 22 || small > narrow {
		t.Errorf("in 320×60: size %g in %q", small, lines)
	}
	for _, line := range lines {
		if got := fyne.MeasureText(line, small, s.Style).Width; got > 320 {
			t.Errorf("%q is %g wide at size %g", line, got, small)
		}
	}
	if got := s.MinSize(); got.Width != 300 || got.Height < 2*22 {
		t.Errorf("asks for %v", got)
	}
}
