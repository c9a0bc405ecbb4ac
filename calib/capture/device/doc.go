// Package device is the sound of this computer: PulseAudio (and PipeWire, which
// speaks its language) or ALSA on Linux, Core Audio on macOS, WASAPI on Windows.
//
// Inputs of PulseAudio are spoken to directly (pulse.go), everything else by way
// of miniaudio (library.go, stream.go), which needs C to build but no library of
// the system. Built without C, only the former is there, and a sentence says so.
//
// Of malgo, which binds miniaudio (v0.11.24): it cannot change the order that
// miniaudio gives the channels of a PulseAudio stream (see pulse.go), so playing is in
// stereo only. It takes a lock of its own round each callback, held elsewhere only
// while a device is opened or closed, and leaks a small log object with each context.
//
// Only cmd/lagwright knows this package. Everything else takes a capture.Sound.
//
// Each list and each stream has a connection of its own, so that a sound server
// that was started anew is met as if for the first time.
package device
