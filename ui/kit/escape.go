package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
)

// Dialog is a dialog that the escape key takes away, as the first of its buttons does.
// The toolkit's own know no key for it. It belongs to Fyne's goroutine.
type Dialog struct {
	*dialog.CustomDialog
	content fyne.CanvasObject
	away    *Button
}

// shown are the dialogs over windows, by what the toolkit lays there for them.
var shown = map[fyne.CanvasObject]*Dialog{}

// DismissTop takes the uppermost dialog of a canvas away as its own button does,
// and reports whether there was one.
func DismissTop(c fyne.Canvas) bool {
	if c == nil || c.Overlays().Top() == nil {
		return false
	}
	if d := shown[c.Overlays().Top()]; d != nil {
		d.away.OnTapped()
	}
	return true
}
