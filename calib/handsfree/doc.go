// Package handsfree decides what the window says while a take is recorded with both hands
// on the crank: when to play faster or slower, how many hits count so far, when it is
// enough, and what is wrong with a cable. Before the take it knows which microphone was
// tapped, whether a level is good, how much a channel hums and by how much one channel
// hears later than the other.
//
// [Next] is the whole decision, pure: the caller measures the recording so far
// every few tenths of a second, says what was heard, and does what comes back.
// Nothing here opens a device, reads a clock or draws.
//
// Only the hits from Say.FromS on count: [Part] reads a recording from there. The
// skew of a zero check ([Zero]) is taken off a reading last of all, by
// calib.Reading.WithoutSkew; what was found in the sound is kept as it was.
//
// Levels are linear, full scale being ±1, unless a name ends in DBFS. Levels in
// dBFS follow AES17 (from memory): a sine whose peaks reach full scale has 0 dBFS, be it peak
// or RMS, so that RMS levels lie 3.01 dB above 20·log10 of their value.
package handsfree
