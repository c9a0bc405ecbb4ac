// Package signal turns the samples of a take into hits, hits into pairs of a
// reference hit and a voice hit, and pairs into a reading.
//
// A channel is listened to twice. The first pass streams it through a band-pass
// and a short-term over long-term energy trigger and keeps only a list of
// candidates. The second pass reads a few hundredths of a second round each
// candidate and picks the moment the sound begins: first by the Akaike
// criterion on the whitened samples, then between samples by the straight line
// that the first rise follows. Nothing in either pass knows an absolute level;
// every threshold is relative to the channel's own noise and its own hits.
// Where hum or tones that ring on fill the band, they are taken out first: hum by
// its lines in the spectrum, tones by linear prediction, which leaves what is new.
// Which candidates are hits, which are the other channel's leaking in, and
// which belong together is decided last, over the whole take: of two sounds that
// come together the louder is the strike, and where that is not clear the reading
// says that it is doubtful.
package signal
