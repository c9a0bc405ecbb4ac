// Package ui is the shell of Lagwright's window: the window itself, its menu, the
// keyboard, and its zones, the loop across the top, the take in the middle, the history
// below. What a person does in one place lies in a package below this one; DEVELOPERS.md
// has the plan.
//
// Ownership: every method of every type here and below runs on Fyne's own goroutine
// unless its comment says otherwise. Long work goes through kit.Start or desk.Start, whose
// function runs elsewhere, touches no widget and returns a plain value; the
// value comes back in one fyne.Do. Progress is sampled, not pushed. FyneApp.toml
// opts in to fyneDo, which also turns the toolkit's wrong-thread check off: to have it
// back while developing, set fyneDo = false there and run with -race.
//
// Sizes grow with the text: dialogs by the frame's Room and Fit, a width of its own by
// kit.Wide. A sign asks for the lines that its text takes at the width it has, a flow for
// its rows. Both know that only once they were laid out, and the window's driver lays
// out anew whatever asks for other room from one frame to the next.
//
// Fyne breaks a line only at spaces and where a stretch of text ends: in Japanese,
// bold words belong at the beginning of a paragraph or nowhere.
package ui
