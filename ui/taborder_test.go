package ui

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"
)

// stops goes once round with the tab key and returns what has the keyboard by turns,
// and where it lies.
func stops(w *Window) (names []string, at []fyne.Position) {
	c := w.win.Canvas()
	c.Unfocus()
	var first fyne.Focusable
	for range 200 {
		c.FocusNext()
		f := c.Focused()
		if f == nil || f == first {
			break
		}
		if first == nil {
			first = f
		}
		names = append(names, nameOf(f))
		at = append(at, fyne.CurrentApp().Driver().AbsolutePositionForObject(f.(fyne.CanvasObject)))
	}
	return names, at
}

func nameOf(f fyne.Focusable) string {
	switch f := f.(type) {
	case *widget.Button:
		return f.Text
	case *button:
		return f.AccessibilityLabel()
	case *widget.Check:
		return f.Text
	case interface{ AccessibilityLabel() string }:
		return f.AccessibilityLabel()
	}
	return ""
}

// The tab key goes through the zones from top to bottom: the loop, the take, the
// record, and comes to the parts that hold what was measured.
func TestTabGoesFromTopToBottom(t *testing.T) {
	w := testWindow(t)
	w.win.Resize(fyne.NewSize(1280, 800))
	w.Practice()
	test.Tap(w.loop.playTake)
	settle(w.win.Content())
	names, at := stops(w)
	if len(names) < 8 {
		t.Fatalf("only %q take the keyboard", names)
	}
	zone := func(p fyne.Position) int {
		root := func(o fyne.CanvasObject) float32 { return fyne.CurrentApp().Driver().AbsolutePositionForObject(o).Y }
		switch {
		case p.Y >= root(w.record.root):
			return 2
		case p.Y >= root(w.take.root):
			return 1
		}
		return 0
	}
	for i := 1; i < len(at); i++ {
		if zone(at[i]) < zone(at[i-1]) {
			t.Errorf("from %q the tab key goes back up to %q: %s", names[i-1], names[i], strings.Join(names, " | "))
		}
	}
	t.Logf("%s", strings.Join(names, " | "))
}

// With text of twice the size the window scrolls, and every zone can be brought into
// sight from the keyboard.
func TestLargeTextScrollsByKeyboard(t *testing.T) {
	w := testWindow(t)
	w.win.Resize(fyne.NewSize(1024, 700))
	w.app.Preferences().SetInt(prefText, 200)
	w.relook()
	w.Practice()
	settle(w.win.Content())
	below := w.scroll.Content.Size().Height - w.scroll.Size().Height
	if below < 100 {
		t.Fatalf("only %.0f lie below the window", below)
	}
	for range 20 {
		w.scrollBy(1)
	}
	if w.scroll.Offset.Y != below {
		t.Errorf("scrolled to %.0f of %.0f", w.scroll.Offset.Y, below)
	}
	w.scrollBy(-1)
	if w.scroll.Offset.Y >= below {
		t.Error("it does not go back up")
	}
	for range 20 {
		w.scrollBy(-1)
	}
	if w.scroll.Offset.Y != 0 {
		t.Errorf("scrolled back to %.0f", w.scroll.Offset.Y)
	}
}
