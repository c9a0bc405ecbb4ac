// Command bare is a window of the toolkit with one label in it: what Lagwright's
// start is measured against.
package main

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/widget"
)

func main() {
	w := app.NewWithID("org.lagwright.bare").NewWindow("Lagwright's measure")
	w.SetContent(widget.NewLabel("A window with nothing in it"))
	w.Resize(fyne.NewSize(1280, 800))
	w.ShowAndRun()
}
