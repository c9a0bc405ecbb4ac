package trace

import (
	"context"
	"errors"
	"image"
	"math"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
	"lagwright/ui/look"
	"lagwright/ui/trace/picture"
)

// key types one key.
func key(tr *Trace, name fyne.KeyName) { tr.TypedKey(&fyne.KeyEvent{Name: name}) }

// wantView fails unless the view is from..to within a millisecond.
func wantView(t *testing.T, tr *Trace, from, to float64) {
	t.Helper()
	if gotFrom, gotTo := tr.View(); math.Abs(gotFrom-from) > 1e-3 || math.Abs(gotTo-to) > 1e-3 {
		t.Errorf("view is %.3f to %.3f s, want %.3f to %.3f", gotFrom, gotTo, from, to)
	}
}

func TestKeys(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	wantView(t, tr, 0, 30)
	test.Type(tr, "+")
	wantView(t, tr, 7.5, 22.5)
	key(tr, fyne.KeyLeft)
	wantView(t, tr, 4.5, 19.5)
	key(tr, fyne.KeyRight)
	wantView(t, tr, 7.5, 22.5)
	key(tr, fyne.KeyHome)
	wantView(t, tr, 0, 15)
	key(tr, fyne.KeyEnd)
	wantView(t, tr, 15, 30)
	test.Type(tr, "-")
	wantView(t, tr, 0, 30)
	tr.ZoomTo(3, 4)
	test.Type(tr, "0")
	wantView(t, tr, 0, 30)
}

func TestPairsByKey(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	var told []int
	tr.OnPair = func(i int) { told = append(told, i) }
	test.Type(tr, "nnp")
	key(tr, fyne.KeyPageDown)
	key(tr, fyne.KeyPageUp)
	key(tr, fyne.KeyPageUp) // before the first there is none
	if want := []int{0, 1, 0, 1, 0}; !slices.Equal(told, want) {
		t.Errorf("selected %v, want %v", told, want)
	}
	key(tr, fyne.KeyReturn)
	if from, to := tr.View(); to-from > 0.5 || from > 0.4 || to < 0.46 {
		t.Errorf("Return shows %v to %v, want the first pair", from, to)
	}
	for range 5 {
		tr.NextPair()
	}
	p := tr.take.Reading.Pairs[5]
	if from, to := tr.View(); p.ReferenceS < from || p.VoiceS > to {
		t.Errorf("pair 5 at %v is out of sight in %v to %v", p.ReferenceS, from, to)
	}
	key(tr, fyne.KeyEscape)
	if tr.Selected() != picture.None {
		t.Error("Escape leaves a pair selected")
	}
	tr.ShowPair(-1)
	tr.ShowPair(10000)
	if tr.Selected() != picture.None {
		t.Error("a pair that is not there was selected")
	}
}

func TestWheelZoomsAtPointer(t *testing.T) {
	test.NewTempApp(t)
	tr, win := window(t, 1000, 300, 60)
	at := tr.view.At(250, 0, 1000)
	tr.Scrolled(&fyne.ScrollEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(250, 100)}, Scrolled: fyne.NewDelta(0, 60)})
	if got := tr.view.At(250, 0, 1000); math.Abs(got-at) > 1e-3 {
		t.Errorf("the moment under the pointer went from %v to %v", at, got)
	}
	if span := tr.view.Width(); math.Abs(span-15) > 1e-3 {
		t.Errorf("span is %v, want 15", span)
	}
	before, _ := tr.View()
	test.Scroll(win.Canvas(), fyne.NewPos(250, 100), -100, 0)
	if after, _ := tr.View(); math.Abs(after-before-1.5) > 1e-3 {
		t.Errorf("sideways scrolling moved the view by %v s, want 1.5", after-before)
	}
}

func TestDragPans(t *testing.T) {
	test.NewTempApp(t)
	tr, win := window(t, 1000, 300, 60)
	tr.ZoomTo(10, 20)
	test.Drag(win.Canvas(), fyne.NewPos(500, 100), 100, 0)
	wantView(t, tr, 9, 19)
}

func TestTapsFindPairs(t *testing.T) {
	test.NewTempApp(t)
	tr, win := window(t, 1000, 300, 60)
	tr.ZoomTo(2, 4)
	selected := picture.None
	tr.OnPair = func(i int) { selected = i }
	p := tr.take.Reading.Pairs[3]
	pos := fyne.NewPos(float32(tr.view.X((p.ReferenceS+p.VoiceS)/2, 0, 1000)), 150)
	test.TapAt(tr, pos)
	if selected != 3 || win.Canvas().Focused() != tr {
		t.Errorf("tapped pair 3, got %d, focus on %v", selected, win.Canvas().Focused())
	}
	tr.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: pos}})
	if tr.hovered != 3 {
		t.Errorf("pointed at pair 3, got %d", tr.hovered)
	}
	tr.NextPair()
	if tr.hovered != picture.None || tr.Selected() != 4 {
		t.Errorf("a key selected pair %d, but the pointer's %d still shows", tr.Selected(), tr.hovered)
	}
	tr.MouseMoved(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: pos}})
	tr.MouseOut()
	if tr.hovered != picture.None {
		t.Error("the pointer left but its pair stays")
	}
	tr.DoubleTapped(&fyne.PointEvent{Position: pos})
	if from, to := tr.View(); to-from > 0.3 || from > p.ReferenceS || to < p.VoiceS {
		t.Errorf("a double tap shows %v to %v, want pair 3 at %v", from, to, p.ReferenceS)
	}
	tr.DoubleTapped(&fyne.PointEvent{Position: fyne.NewPos(2, 150)})
	wantView(t, tr, 0, 30)
}

func TestReasonIsSaid(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 1000, 300, 60)
	tr.ShowPair(4)
	label := tr.AccessibilityLabel()
	for _, want := range []string{"Pair 5", "late", "left out: the voice sounded twice"} {
		if !strings.Contains(label, want) {
			t.Errorf("label %q does not say %q", label, want)
		}
	}
}

func TestEmpty(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 600, 200, 60)
	tr.SetTake(nil)
	tr.SetHint("Reading the take: 43 %")
	if tr.AccessibilityLabel() != "Reading the take: 43 %" {
		t.Errorf("label is %q", tr.AccessibilityLabel())
	}
	for _, r := range "+-0np" {
		tr.TypedRune(r)
	}
	for _, k := range []fyne.KeyName{fyne.KeyLeft, fyne.KeyEnd, fyne.KeyPageDown, fyne.KeyReturn} {
		key(tr, k)
	}
	test.TapAt(tr, fyne.NewPos(10, 10))
	wantView(t, tr, 0, 0)
}

// TestNoRoom asks for pictures of no size, and for takes of no length.
func TestNoRoom(t *testing.T) {
	test.NewTempApp(t)
	tr, _ := window(t, 600, 200, 60)
	for _, size := range [][2]int{{0, 0}, {1, 0}, {0, 1}, {1, 1}, {3, 400}, {400, 3}} {
		if got := tr.board.Paint(size[0], size[1]).Bounds().Size(); got != image.Pt(size[0], size[1]) {
			t.Errorf("asked for %v, got %v", size, got)
		}
	}
	empty := soundtest.Of(48000, []float32{})
	tk := must.Get(Load(context.Background(), empty, 1, 1, calib.Reading{}, nil))(t)
	tr.SetTake(tk)
	tr.ZoomIn()
	tr.board.Paint(300, 200)
}

// TestScales checks that pictures have the size asked for and show the same thing
// at every scale of the display.
func TestScales(t *testing.T) {
	test.NewTempApp(t)
	tr, win := window(t, 101, 151, 60)
	for _, scale := range []float64{1, 1.5, 2} {
		w, h := int(math.Ceil(101*scale)), int(math.Ceil(151*scale))
		img := tr.board.Paint(w, h).(*image.RGBA)
		if img.Bounds().Size() != image.Pt(w, h) {
			t.Errorf("at scale %v got %v", scale, img.Bounds().Size())
		}
	}
	win.Canvas().Capture()
}

// inked returns how many pixels between two rows differ from the paper.
func inked(img *image.RGBA, y0, y1 int) int {
	n := 0
	for y := y0; y < y1; y++ {
		for x := range img.Rect.Dx() {
			if img.RGBAAt(x, y) != img.RGBAAt(0, 1) {
				n++
			}
		}
	}
	return n
}

// TestMirror checks that the reference is drawn above and the voice below, by
// silencing either.
func TestMirror(t *testing.T) {
	test.NewTempApp(t)
	src, _ := play(10, 60)
	clear(src.Samples[1])
	tk := must.Get(Load(context.Background(), src, 1, 2, calib.Reading{}, nil))(t)
	tr := New()
	tr.Resize(fyne.NewSize(800, 300))
	tr.SetTake(tk)
	img := tr.board.Paint(800, 300).(*image.RGBA)
	if above, below := inked(img, 25, 100), inked(img, 180, 235); above < 10*max(1, below-800) || above < 500 {
		t.Errorf("%d pixels above, %d below, want the reference above only", above, below)
	}
}

// TestLateIsRight checks the bracket's side: from the reference's pin it reaches
// right for a late voice and left for an early one.
func TestLateIsRight(t *testing.T) {
	test.NewTempApp(t)
	for lag, name := range map[float64]fyne.ThemeColorName{60: look.Late, -60: look.Early} {
		tr, _ := window(t, 1000, 300, lag)
		tr.ZoomTo(2, 4)
		p := tr.take.Reading.Pairs[3]
		img := tr.board.Paint(1000, 300).(*image.RGBA)
		small := picture.CaptionSize(tr.Theme())
		edge := int(picture.Middle(300, small) - small*0.72) // above the writing
		want := look.Color(name, fyne.CurrentApp().Settings().ThemeVariant())
		r0, g0, b0, _ := want.RGBA()
		lo, hi := 1000, 0
		rx := int(tr.view.X(p.ReferenceS, 0, 1000))
		for x := rx - 60; x < rx+60; x++ {
			for y := edge - 1; y <= edge+1; y++ {
				if r, g, b, _ := img.At(x, y).RGBA(); r == r0 && g == g0 && b == b0 {
					lo, hi = min(lo, x), max(hi, x)
				}
			}
		}
		if lag > 0 && (lo < rx-3 || hi < rx+20) || lag < 0 && (hi > rx+3 || lo > rx-20) {
			t.Errorf("lag %v: the bracket reaches from %d to %d about the reference at %d", lag, lo, hi, rx)
		}
	}
}

// TestFaultIsSaid checks that a source lost after it was read is said, not hidden.
func TestFaultIsSaid(t *testing.T) {
	test.NewTempApp(t)
	src, reading := play(10, 60)
	tk := must.Get(Load(context.Background(), src, 1, 2, reading, nil))(t)
	tr := New()
	tr.Resize(fyne.NewSize(600, 200))
	tr.SetTake(tk)
	src.Fail = errors.New("the disk is gone")
	tr.ZoomTo(1, 1.01)
	tr.board.Paint(600, 200)
	if !errors.Is(tr.picture.Fault, src.Fail) {
		t.Errorf("fault = %v", tr.picture.Fault)
	}
	tr.ShowAll()
	tr.board.Paint(600, 200)
	if tr.picture.Fault != nil {
		t.Errorf("fault stays: %v", tr.picture.Fault)
	}
}
