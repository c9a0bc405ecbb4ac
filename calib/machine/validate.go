package machine

import (
	"math"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"lagwright/calib/i18n"
)

// Tempos the machine can be asked for, in BPM: slower than one beat in three
// seconds or faster than a roll nobody cranks.
const (
	MinTempoBPM = 20
	MaxTempoBPM = 400
)

// A machine can have so many voices, and its reference so many hits in a beat: more than
// any has, and few enough to be reckoned with.
const (
	mostVoices  = 500
	mostPerBeat = 64
)

// validate returns a sentence about the first thing in m that cannot be right.
func (m Machine) validate() error {
	if !(m.ToleranceMS > 0) {
		return i18n.Errorf("the tolerance is %g ms: it must be more than zero", m.ToleranceMS)
	}
	if err := m.Build.validate(); err != nil {
		return err
	}
	if err := m.Target.validate(); err != nil {
		return i18n.Errorf("target: %w", err)
	}
	if err := m.Build.CheckVoice(m.Target.Voice); err != nil {
		return i18n.Errorf("target: %w", err)
	}
	if err := m.validateSongs(); err != nil {
		return err
	}
	if m.Microphones != nil {
		if err := m.Microphones.validate(); err != nil {
			return err
		}
	}
	ids := map[int]bool{}
	for _, t := range m.Takes {
		if ids[t.ID] {
			return i18n.Errorf("there are two takes with id %d: every take needs its own", t.ID)
		}
		ids[t.ID] = true
		if err := t.validate(); err != nil {
			return i18n.Errorf("take %d: %w", t.ID, err)
		}
	}
	return nil
}

func (b Build) validate() error {
	if len(b.Voices) == 0 {
		return i18n.Errorf("the machine has no voices: name at least one")
	}
	if len(b.Voices) > mostVoices {
		return i18n.Errorf("the machine has %d voices: it can have %d", len(b.Voices), mostVoices)
	}
	for i, v := range b.Voices {
		if strings.TrimSpace(v) == "" {
			return i18n.Errorf("voice %d of the machine has no name", i+1)
		}
		if slices.Contains(b.Voices[:i], v) {
			return i18n.Errorf("two voices of the machine are called %q: give each its own name", v)
		}
	}
	if p := b.Plate; p.NotchesPerTurn < 0 || !(p.TurnsPerBeat >= 0) {
		return i18n.Errorf("the plate has %d notches and %g turns a beat: neither can be below zero (0 = not known)", p.NotchesPerTurn, p.TurnsPerBeat)
	}
	if b.PerBeat < 0 || b.PerBeat > mostPerBeat {
		return i18n.Errorf("the reference strikes %d times a beat: it must be 0 to %d (0 = once)", b.PerBeat, mostPerBeat)
	}
	if err := b.validateLog(); err != nil {
		return err
	}
	return b.validateBuild()
}

// CheckVoice returns a sentence where the machine has no voice of that name.
func (b Build) CheckVoice(voice string) error {
	if !slices.Contains(b.Voices, voice) {
		return i18n.Errorf("the machine has no voice %q: choose one of %s", voice, strings.Join(b.Voices, ", "))
	}
	return nil
}

func (t Target) validate() error {
	if !(t.TempoBPM >= MinTempoBPM && t.TempoBPM <= MaxTempoBPM) {
		return i18n.Errorf("the tempo is %g BPM: it must be %d to %d", t.TempoBPM, MinTempoBPM, MaxTempoBPM)
	}
	return nil
}

func (t Take) validate() error {
	if t.ID < 1 {
		return i18n.Errorf("take ids start at 1")
	}
	if !inside(t.File) {
		return i18n.Errorf("its file %q must be a plain name inside the machine folder", t.File)
	}
	if t.Reference < 1 {
		return i18n.Errorf("its reference is on channel %d: channels count from 1", t.Reference)
	}
	if err := t.Target.validate(); err != nil {
		return err
	}
	if a := t.Conditions; a != nil && !upTo(a.HumidityPercent, 100) {
		return i18n.Errorf("its air has %g %% of humidity: give 0 to 100 %% (0 = not known)", a.HumidityPercent)
	}
	if a := t.Conditions; a != nil && a.TemperatureC != nil && !(math.Abs(*a.TemperatureC) <= 60) {
		return i18n.Errorf("its air has %g °C: give -60 to 60 °C", *a.TemperatureC)
	}
	return t.validateHeard()
}

// inside reports whether a slash-separated name stays in its folder on every
// system the folder may be carried to: Windows reads \ and : its own way.
func inside(name string) bool {
	return filepath.IsLocal(name) && path.Clean(name) == name && name != "." && !strings.ContainsAny(name, "\\:\x00")
}
