package session

import (
	"slices"
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
	if i := slices.IndexFunc(t.Heard, func(h Heard) bool { return h.Voice == voice }); i >= 0 {
		return &t.Heard[i]
	}
	return nil
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

// Turned tells a move made since the last take, where so many steps were asked for, 0 for
// none: moves add up. Before the first take there is none to tell it after.
func (s *Session) Turned(steps, asked int, note string) error {
	if len(s.Takes) == 0 {
		return i18n.Errorf("there is no take to move after yet: play one first")
	}
	last := &s.Takes[len(s.Takes)-1]
	if last.Moved == nil {
		last.Moved = &Move{}
	}
	m := last.Moved
	if asked != 0 {
		m.Asked = m.Steps + asked
	}
	m.Steps += steps
	m.For, m.Unidirectional = s.Target, s.Machine.Unidirectional
	if note != "" {
		m.Note = strings.TrimPrefix(m.Note+"; "+note, "; ")
	}
	return nil
}

// Take returns the take with an id, to be read or changed in place; nil where there
// is none.
func (s *Session) Take(id int) *Take {
	if i := slices.IndexFunc(s.Takes, func(t Take) bool { return t.ID == id }); i >= 0 {
		return &s.Takes[i]
	}
	return nil
}

// SettingAt returns where the plate stood at the take with an index, as the moves
// were told, in steps: 0 at the first one.
func (s Session) SettingAt(index int) (steps int) {
	for _, t := range s.Takes[:index] {
		if t.Moved != nil {
			steps += t.Moved.Steps
		}
	}
	return steps
}

// Setting returns where the plate stands now, as the moves were told, in steps.
func (s Session) Setting() int { return s.SettingAt(len(s.Takes)) }

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
