package ui

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"lagwright/ui/kit"
)

// A button with a picture only says its name under the mouse, within the window.
func TestPicturesHaveTips(t *testing.T) {
	w := listed(t, song("Mill Waltz", 72))
	all := w.desk.Win.Content().(*fyne.Container).Objects
	tips := all[len(all)-1].(*kit.Tips)
	for _, b := range w.songs.Places {
		b.MouseIn(&desktop.MouseEvent{})
		if tips.Text.Text != b.AccessibilityLabel() || !test.WidgetRenderer(tips).Objects()[0].(*fyne.Container).Objects[0].Visible() {
			t.Errorf("on the button %q it says %q", b.AccessibilityLabel(), tips.Text.Text)
		}
		card := test.WidgetRenderer(tips).Objects()[0].(*fyne.Container).Objects[0]
		if end := card.Position().Add(card.Size()); card.Position().X < 0 || end.X > tips.Size().Width || end.Y > tips.Size().Height {
			t.Errorf("the tip reaches from %v to %v in %v", card.Position(), end, tips.Size())
		}
		b.MouseOut()
		if card.Visible() {
			t.Error("the tip stays")
		}
	}
}

// What stands in a field is typed over by whoever comes to it by the keyboard; what is
// being typed stays when the window comes back.
func TestPrefilledFieldsAreTypedOver(t *testing.T) {
	w := ownMachine(t)
	w.desk.Win.Resize(usual)
	f := w.setup.ShowMachine()
	w.desk.Focus(f.Notches)
	if f.Notches.SelectedText() != f.Notches.Text {
		t.Errorf("of %q, %q is selected", f.Notches.Text, f.Notches.SelectedText())
	}
	test.Type(f.Notches, "97")
	w.desk.Focus(f.Tolerance)
	if f.Tolerance.SelectedText() != "5" {
		t.Errorf("of %q, %q is selected", f.Tolerance.Text, f.Tolerance.SelectedText())
	}
	if w.desk.Focus(f.Notches); f.Notches.Text != "97" || f.Notches.SelectedText() != "97" {
		t.Errorf("typed %q, selected %q", f.Notches.Text, f.Notches.SelectedText())
	}
	test.Type(f.Notches, "98")
	f.Notches.FocusLost()
	if f.Notches.FocusGained(); f.Notches.Text != "98" || f.Notches.SelectedText() != "" {
		t.Errorf("the window was away: typed %q, selected %q", f.Notches.Text, f.Notches.SelectedText())
	}
	test.TapAt(f.Tolerance, fyne.NewPos(3, 3))
	f.Tolerance.MouseDown(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	f.Tolerance.MouseUp(&desktop.MouseEvent{Button: desktop.MouseButtonPrimary})
	if f.Tolerance.SelectedText() != "" {
		t.Error("a click selects")
	}
}
