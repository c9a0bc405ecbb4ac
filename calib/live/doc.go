// Package live is sound as it happens: a take while it is played, the microphones while
// they are set up, and what the computer plays. It joins capture, playback and hands-free
// decisions; what is kept goes through bench.
package live
