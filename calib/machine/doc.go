// Package machine keeps what is known of a machine in a folder that its builder owns: one
// readable file, machine.json, and the takes as WAV files beside it. FORMAT.md has
// the files of the folder and every field, with its kind and unit.
//
// Facts only are stored: package loop works out where the plate stood, what each take
// means and the settings per tempo.
//
// All words that Lagwright writes are English, whatever language they are read in.
// Beside the text of a warning stands told: the same in pieces (i18n.Message), from which
// a window says it in its own language. Where a take's sound came from is told alone.
//
// # The set list as CSV
//
// WriteSongs and ReadSongs carry the set list to a spreadsheet and back. The
// columns, named in the first row, are song, tempo_bpm, voices (with "; " between
// them) and importance; the last two may be missing. ReadSongs takes the words that
// people write over such columns as well (headingWords).
//
// # The machine as one zip
//
// Export packs machine.json and the recordings of the takes, as they are, into one
// zip; Import unpacks such a zip into a new folder. It holds nothing else, no
// folders, and each recording is one that a take names.
//
// # Safety
//
// Whatever interrupts a save, machine.json or machine.json.bak holds a whole machine,
// the old one or the new one. Open brings back the last good one and says in Warnings
// what it found. A machine.json that another program changed while it was open is not
// overwritten.
//
// A folder that is open elsewhere, cannot be locked or cannot be written to is opened
// by OpenOrRead to be read only, and none of its files is changed.
//
// No file of the machine may be a link to something outside its folder.
package machine
