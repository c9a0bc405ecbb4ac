package shelf

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/kit"
)

// beginForm asks for the machine of a new session.
type beginForm struct {
	Like                    *kit.Choice // an earlier session; empty = none
	Name, Voices            *kit.Field
	notches, turns, perBeat *kit.Field
	Tempo, tolerance        *kit.Field
	machine                 session.Machine // of the earlier session: what the form does not ask
	microphones             *session.Microphones
}

// AskSession asks for the machine of a new session, and then for the microphones.
func (p *Pane) AskSession() {
	if !p.d.Free() {
		return
	}
	f := newBeginForm(p.d.Prefs.Tolerance())
	p.Begin = f
	earlier := session.Recents()
	earlier = slices.DeleteFunc(earlier, func(r session.Recent) bool { return r.Missing || p.Shelf.practice(r) })
	items := f.items()
	if len(earlier) > 0 {
		f.Like = kit.NewChoice(p.Shelf.labels(earlier), "", nil)
		f.Like.PlaceHolder = i18n.L("none: a new one")
		f.Like.OnChanged = func(string) { p.d.Tell(f.fill(earlier[f.Like.SelectedIndex()].Dir)) }
		items = slices.Insert(items, 0, kit.Item(i18n.L("Machine of an earlier session"), i18n.L("on another day open that session itself: it keeps what its takes have taught"), f.Like))
	}
	p.d.Form(i18n.L("New session"), i18n.L("Begin"), items, func() {
		before := p.d.Bench
		p.Create(f.session(time.Now()))
		if p.d.Bench != before {
			p.offerMicrophones()
		}
	})
	p.d.Focus(f.Name)
}

// offerMicrophones asks for the microphones of a session that was just begun, where
// the computer has something to record from.
func (p *Pane) offerMicrophones() {
	if inputs, err := p.d.Sound.Inputs(); err == nil && len(inputs) > 0 {
		p.acts.Microphones()
	}
}

func newBeginForm(toleranceMS float64) *beginForm {
	f := &beginForm{
		Name: kit.NewName(""), Voices: kit.NewName(""), notches: kit.NewCount("", 1, 9999, true), turns: kit.NewNumber("", 0.0001, 1000, true),
		perBeat: kit.NewCount("1", 1, 24, false), Tempo: kit.NewNumber("", session.MinTempoBPM, session.MaxTempoBPM, false),
		tolerance: kit.NewNumber(kit.Digits(toleranceMS), 0.5, 100, false),
	}
	f.Name.SetPlaceHolder(i18n.L("what you call it"))
	f.Voices.SetPlaceHolder(i18n.L("drum, block, bar"))
	f.notches.SetPlaceHolder(i18n.L("in a full turn; leave empty if unknown"))
	f.turns.SetPlaceHolder(i18n.L("such as 0.6 or 1/8"))
	f.Voices.Validator = validVoices
	inRange := f.turns.Validator
	f.turns.Validator = func(s string) error {
		if strings.TrimSpace(s) == "" && strings.TrimSpace(f.notches.Text) != "" {
			return i18n.Errorf("needed where the notches are given")
		}
		return inRange(s)
	}
	return f
}

// validVoices accepts a list of names, each once.
func validVoices(s string) error {
	all := names(s)
	slices.Sort(all)
	switch {
	case len(all) == 0:
		return i18n.Errorf("at least one name")
	case len(slices.Compact(slices.Clone(all))) < len(all):
		return i18n.Errorf("each name once")
	}
	return nil
}

func (f *beginForm) items() []*widget.FormItem {
	return []*widget.FormItem{
		kit.Item(i18n.L("Machine"), "", f.Name),
		kit.Item(i18n.L("Voices"), i18n.L("separated by commas; the first one is tuned first"), f.Voices),
		kit.Item(i18n.L("Notches of the index plate"), "", f.notches),
		kit.Item(i18n.L("Turns of the plate in a beat"), i18n.L("leave empty if unknown: the first move teaches the step"), f.turns),
		kit.Item(i18n.L("Reference hits per beat"), i18n.L("how often the reference strikes in one beat"), f.perBeat),
		kit.Item(i18n.L("Tempo"), i18n.L("of the first song, in BPM"), f.Tempo),
		kit.Item(i18n.L("Tolerance"), i18n.L("in ms: a lag within it counts as together"), f.tolerance),
	}
}

// fill takes over what an earlier session knows of its machine. The tempo stays to be
// asked.
func (f *beginForm) fill(dir string) error {
	s, err := session.Load(dir)
	if err != nil {
		return err
	}
	f.machine, f.microphones = s.Machine, s.Microphones
	f.Name.SetText(s.Machine.Name)
	f.Voices.SetText(strings.Join(s.Machine.Voices, ", "))
	f.notches.SetText(kit.Digits(float64(s.Machine.Plate.NotchesPerTurn)))
	f.turns.SetText(kit.Digits(s.Machine.Plate.TurnsPerBeat))
	f.perBeat.SetText(fmt.Sprint(max(s.Machine.PerBeat, 1)))
	f.tolerance.SetText(kit.Digits(s.ToleranceMS))
	return nil
}

// session returns the session as the form has it. Of an earlier one's build and
// microphones it has what belongs to voices that are still named.
func (f *beginForm) session(now time.Time) session.Session {
	s := NewSession(f.Name.Text, f.Voices.Text, kit.ValueOf(f.Tempo), kit.ValueOf(f.tolerance), now)
	gone := func(voice string) bool { return !slices.Contains(s.Machine.Voices, voice) }
	s.Machine.Plate = calib.Plate{NotchesPerTurn: int(kit.ValueOf(f.notches)), TurnsPerBeat: kit.ValueOf(f.turns)}
	s.Machine.PerBeat = int(kit.ValueOf(f.perBeat))
	s.Machine.Wheel, s.Machine.Unidirectional, s.Machine.Steady = f.machine.Wheel, f.machine.Unidirectional, f.machine.Steady
	s.Machine.Falls = slices.DeleteFunc(slices.Clone(f.machine.Falls), func(one session.Fall) bool { return gone(one.Voice) })
	if f.microphones != nil {
		m := *f.microphones
		m.Voices = slices.DeleteFunc(slices.Clone(m.Voices), func(one session.Microphone) bool { return gone(one.Voice) })
		if len(m.Voices) > 0 {
			s.Microphones = &m
		}
	}
	return s
}

// NewSession makes a session on a machine of which nothing else is known yet.
func NewSession(machine, voices string, tempoBPM, toleranceMS float64, now time.Time) session.Session {
	machine = strings.TrimSpace(machine)
	all, first := names(voices), ""
	if len(all) > 0 {
		first = all[0]
	}
	return session.Session{
		Name:        machine + " " + now.Format(time.DateOnly),
		Created:     now,
		Machine:     session.Machine{Name: machine, Voices: all},
		ToleranceMS: toleranceMS,
		Target:      session.Target{TempoBPM: tempoBPM, Voice: first},
	}
}

// names returns the names in a list with commas.
func names(list string) (all []string) {
	for _, v := range strings.FieldsFunc(list, func(r rune) bool { return strings.ContainsRune(",，、", r) }) {
		if v = strings.TrimSpace(v); v != "" {
			all = append(all, v)
		}
	}
	return all
}
