// Package bench joins the arrows: it takes a recording of the real or the
// simulated machine from samples to a kept take with its reading and advice,
// and says where the loop stands. The window and the command line both work
// through it, so that what one does the other can do too.
//
// # The loop
//
// calib.Next is the whole decision after a take. [Stand] says where the loop of a
// session stands, and window and demo both follow it. At a target that has no take
// yet it goes where the plan says: to the song's setting, for a tempo that is in no
// song to that of a song made up for it, or to where the plan's next take asks for.
//
// # Several voices
//
// A take may hear several voices, each on a channel of its own. The target's reading
// lies in the take itself, the others in session.Take.OtherVoices; Take.As gives
// the take as any of them has it, so that nobody needs a second way to show or
// count one. Voices are measured two at a time. Where the plate stood is found out
// once, for it is the same for all.
//
// # What a builder changes
//
// A hit changed by hand goes the same way again from its pairs on:
// session.Take.ByHand keeps what was found and each change, and [Bench.Edit] reads
// the take anew. [Bench.Own] first makes the voice the take's own.
//
// All else changes by a function that makes the change and returns the one that
// takes it back (changes.go). Songs, the machine, corrected moves and takes left
// out share one pile for Undo and one for Redo. A move leaves both piles once a
// take has heard it. Where a change touches what earlier advice rested on, the
// takes after it get their settings and advice anew; recordings and hits stay.
//
// # The plan
//
// [PlanOf] hands takes and songs to calib/plan as plain values and puts what comes
// back into the session's words. Nothing is corrected in silence: a finding says
// what the takes show, and [Bench.Agree] changes the session once the builder
// agrees. Moves that all went the other way are turned round as told, so that
// ahead stays what makes the voice earlier. The loop shows the likeliest finding,
// unless its own words say the same ([Standing.Says]). Cures say what they assumed
// where the machine's build is not known (plancure.go).
package bench
