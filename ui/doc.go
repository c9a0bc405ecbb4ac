// Package ui is Lagwright's window: the loop across the top, the take in the
// middle, the record below.
//
// Ownership: every method of every type here runs on Fyne's own goroutine
// unless its comment says otherwise. Long work goes through jobs.start, whose
// function runs elsewhere, touches no widget and returns a plain value; the
// value comes back in one fyne.Do. Progress is sampled, not pushed. FyneApp.toml
// opts in to fyneDo, which also turns the toolkit's wrong-thread check off: to have it
// back while developing, set fyneDo = false there and run with -race.
//
// Keyboard: a key without a modifier reaches what has the keyboard and nobody else.
// So whatever may have it in a dialog is made by newField, newButton, newChoice or
// newTick (keyboard.go), which leave the escape key to the dialog; that key presses
// the dialog's own Cancel, Close or No (escape.go).
//
// Sizes grow with the text: dialogs by w.room and w.resize, a width of its own by
// wide. A sign asks for the lines that its text takes at the width it has, a flow for
// its rows. Both know that only once they were laid out, and the window's driver lays
// out anew whatever asks for other room from one frame to the next.
//
// Fyne breaks a line only at spaces and where a stretch of text ends: in Japanese,
// bold words belong at the beginning of a paragraph or nowhere.
package ui
