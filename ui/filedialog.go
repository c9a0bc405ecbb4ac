package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"
)

// focusFiles gives the keyboard to the files of the uppermost dialog: arrows go
// from one to the next and space chooses. In the toolkit's dialog it lies with
// nothing, and a dozen widgets stand before them.
func focusFiles(c fyne.Canvas) {
	over, ok := c.Overlays().Top().(fyne.Widget)
	if !ok {
		return
	}
	for _, o := range over.CreateRenderer().Objects() {
		if files := filesOf(o, false); files != nil {
			c.Focus(files)
			return
		}
	}
}

// filesOf finds the grid or list of files, which scrolls; the list of places to
// start from does not.
func filesOf(o fyne.CanvasObject, scrolls bool) fyne.Focusable {
	var inner []fyne.CanvasObject
	switch o := o.(type) {
	case *widget.GridWrap:
		return o
	case *widget.List:
		if scrolls {
			return o
		}
	case *widget.PopUp:
		inner = []fyne.CanvasObject{o.Content}
	case *fyne.Container:
		inner = o.Objects
	case *container.Split:
		inner = []fyne.CanvasObject{o.Leading, o.Trailing}
	case *container.Scroll:
		inner, scrolls = []fyne.CanvasObject{o.Content}, true
	}
	for _, one := range inner {
		if files := filesOf(one, scrolls); files != nil {
			return files
		}
	}
	return nil
}
