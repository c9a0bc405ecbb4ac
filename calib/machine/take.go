package machine

import (
	"strings"

	"lagwright/calib/i18n"
)

// Voices returns the voices that had a microphone in the take.
func (t Take) Voices() []string {
	voices := make([]string, len(t.Heard))
	for i, h := range t.Heard {
		voices[i] = h.Voice
	}
	return voices
}

// Of returns what was heard of a voice, to be read or changed in place; nil where
// the voice had no microphone in the take.
func (t *Take) Of(voice string) *Heard {
	return firstOf(t.Heard, func(h Heard) bool { return h.Voice == voice })
}

// Assign says anew which voice each channel of the take heard, in the order of Heard. What
// was heard stays, and what was aimed at follows its channel.
func (t *Take) Assign(voices []string) {
	target := t.Target.Voice
	for i, voice := range voices {
		if t.Heard[i].Voice == t.Target.Voice {
			target = voice
		}
		t.Heard[i].Voice = voice
	}
	t.Target.Voice = target
}

// AddMove tells a move made since the last take, where so many steps were asked for, 0 for
// none: moves add up. One of no steps, with none before it, says that the plate was not turned.
// Before the first take there is none to tell it after.
func (m *Machine) AddMove(steps, asked int, note string) error {
	if len(m.Takes) == 0 {
		return i18n.Errorf("there is no take to move after yet: play one first")
	}
	last := &m.Takes[len(m.Takes)-1]
	if last.Moved == nil {
		last.Moved = &Move{AsTold: true} // it stays where it is, until it is turned
	}
	move := last.Moved
	if asked != 0 {
		move.Asked = move.Steps + asked
	}
	move.Steps += steps
	move.For, move.Unidirectional, move.AsTold = m.Target, m.Build.Unidirectional, move.AsTold && steps == 0
	if note != "" {
		move.Note = strings.TrimPrefix(move.Note+"; "+note, "; ")
	}
	return nil
}

// Take returns the take with an id, to be read or changed in place; nil where there
// is none.
func (m *Machine) Take(id int) *Take {
	return firstOf(m.Takes, func(t Take) bool { return t.ID == id })
}

// SettingAt returns where the plate stood at the take with an index, as the moves
// were told, in steps: 0 at the first one.
func (m Machine) SettingAt(index int) (steps int) {
	for _, t := range m.Takes[:index] {
		if t.Moved != nil {
			steps += t.Moved.Steps
		}
	}
	return steps
}

// Setting returns where the plate stands now, as the moves were told, in steps.
func (m Machine) Setting() int { return m.SettingAt(len(m.Takes)) }

func (t Take) validateHeard() error {
	if len(t.Heard) == 0 {
		return i18n.Errorf("it hears no voice: a take hears one or more")
	}
	channels, heard := map[int]string{t.Reference: "reference"}, map[string]bool{}
	for _, h := range t.Heard {
		if h.Voice == "" || heard[h.Voice] {
			return i18n.Errorf("it hears the voice %q twice, or one without a name: each voice has one channel", h.Voice)
		}
		if other, taken := channels[h.Channel]; taken || h.Channel < 1 {
			return i18n.Errorf("the %s is on channel %d, which is below 1 or the %s's", h.Voice, h.Channel, other)
		}
		channels[h.Channel], heard[h.Voice] = h.Voice, true
		if err := h.validateByHand(); err != nil {
			return i18n.Errorf("the %s: %w", h.Voice, err)
		}
	}
	return nil
}

// Origins of a take's sound.
var (
	FoundInFolder = i18n.Say("found in the machine folder") // where the recording lay already
	Simulated     = i18n.Say("simulated")                   // by the simulated machine
)

// OpenedFrom is the origin of a take that was opened from a file of that name.
func OpenedFrom(name string) i18n.Message { return i18n.Say("opened from %s", name) }

// RecordedFrom is the origin of a take that was recorded from a device.
func RecordedFrom(device string) i18n.Message { return i18n.Say("recorded from %s", device) }

// KeepFirst keeps how many steps were told at first, of a move that is told otherwise
// now.
func (m *Move) KeepFirst(steps int) {
	if m.AsTold = false; m.First == nil {
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
