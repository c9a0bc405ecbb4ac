package machine

import (
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Microphones says what hears the machine: one device, whose channels share a
// clock, and which of them is which. Channels count from 1.
type Microphones struct {
	Device    string       `json:"device"` // as the system shows it
	RateHz    int          `json:"rate_hz"`
	Channels  int          `json:"channels"` // recorded
	Reference int          `json:"reference_channel"`
	Voices    []Microphone `json:"voices"` // one for each voice that has a microphone
}

// Microphone is one on a voice.
type Microphone struct {
	Voice   string     `json:"voice"`
	Channel int        `json:"channel"`
	Skew    calib.Skew `json:"skew"` // of its channel against the reference's; its zero value = never checked
}

// Of returns the microphone on a voice; it is not ok where it has none.
func (m Microphones) Of(voice string) (one Microphone, ok bool) {
	i := slices.IndexFunc(m.Voices, func(o Microphone) bool { return o.Voice == voice })
	if i < 0 {
		return Microphone{}, false
	}
	return m.Voices[i], true
}

// OnChannels returns what each channel hears, from channel 1 on: a voice, the reference or
// nothing, by the words for these two. Where a role is given twice, or the reference is
// missing, the error says so.
func OnChannels(roles []string, nothing, reference string) (m Microphones, err error) {
	for i, is := range roles {
		switch first := slices.Index(roles[:i], is); {
		case is == nothing:
		case first >= 0 && is == reference:
			return m, i18n.Errorf("channels %d and %d cannot both be the reference: choose another for one", first+1, i+1)
		case first >= 0:
			return m, i18n.Errorf("channels %d and %d cannot both be the %s: choose another for one", first+1, i+1, is)
		case is == reference:
			m.Reference = i + 1
		default:
			m.Voices = append(m.Voices, Microphone{Voice: is, Channel: i + 1})
		}
	}
	if m.Reference == 0 {
		return m, i18n.Errorf("say which channel hears the reference, what is locked to the crank")
	}
	return m, nil
}

// HearsAll reports whether microphones were set up on every voice of the machine, which has several.
func (m Machine) HearsAll() bool {
	return m.Microphones != nil && len(m.Build.Voices) > 1 && !slices.ContainsFunc(m.Build.Voices, func(voice string) bool {
		_, ok := m.Microphones.Of(voice)
		return !ok
	})
}

// rename gives voices their new names; those that are gone lose their microphone.
func (m *Microphones) rename(now map[string]string) {
	m.Voices = slices.DeleteFunc(slices.Clone(m.Voices), func(v Microphone) bool { return now[v.Voice] == "" })
	for i := range m.Voices {
		m.Voices[i].Voice = now[m.Voices[i].Voice]
	}
}

// validate returns a sentence about the first thing that cannot be right. A voice
// that the machine has no more is none.
func (m Microphones) validate() error {
	if m.Channels < 2 || m.RateHz <= 0 || m.Reference < 1 || m.Reference > m.Channels {
		return i18n.Errorf("the microphones are on %d channels at %d Hz with the reference on channel %d: choose them again", m.Channels, m.RateHz, m.Reference)
	}
	for _, v := range m.Voices {
		if v.Channel < 1 || v.Channel > m.Channels {
			return i18n.Errorf("the %s is on channel %d of %d: choose its microphone again", v.Voice, v.Channel, m.Channels)
		}
	}
	return m.CheckChannels()
}

// CheckChannels returns a sentence where one channel is said to be two things.
func (m Microphones) CheckChannels() error {
	for i, v := range m.Voices {
		if v.Channel == m.Reference {
			return i18n.Errorf("channel %d cannot be both the reference and the %s: give each a channel of its own", v.Channel, v.Voice)
		}
		for _, other := range m.Voices[:i] {
			if other.Channel == v.Channel {
				return i18n.Errorf("channel %d cannot be both the %s and the %s: give each a channel of its own", v.Channel, other.Voice, v.Voice)
			}
		}
	}
	return nil
}
