// Package plan is the one inference: it turns all takes of a machine into what
// happened, the law of each voice, and where the plate goes for each tempo, with how
// far that can be trusted and which take tells most next.
//
// Several voices on one machine share the plate's step f; each has its own delay
// D and offset A:
//
//	lag(v, P, s) = D_v + A_v·P − f·s·P
//
// Data flow from left to right, plain values in and out:
//
//	Hear(voice, reading) → Take → Fit(Knowledge, takes) → Posterior
//	Posterior: Stood, Aside, Findings   what is made of each take, and what went wrong
//	           Law, Lag, Expect         the laws, and how sure they are
//	           Plan(songs, situation)   the setting of each song, and the next take
//
// One tempo that a loop aims at is a set list of one song. Fit works for any number of
// takes; without any it gives what is believed beforehand, the prior.
//
// Takes tell their settings as the moves were told. A Posterior counts them as the likeliest
// hypothesis has them, which is what it takes and gives: the plate stood at Stood
// in a take, and now stands Posterior.UnreportedSteps further ahead than told.
//
// Things go wrong between the plate and the notebook. Steps are miscounted, moves
// are made and not told, a plate does not engage, a take is played with a loose
// cable, a pin is bent. Fit therefore follows several hypotheses side by side, each a
// joint law with the faults it supposes, and weighs them by prior and evidence: how
// rarely such faults happen, and how well they foretell what was heard. What a plan
// says is averaged over their posterior, so that takes of a song are enough only when
// no likely hypothesis contradicts it, and Setting.Doubt says where one does: then a
// move is not to be asked for without saying so, and Plan.Next is the take that tells.
// Nothing is ever applied behind the builder's back: Findings tells each fault that
// is believed, with its odds, and nothing is changed for it until the builder agrees.
// Where Finding.Kind moves the plate, he agrees by counting every take from
// Finding.Take on Finding.Steps further ahead.
//
// Tolerance: a lag passes within the larger of the tolerance in ms and half a
// step at that tempo, since the plate goes no nearer. The usual tolerance of 5 ms
// lies below what listeners notice: one displaced tone of an even sequence is
// noticed from about 6 ms or 2.5 % of the beat on (Friberg and Sundberg 1995,
// JASA 98:2524). Two clicks are told apart from 2 to 3 ms on, but their order only
// from about 20 ms on (Hirsh 1959, JASA 31:759, as quoted by Watson 2004).
package plan
