package machine

import (
	"strings"

	"lagwright/calib/i18n"
)

// What the machine keeps of where a take came from is English, whatever the language it
// is read in.

// FoundInFolder is the origin of a recording that lay in the folder already.
const FoundInFolder = "found in the machine folder"

// Simulated is the origin of a take of the simulated machine.
const Simulated = "simulated"

const (
	openedFrom   = "opened from "
	recordedFrom = "recorded from "
)

// OpenedFrom is the origin of a take that was opened from a file of that name.
func OpenedFrom(name string) string { return openedFrom + name }

// RecordedFrom is the origin of a take that was recorded from a device.
func RecordedFrom(device string) string { return recordedFrom + device }

// OriginWords says where the take's sound came from in the language in use.
func (t Take) OriginWords() string {
	switch {
	case t.Origin == FoundInFolder:
		return i18n.L("found in the machine folder")
	case t.Origin == Simulated:
		return i18n.L("simulated")
	}
	if name, ok := strings.CutPrefix(t.Origin, openedFrom); ok {
		return i18n.F("opened from %s", name)
	}
	if device, ok := strings.CutPrefix(t.Origin, recordedFrom); ok {
		return i18n.F("recorded from %s", device)
	}
	return t.Origin
}

// KeepFirst keeps how many steps were told at first, of a move that is told otherwise
// now.
func (m *Move) KeepFirst(steps int) {
	if m.First == nil {
		m.First = &steps
	}
}

// NoteWords says the note of a move: the builder's own words as they are, and how it
// was told first in the language in use.
func (m Move) NoteWords() string {
	if m.First == nil {
		return m.Note
	}
	first := i18n.L("first entered as no move")
	switch steps := *m.First; {
	case steps > 0:
		first = i18n.F("first entered as %d ahead", steps)
	case steps < 0:
		first = i18n.F("first entered as %d back", -steps)
	}
	return strings.TrimPrefix(m.Note+"; "+first, "; ")
}
