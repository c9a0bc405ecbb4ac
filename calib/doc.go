// Package calib holds the values of calibrating a crank-driven mechanical instrument:
// pairs of hits become a reading, with its uncertainty; the law says how late a voice
// is at any tempo and setting of the index plate. Package plan fits laws to readings,
// and package loop says what to do.
//
// The package does no input or output and knows no screen. Everything in it is
// a plain value or a function of plain values.
//
// Units and signs hold in every package: lags, periods and delays are in
// milliseconds, hit times in seconds from the start of the take, tempo in beats
// per minute, step size in beats per step. A positive lag means the voice
// sounds late; a positive setting or move turns the programme ahead and makes
// the voice sound earlier. Channels count from 1, as on the front of a recorder.
package calib
