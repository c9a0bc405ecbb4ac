// Package playback makes what the program plays, as samples: tones that say how the take
// goes, the guide click, and a take listened to again. It opens no device and starts no
// goroutine: the caller's audio callback asks for samples with a Fill that neither
// allocates, locks nor waits.
//
// Full scale is ±1, so that a peak in dBFS is 20·log10 of it (AES17, from memory: a
// sine whose peaks reach full scale has 0 dBFS). Rates are in Hz, times in s, tempo in BPM.
// Everything starts quiet, for the sake of ears in headphones.
package playback
