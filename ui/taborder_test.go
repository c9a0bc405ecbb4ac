package ui

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/ui/kit"
	"lagwright/ui/prefs"
	"lagwright/ui/table"
)

// stops goes once round with the tab key and returns what has the keyboard by turns,
// and where it lies.
func stops(w *Window) (names []string, at []fyne.Position) {
	c := w.desk.Win.Canvas()
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

// nameOf says what has the keyboard; what is typed into or chosen from is named by
// what stands before it.
func nameOf(f fyne.Focusable) string {
	switch f := f.(type) {
	case *kit.Tick:
		return f.Text
	case *kit.Field, *kit.Choice, *kit.Proposals, *table.Cell:
		return fmt.Sprintf("%T", f)
	case interface{ AccessibilityLabel() string }:
		return f.AccessibilityLabel()
	}
	return ""
}

// Whatever has the keyboard, at every stage and in every dialog, has a name, comes
// into sight with large text too, and lets the escape key take a dialog away.
func TestEveryStopOfTheTabKey(t *testing.T) {
	if testing.Short() {
		t.Skip("walks the whole window")
	}
	w := windowToWalk(t, 200)
	w.desk.Win.Resize(small)
	c := w.desk.Win.Canvas()
	walkStages(t, w, func(stage string, open func() fyne.CanvasObject, away func()) {
		t.Helper()
		o := open()
		settle(o)
		c.Unfocus()
		seen := map[fyne.Focusable]bool{}
		for c.FocusNext(); c.Focused() != nil && !seen[c.Focused()]; c.FocusNext() {
			f := c.Focused()
			seen[f] = true
			settle(o)
			if nameOf(f) == "" {
				t.Errorf("%s: a %T without a name takes the keyboard", stage, f)
			}
			if hidden := outOfSight(f.(fyne.CanvasObject), o); hidden != "" {
				t.Errorf("%s: %T %q has the keyboard and is out of sight: %s", stage, f, nameOf(f), hidden)
			}
		}
		if len(seen) == 0 {
			t.Errorf("%s: nothing takes the keyboard", stage)
		}
		dialog := c.Overlays().Top() != nil
		away()
		for i := range len(seen) {
			if !dialog {
				break
			}
			settle(open())
			c.Unfocus()
			for range i + 1 {
				c.FocusNext()
			}
			f := c.Focused()
			f.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
			if c.Overlays().Top() != nil {
				t.Errorf("%s: the escape key on %T %q leaves the dialog", stage, f, nameOf(f))
				away()
			}
		}
	})
}

// outOfSight says how what has the keyboard leaves the things that scroll round it.
func outOfSight(f, root fyne.CanvasObject) string {
	where := fyne.CurrentApp().Driver().AbsolutePositionForObject
	for _, s := range kit.ScrollsIn(root) {
		if !slices.Contains(test.LaidOutObjects(s.Content), f) {
			continue
		}
		top := where(f).Y - where(s).Y
		if top < -slack || top+min(f.Size().Height, s.Size().Height) > s.Size().Height+slack {
			return fmt.Sprintf("%g to %g of %g", top, top+f.Size().Height, s.Size().Height)
		}
	}
	return ""
}

// The tab key goes through the zones from top to bottom: the loop, the take, the
// record, and comes to the parts that hold what was measured.
func TestTabGoesFromTopToBottom(t *testing.T) {
	w := testWindow(t)
	w.desk.Win.Resize(fyne.NewSize(1280, 800))
	w.Practice()
	test.Tap(w.loop.PlayTake)
	settle(w.desk.Win.Content())
	names, at := stops(w)
	if len(names) < 8 {
		t.Fatalf("only %q take the keyboard", names)
	}
	zone := func(p fyne.Position) int {
		root := func(o fyne.CanvasObject) float32 { return fyne.CurrentApp().Driver().AbsolutePositionForObject(o).Y }
		switch {
		case p.Y >= root(w.history.Root):
			return 2
		case p.Y >= root(w.take.Root):
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
	w.desk.Win.Resize(fyne.NewSize(1024, 700))
	w.desk.Prefs.SetString(prefs.KeyText, "200")
	w.relook()
	w.Practice()
	settle(w.desk.Win.Content())
	below := w.zones.scroll.Content.Size().Height - w.zones.scroll.Size().Height
	if below < 100 {
		t.Fatalf("only %.0f lie below the window", below)
	}
	for range 20 {
		w.scrollBy(1)
	}
	if w.zones.scroll.Offset.Y != below {
		t.Errorf("scrolled to %.0f of %.0f", w.zones.scroll.Offset.Y, below)
	}
	w.scrollBy(-1)
	if w.zones.scroll.Offset.Y >= below {
		t.Error("it does not go back up")
	}
	for range 20 {
		w.scrollBy(-1)
	}
	if w.zones.scroll.Offset.Y != 0 {
		t.Errorf("scrolled back to %.0f", w.zones.scroll.Offset.Y)
	}
}
