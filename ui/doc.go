// Package ui is Lagwright's window: the loop across the top, the take in the
// middle, the record below.
//
// Ownership: every method of every type here runs on Fyne's own goroutine
// unless its comment says otherwise. Long work goes through jobs.start, whose
// function runs elsewhere, touches no widget and returns a plain value; the
// value comes back in one fyne.Do.
package ui
