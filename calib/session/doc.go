// Package session keeps a calibration in a folder that its builder owns: one
// readable file, session.json, and the takes as WAV files beside it.
//
// # The folder
//
//	session.json                the session as last saved
//	session.json.bak            the save before that one
//	take-001.wav ...            the takes
//	.session.lock               held while a window has the folder open
//	session.damaged-<time>.json a session.json that could not be read, put aside
//
// # session.json
//
// FORMAT.md beside this file has every field with its kind and unit; in short:
//
// One JSON object, UTF-8, indented, fields always in this order:
//
//	format           "lagwright-session"
//	version          1
//	name             what the builder calls the session
//	created          RFC 3339, UTC
//	notes            the builder's own words, absent where there are none
//	machine          name; plate {notches_per_turn, turns_per_beat}, 0 = not
//	                 known; voices; reference_hits_per_beat, 0 = one;
//	                 practice_seed, 0 = a real machine, otherwise the simulated
//	                 one with this seed; and where the builder says so,
//	                 falls (of each voice: voice, drop_mm, diameter_mm and
//	                 density_kg_per_m3 of what falls; 0 = not known), wheel
//	                 {beats_per_turn, pin_radius_mm} and unidirectional
//	                 (it is agreed that each move ends ahead)
//	tolerance_ms     a lag within ± this counts as together
//	target           what the loop is aiming at: song (may be empty), tempo_bpm,
//	                 voice
//	songs            the set list in playing order, absent where there is none;
//	                 each has name, tempo_bpm, voices (those it uses, empty or
//	                 null = all) and importance (0 = 1)
//	takes            in the order they were recorded; each has
//	  id                 positive, unique
//	  file               WAV file, relative to the folder, forward slashes
//	  origin             where the sound came from, in words
//	  at                 when it was recorded, RFC 3339, UTC
//	  target             what the loop was aiming at
//	  reference_channel  counted from 1
//	  channels           in the recording
//	  heard              the voices that had a microphone; each has voice, channel,
//	                     reading (what its hits say: calib.Reading, hits changed by
//	                     hand included) and by_hand: null while every hit is as it
//	                     was found; then
//	    edits              in the order they were made; each has channel
//	                       ("reference" or "voice"), at_s (where the hit was,
//	                       in s; null = it was added, or put back) and to_s
//	                       (where it is now; null = it was struck out)
//	    found              the reading before the first edit (calib.Reading)
//	  moved              null until the builder says what was moved; then steps
//	                     (all of them, positive = programme turned ahead), for
//	                     (the target when it was last turned), note and
//	                     unidirectional (true where it ended ahead, whichever way
//	                     it went)
//	  left_out           true where the builder does not trust the take
//	  notes              the builder's own words
//	  asked_steps        the move that was asked for and not told when the take was
//	                     played; 0 = none
//
// Nothing is stored that follows from these facts: package loop works out where the
// plate stood, what each take means and the settings per tempo.
//
// All words that Lagwright writes are English, whatever language they are read in.
// Beside the text of a warning stands told: the same in pieces (i18n.Told), from which
// a window says it in its own language.
//
// Fields this version does not know are kept and written back at the end of
// the object they stood in: at the top, in machine and in a take. Unknown
// fields deeper inside (heard, target, plate, song, fall, wheel, moved, microphones)
// are dropped at the next save. A file of a later version can only be read, where it
// can be.
//
// # The set list as CSV
//
// WriteSongs and ReadSongs carry the set list to a spreadsheet and back. The
// columns, named in the first row, are song, tempo_bpm, voices (with "; " between
// them) and importance; the last two may be missing.
//
// # The session as one zip
//
// Export packs session.json and the recordings of the takes, as they are, into one
// zip; Import unpacks such a zip into a new folder. It holds nothing else, no
// folders, and each recording is one that a take names.
//
// # Safety
//
// A save writes complete temporary files, flushes them, and only then renames
// them into place; whatever is interrupted, session.json or session.json.bak
// holds a whole session, the old one or the new one. Open brings back the last
// good one and says in Warnings what it found. A session.json that another program
// changed while it was open is not overwritten.
//
// A folder that is open elsewhere, cannot be locked or cannot be written to is opened
// by OpenOrRead to be read only, and none of its files is changed.
//
// No file of the session may be a link to something outside its folder.
package session
