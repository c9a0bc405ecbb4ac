// Package practice is a simulated machine: it plays takes from a law that is
// known, for the demo, for tests and for benchmarks.
//
// A take has a channel for each contact microphone: channel 1 on the reference,
// channel 2 on the voice, and where more voices play, one more for each. The crank's tempo wanders within
// a turn and over the take, the gate lets shot go a little early or late, now
// and then misses a drop or lets two go, shot rebounds, and the frame carries
// every sound to the other microphones. [Machine.Play] returns the recording
// together with the [Truth]: when each hit really happened.
//
// The laws of physics in here are not invented: free fall ([calib.FallMS]), a
// damped mode driven by a half-sine contact pulse (solved exactly, see
// sound.go) and the mode ratios of an ideal membrane and a free bar. Everything
// else is. The workshop, the machine and every number in [Default] and in the
// constants of this package are made up to be believable, and are measured on
// no real machine; they are no evidence about one.
//
// What goes wrong with takes is played as [Traps], seeded families of cases, by
// which measuring is judged; TRAPS.md beside this file says how.
package practice
