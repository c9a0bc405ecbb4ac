// Package plan turns all takes of a machine into one plan for its set list: where
// the plate goes for each song, how far that can be trusted, and which take to
// play next until nothing is left to learn.
//
// Several voices on one machine share the plate's step f; each has its own delay
// D and offset A:
//
//	lag(v, P, s) = D_v + A_v·P − f·s·P
//
// The story goes from left to right, plain values in and out:
//
//	readings → takes → Fit → Machine → Make → Plan: songs, next take
//
// Things go wrong between the plate and the notebook. Steps are miscounted, a
// plate does not engage, a take is played with a loose cable, a pin is bent. Fit
// therefore follows several ways to understand the takes side by side, each a
// joint law with the faults it supposes, and weighs them by how well they explain
// what was heard and how rarely such faults happen. What a plan says is averaged
// over these ways, so that a song counts as verified only when no likely way
// contradicts it. No way is ever applied behind the builder's back: Findings tells
// each fault that is believed, with its odds, and nothing is changed for it until
// the builder agrees.
//
// Tolerance: a lag passes within the larger of the tolerance in ms and half a
// step at that tempo, since the plate goes no nearer. The usual tolerance of 5 ms
// lies below what listeners notice: one displaced tone of an even sequence is
// noticed from about 6 ms or 2.5 % of the beat on (Friberg and Sundberg 1995,
// JASA 98:2524). Two clicks are told apart from 2 to 3 ms on, but their order only
// from about 20 ms on (Hirsh 1959, JASA 31:759, as quoted by Watson 2004), and
// members of trained trios play with 30 to 50 ms between them (Rasch 1979,
// Acustica 43:121, as quoted in a thesis).
package plan
