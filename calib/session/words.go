package session

import (
	"fmt"
	"strings"

	"lagwright/calib/i18n"
)

// What the session keeps of where a take came from and how a move was told first is
// English, whatever the language it is read in.

// FoundInFolder is the origin of a recording that lay in the folder already.
const FoundInFolder = "found in the session folder"

// Simulated is the origin of a take of the simulated machine.
const Simulated = "simulated"

const (
	openedFrom   = "opened from "
	recordedFrom = "recorded from "
	firstTold    = "first told as "
)

// OpenedFrom is the origin of a take that was opened from a file of that name.
func OpenedFrom(name string) string { return openedFrom + name }

// RecordedFrom is the origin of a take that was recorded from a device.
func RecordedFrom(device string) string { return recordedFrom + device }

// OriginWords says where the take's sound came from in the language in use.
func (t Take) OriginWords() string {
	switch {
	case t.Origin == FoundInFolder:
		return i18n.L("found in the session folder")
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

// FirstTold adds to the note of a move how many steps were told at first.
func (m *Move) FirstTold(steps int) {
	words := "no move"
	switch {
	case steps > 0:
		words = fmt.Sprintf("%d ahead", steps)
	case steps < 0:
		words = fmt.Sprintf("%d back", -steps)
	}
	m.Note = strings.TrimPrefix(m.Note+"; "+firstTold+words, "; ")
}

// NoteWords says the note of a move: the builder's own words as they are, how it
// was told first in the language in use.
func (m Move) NoteWords() string {
	parts := strings.Split(m.Note, "; ")
	for i, part := range parts {
		told, ok := strings.CutPrefix(part, firstTold)
		if !ok {
			continue
		}
		var steps int
		fmt.Sscanf(told, "%d", &steps)
		switch told {
		case fmt.Sprintf("%d ahead", steps):
			parts[i] = i18n.F("first told as %d ahead", steps)
		case fmt.Sprintf("%d back", steps):
			parts[i] = i18n.F("first told as %d back", steps)
		case "no move":
			parts[i] = i18n.L("first told as no move")
		}
	}
	return strings.Join(parts, "; ")
}
