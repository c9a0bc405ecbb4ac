package machine

import (
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Fall is what the builder says of how a voice is struck. What is zero is not known.
type Fall struct {
	Voice      string  `json:"voice"`
	DropMM     float64 `json:"drop_mm"`           // from the gate to the voice
	DiameterMM float64 `json:"diameter_mm"`       // of what falls, a ball
	KGPerM3    float64 `json:"density_kg_per_m3"` // of what falls
}

// Shot returns what falls; its drag counts where both size and density are known.
func (f Fall) Shot() calib.Shot { return calib.Shot{DiameterMM: f.DiameterMM, KGPerM3: f.KGPerM3} }

// Wheel is what carries the pins. What is zero is not known.
type Wheel struct {
	BeatsPerTurn float64 `json:"beats_per_turn"`
	PinRadiusMM  float64 `json:"pin_radius_mm"` // of the circle of pins
}

// Fall returns what is known of a voice's fall.
func (b Build) Fall(voice string) Fall {
	if f := firstOf(b.Falls, func(f Fall) bool { return f.Voice == voice }); f != nil {
		return *f
	}
	return Fall{Voice: voice}
}

// The largest builds that pass for a machine, to catch a metre or a gram typed for
// a millimetre (common practice, no published source).
const (
	MostDropMM       = 5000
	MostDiameterMM   = 200
	MostKGPerM3      = 25000
	MostBeatsPerTurn = 10000
	MostPinRadiusMM  = 5000
)

func (b Build) validateBuild() error {
	for i, f := range b.Falls {
		if !slices.Contains(b.Voices, f.Voice) {
			return i18n.Errorf("a fall is given for the voice %q, which the machine does not have: choose one of %s", f.Voice, strings.Join(b.Voices, ", "))
		}
		if slices.ContainsFunc(b.Falls[:i], func(g Fall) bool { return g.Voice == f.Voice }) {
			return i18n.Errorf("the fall of the voice %q is given twice: once is enough", f.Voice)
		}
		if err := f.validate(); err != nil {
			return i18n.Errorf("voice %q: %w", f.Voice, err)
		}
	}
	if v := b.Wheel.BeatsPerTurn; !upTo(v, MostBeatsPerTurn) {
		return i18n.Errorf("a turn of the wheel has %g beats: it must be 0 to %g (0 = not known)", v, float64(MostBeatsPerTurn))
	}
	if v := b.Wheel.PinRadiusMM; !upTo(v, MostPinRadiusMM) {
		return i18n.Errorf("the circle of pins has a radius of %g mm: it must be 0 to %g (0 = not known)", v, float64(MostPinRadiusMM))
	}
	return nil
}

func (f Fall) validate() error {
	switch {
	case !upTo(f.DropMM, MostDropMM):
		return i18n.Errorf("its drop is %g mm: it must be 0 to %g (0 = not known)", f.DropMM, float64(MostDropMM))
	case !upTo(f.DiameterMM, MostDiameterMM):
		return i18n.Errorf("what falls is %g mm across: it must be 0 to %g (0 = not known)", f.DiameterMM, float64(MostDiameterMM))
	case !upTo(f.KGPerM3, MostKGPerM3):
		return i18n.Errorf("the density of what falls is %g kg/m³: it must be 0 to %g (0 = not known)", f.KGPerM3, float64(MostKGPerM3))
	}
	return nil
}

// upTo reports whether a number is neither below zero nor above most.
func upTo(v, most float64) bool { return v >= 0 && v <= most }

// Rebuild makes the machine what m says of it, with another tolerance in ms; was
// names what each of its voices was called so far, empty for a new one. Takes and
// songs follow a voice that gets another name. A voice that has takes, or that a
// song uses, cannot go. Readings are the caller's to bring up to it.
func (m *Machine) Rebuild(b Build, toleranceMS float64, was []string) error {
	if len(was) != len(b.Voices) {
		return i18n.Errorf("%d voices are given with %d earlier names: give one each, empty for a new voice", len(b.Voices), len(was))
	}
	now := map[string]string{}
	for i, name := range was {
		if name != "" {
			now[name] = b.Voices[i]
		}
	}
	for _, name := range m.Build.Voices {
		if _, stays := now[name]; !stays {
			if err := m.mayGo(name); err != nil {
				return err
			}
		}
	}
	b.PracticeSeed, b.Log, b.Unknown = m.Build.PracticeSeed, m.Build.Log, m.Build.Unknown
	m.Build, m.ToleranceMS = b, toleranceMS
	m.rename(now)
	return m.validate()
}

// mayGo returns why a voice cannot be taken off the machine, if it cannot.
func (m *Machine) mayGo(voice string) error {
	n := 0
	for _, t := range m.Takes {
		if slices.Contains(t.Voices(), voice) {
			n++
		}
	}
	if n > 0 {
		return i18n.Errorf("the %s stays: %d of the takes are of it, and they would lose their voice", voice, n)
	}
	for _, song := range m.Songs {
		if slices.Contains(song.Voices, voice) {
			return i18n.Errorf("the %s stays while the song %s uses it: choose other voices for that song first", voice, song.Name)
		}
	}
	return nil
}

// rename gives voices their new names wherever the machine names them.
func (m *Machine) rename(now map[string]string) {
	on := func(t *Target) {
		if name, ok := now[t.Voice]; ok {
			t.Voice = name
		}
	}
	if _, stays := now[m.Target.Voice]; stays {
		on(&m.Target)
	} else if len(m.Build.Voices) > 0 {
		m.Target.Voice = m.Build.Voices[0]
	}
	for i := range m.Takes {
		on(&m.Takes[i].Target)
		for j := range m.Takes[i].Heard {
			h := &m.Takes[i].Heard[j]
			h.Voice = now[h.Voice] // it stays, or mayGo would have refused
		}
		if moved := m.Takes[i].Moved; moved != nil {
			on(&moved.For)
		}
	}
	m.Build.Log = slices.DeleteFunc(m.Build.Log, func(w LogEntry) bool { // of voices that are gone all
		return len(w.Voices) > 0 && !slices.ContainsFunc(w.Voices, func(v string) bool { return now[v] != "" })
	})
	for i := range m.Build.Log {
		w := &m.Build.Log[i]
		w.Voices = slices.DeleteFunc(w.Voices, func(v string) bool { return now[v] == "" })
		for j, v := range w.Voices {
			w.Voices[j] = now[v]
		}
	}
	for i := range m.Songs {
		for j, v := range m.Songs[i].Voices {
			m.Songs[i].Voices[j] = now[v]
		}
	}
	if mic := m.Microphones; mic != nil {
		mic.rename(now)
	}
}

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
	if on := firstOf(m.Voices, func(on Microphone) bool { return on.Voice == voice }); on != nil {
		return *on, true
	}
	return Microphone{}, false
}

// NoRole says in the language in use that a channel hears nothing of the machine.
func NoRole() string { return i18n.L("nothing") }

// ReferenceRole says likewise that it hears the reference.
func ReferenceRole() string { return i18n.L("reference") }

// Role returns what a channel hears: a voice, the reference or nothing.
func (m Microphones) Role(channel int) string {
	if channel == m.Reference {
		return ReferenceRole()
	}
	if i := slices.IndexFunc(m.Voices, func(on Microphone) bool { return on.Channel == channel }); i >= 0 {
		return m.Voices[i].Voice
	}
	return NoRole()
}

// OnChannels returns what each channel hears, from channel 1 on, by its role. Where one is
// given twice, or the reference is missing, the error says so.
func OnChannels(roles []string) (m Microphones, err error) {
	nothing, reference := NoRole(), ReferenceRole()
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
