// Package capture records live sound from one device, and knows nothing of any system's
// sound library: whatever does know one implements Sound.
//
//	device's thread → put → ring → drain → Sink (a file, the live trace, …)
//	                                     → levels, gaps, watchdog
//
// The device's thread copies into a ring and adds to counters; it never
// allocates, locks, waits or logs. A goroutine drains the ring every 10 ms, hands
// the sound on, and works out levels and what was lost. A window samples Levels
// and Status whenever it likes.
//
// Reference and voice come from one device, so that they share a clock: two
// devices drift apart by up to 0.2 ms in each second (two clocks 100 ppm off in
// either direction; common practice, no published source), which would read as
// lag. There is no way to ask for two.
//
// Nothing is put in the place of sound that was lost. Its place and length go to
// Sink.Lost; calib/take keeps them in a chunk of the file and gives them back as
// File.Gaps.
//
// calib/capture/device is the computer's sound. [Replay] plays a recording instead,
// for tests and for the simulated machine.
//
// Sound is interleaved, the channels of a frame side by side; full scale is ±1.
package capture
