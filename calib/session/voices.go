package session

import (
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// OtherVoice is what a take says of a voice besides that of its target, which had
// a microphone of its own. Where the plate stood is the same for all: the take's
// Advice.At.
type OtherVoice struct {
	Voice   string        `json:"voice"`
	Channel int           `json:"channel"` // counted from 1
	Reading calib.Reading `json:"reading,omitzero"`
	Advice  calib.Advice  `json:"advice,omitzero"`   // as if the loop had aimed at this voice
	ByHand  *ByHand       `json:"by_hand,omitempty"` // nil while every hit is as it was found
}

// Voices returns the voices that had a microphone in the take, that of its target
// first.
func (t Take) Voices() []string {
	voices := []string{t.Target.Voice}
	for _, o := range t.OtherVoices {
		voices = append(voices, o.Voice)
	}
	return voices
}

// As returns the take as one of its voices has it: target, channel, reading,
// advice and hits are that voice's, and what was the take's own is among the other
// voices. It is not ok where the voice had no microphone.
func (t Take) As(voice string) (as Take, ok bool) {
	if voice == t.Target.Voice {
		return t, true
	}
	i := slices.IndexFunc(t.OtherVoices, func(o OtherVoice) bool { return o.Voice == voice })
	if i < 0 {
		return Take{}, false
	}
	t.OtherVoices = slices.Clone(t.OtherVoices)
	o := &t.OtherVoices[i]
	t.Target.Voice, o.Voice = o.Voice, t.Target.Voice
	t.Voice, o.Channel = o.Channel, t.Voice
	t.Reading, o.Reading = o.Reading, t.Reading
	t.Advice, o.Advice = o.Advice, t.Advice
	t.ByHand, o.ByHand = o.ByHand, t.ByHand
	return t, true
}

// Heard returns the channels in which the hits of reference and voice were heard:
// the other way round where the reading says that they are swapped.
func (t Take) Heard() (reference, voice int) {
	if t.Reading.Has(calib.WarnSwapped) {
		return t.Voice, t.Reference
	}
	return t.Reference, t.Voice
}

// TakesOf returns the takes that heard a voice, each as that voice has it; see
// Take.As.
func (s Session) TakesOf(voice string) []Take {
	var takes []Take
	for _, t := range s.Takes {
		if as, ok := t.As(voice); ok {
			takes = append(takes, as)
		}
	}
	return takes
}

func (t Take) validateVoices() error {
	channels := map[int]string{t.Reference: "reference", t.Voice: t.Target.Voice}
	heard := map[string]bool{t.Target.Voice: true}
	for _, o := range t.OtherVoices {
		if o.Voice == "" || heard[o.Voice] {
			return i18n.Errorf("it hears the voice %q twice, or one without a name: each voice has one channel", o.Voice)
		}
		if other, taken := channels[o.Channel]; taken || o.Channel < 1 {
			return i18n.Errorf("the %s is on channel %d, which is below 1 or the %s's", o.Voice, o.Channel, other)
		}
		channels[o.Channel], heard[o.Voice] = o.Voice, true
		if err := (Take{Reading: o.Reading, ByHand: o.ByHand}).validateByHand(); err != nil {
			return i18n.Errorf("the %s: %w", o.Voice, err)
		}
	}
	return nil
}
