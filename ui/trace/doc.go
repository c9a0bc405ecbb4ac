// Package trace is the mirror trace: one take drawn with the reference above a
// shared lane and the voice below it, so that a lag is a distance the eye can
// see. Hits are pins, and in the lane a bracket joins the two pins of a pair; its
// width is the lag, and late lies to the right.
//
// A [lagwright/plotting/wave.Pyramid] makes takes of any length cheap to draw: it is built on any
// goroutine and then handed over whole inside a [Take], which package picture draws.
//
// Times are in seconds from the start of the take, lags in milliseconds,
// positions in device-independent pixels unless a name says otherwise.
package trace
