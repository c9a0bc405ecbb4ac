package kit

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// dismisses reports whether words on a button say that it takes a dialog away and
// changes nothing. The toolkit says No and Cancel too, perhaps in another language.
func dismisses(words string) bool {
	return slices.Contains([]string{i18n.L("Cancel"), i18n.L("Close"), i18n.L("Not now"), lang.L("Cancel"), lang.L("No")}, words)
}

// DismissTop takes the uppermost dialog of a canvas away as its own button does,
// and reports whether there was one. The toolkit's dialogs know no key for it.
func DismissTop(c fyne.Canvas) bool {
	if c == nil || c.Overlays().Top() == nil {
		return false
	}
	if b := dismissal(topPopUp(c)); b != nil {
		b.OnTapped()
	}
	return true
}

// topPopUp returns the uppermost dialog of a canvas, or nil. It lies in a widget of
// the toolkit's own that shows nothing else.
func topPopUp(c fyne.Canvas) fyne.CanvasObject {
	if over, ok := c.Overlays().Top().(fyne.Widget); ok {
		for _, o := range over.CreateRenderer().Objects() {
			if p, ok := o.(*widget.PopUp); ok {
				return p
			}
		}
	}
	return nil
}

// dismissal finds the button that takes a dialog away.
func dismissal(o fyne.CanvasObject) *widget.Button {
	switch o := o.(type) {
	case *widget.PopUp:
		return dismissal(o.Content)
	case *widget.Button:
		if dismisses(o.Text) && o.OnTapped != nil && o.Visible() {
			return o
		}
	case *Button:
		return dismissal(&o.Button)
	case *fyne.Container:
		for i := len(o.Objects) - 1; i >= 0; i-- { // the buttons stand last
			if b := dismissal(o.Objects[i]); b != nil {
				return b
			}
		}
	}
	return nil
}
