package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"
)

// fileKeys is what the keyboard does in the toolkit's dialog for files, whose dozen
// widgets before the files stand in the way of the tab key.
type fileKeys struct {
	folder bool // a folder is chosen, not a file
	moved  bool // the arrows went to a file since one was chosen last
}

// typed hands a key that no part of the window took to the uppermost dialog, where
// that is the toolkit's for files: arrows go from one file to the next, space
// chooses, enter chooses and opens; with folders, enter goes into the one that the
// arrows went to, or else takes the one that is open. The files do not get the
// keyboard for good, because they know no escape key. It reports whether there was
// such a dialog.
func (f *fileKeys) typed(c fyne.Canvas, k *fyne.KeyEvent) bool {
	over := topPopUp(c)
	files := filesOf(over, false)
	if files == nil {
		return false
	}
	space := &fyne.KeyEvent{Name: fyne.KeySpace}
	switch k.Name {
	case fyne.KeyUp, fyne.KeyDown, fyne.KeyLeft, fyne.KeyRight:
		f.moved = true
		files.FocusGained() // which shows where it stands
		files.TypedKey(k)
	case fyne.KeySpace:
		f.moved = false
		files.TypedKey(space)
	case fyne.KeyReturn, fyne.KeyEnter:
		if f.moved {
			files.TypedKey(space)
			if f.moved = false; f.folder {
				break
			}
		}
		if open := mainButton(over); open != nil && !open.Disabled() {
			open.OnTapped()
		}
	}
	return true
}

// parts are the objects that another holds, as far as a dialog has them, and whether
// they scroll in it.
func parts(o fyne.CanvasObject) (inner []fyne.CanvasObject, scroll bool) {
	switch o := o.(type) {
	case *widget.PopUp:
		return []fyne.CanvasObject{o.Content}, false
	case *fyne.Container:
		return o.Objects, false
	case *container.Split:
		return []fyne.CanvasObject{o.Leading, o.Trailing}, false
	case *container.Scroll:
		return []fyne.CanvasObject{o.Content}, true
	}
	return nil, false
}

// filesOf finds the grid or list of files, which scrolls; the list of places to
// start from does not.
func filesOf(o fyne.CanvasObject, scrolls bool) fyne.Focusable {
	switch o := o.(type) {
	case *widget.GridWrap:
		return o
	case *widget.List:
		if scrolls {
			return o
		}
	}
	inner, scroll := parts(o)
	for _, one := range inner {
		if files := filesOf(one, scrolls || scroll); files != nil {
			return files
		}
	}
	return nil
}

// mainButton finds the one that a dialog is there for.
func mainButton(o fyne.CanvasObject) *widget.Button {
	if b, ok := o.(*widget.Button); ok && b.Importance == widget.HighImportance && b.OnTapped != nil {
		return b
	}
	inner, _ := parts(o)
	for _, one := range inner {
		if b := mainButton(one); b != nil {
			return b
		}
	}
	return nil
}
