// Package take keeps recorded audio in files: it opens WAV of any layout, and FLAC,
// reads it at random access, and it writes takes so that a crash never leaves
// half of one behind.
//
// Read are PCM of 1 to 64 bits in containers of 1 to 8 bytes, IEEE float of 32
// and 64 bits, WAVE_FORMAT_EXTENSIBLE, RF64 and BW64 beyond 4 GiB, big-endian
// RIFX, Broadcast Wave and unknown chunks in any order. Takes that were cut
// short, or whose recorder never wrote the length, are read as far as they go,
// with a warning. Writing a File back with Write repairs such a take.
//
// FLAC (RFC 9639, by github.com/mewkiz/flac) is decoded when it is opened, into a file
// without a name, and its checksum compared; from then on it is read as WAV is.
//
// The layouts follow the Multimedia Programming Interface and Data
// Specifications 1.0 (IBM and Microsoft, 1991), the WAVEFORMATEXTENSIBLE layout
// (wiki.multimedia.cx), and EBU Tech 3306 / ITU-R BS.2088 for RF64 and BW64.
//
// Every error is one sentence that names the file and says what to do. Memory
// does not grow with the length of a take.
package take
