package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// voiceColumns are those of the machine's voices.
func voiceColumns(u unit) tableColumns {
	return tableColumns{
		titles: []string{i18n.L("Voice"), i18n.F("Drop, %s", u.name), i18n.F("Ball, %s", u.name), i18n.L("Made of, or kg/m³"), ""},
		shares: []float32{0.32, 0.15, 0.15, 0.26, 0.12},
		held:   -1,
	}
}

// voiceRow is a voice of the machine and how it is struck.
type voiceRow struct {
	root                 *fyne.Container
	was                  string // what the voice was called before; empty for a new one
	name, drop, diameter *cell
	made                 *proposals
	gone                 *button
	unit                 unit
	of                   session.Fall // before anything was typed
}

func newVoiceRow(name string, f session.Fall, u unit) *voiceRow {
	return &voiceRow{
		was: name, of: f, unit: u,
		name: newTyped(name), drop: newTyped(u.figure(f.DropMM)), diameter: newTyped(u.figure(f.DiameterMM)), made: madeOf(f.KGPerM3),
	}
}

// madeOf is an entry for a material by name, or its density in kg/m³.
func madeOf(kgPerM3 float64) *proposals {
	var names []string
	text := figure(kgPerM3)
	for _, m := range calib.Materials {
		names = append(names, materialWords(m.Name))
		if m.KGPerM3 == kgPerM3 {
			text = materialWords(m.Name)
		}
	}
	return newProposals(text, names)
}

// place lays the row out: held hears that the keyboard is on it, step that it
// should go to a column some rows below, keep that all is said, remove that the
// voice should go.
func (r *voiceRow) place(held func(), step func(column, by int), keep, remove func()) {
	r.gone = newButton(i18n.L("Remove"), remove)
	for column, c := range []*cell{r.name, r.drop, r.diameter} {
		c.held, c.step = held, func(by int) { step(column, by) }
		c.OnSubmitted = func(string) { keep() }
		if column > 0 {
			c.SetPlaceHolder(i18n.L("not known"))
		}
	}
	r.name.SetPlaceHolder(i18n.L("name of the voice"))
	r.made.SetPlaceHolder(i18n.L("not known"))
	r.made.OnSubmitted = func(string) { keep() }
	r.root = container.New(voiceColumns(r.unit), r.name, r.drop, r.diameter, r.made, r.gone)
}

// cells returns what the keyboard goes up and down through.
func (r *voiceRow) cells() [3]*cell { return [3]*cell{r.name, r.drop, r.diameter} }

// read returns what was typed. The session says whether it can be.
func (r *voiceRow) read() (f session.Fall, err error) {
	f.Voice = strings.TrimSpace(r.name.Text)
	for _, c := range []struct {
		what string
		text string
		was  float64
		to   *float64
	}{{i18n.L("the drop"), r.drop.Text, r.of.DropMM, &f.DropMM}, {i18n.L("the ball"), r.diameter.Text, r.of.DiameterMM, &f.DiameterMM}} {
		if *c.to, err = r.unit.length(c.text, c.was); err != nil {
			return f, i18n.Errorf("%s of the voice %q: %q is no number of %s; leave it empty where it is not known", c.what, f.Voice, c.text, r.unit.name)
		}
	}
	f.KGPerM3, err = density(r.made.Text)
	if err != nil {
		return f, i18n.Errorf("the voice %q: %w", f.Voice, err)
	}
	return f, nil
}

// materialWords is what a material of calib's is called in the language in use.
func materialWords(name string) string {
	switch name {
	case "steel":
		return i18n.L("steel")
	case "lead":
		return i18n.L("lead")
	case "brass":
		return i18n.L("brass")
	case "glass":
		return i18n.L("glass")
	case "wood":
		return i18n.L("wood")
	case "plastic":
		return i18n.L("plastic")
	}
	return name
}

// density returns what a material weighs in kg/m³, by its name or as a number; 0
// for nothing.
func density(made string) (kgPerM3 float64, err error) {
	made = strings.ToLower(strings.TrimSpace(made))
	var names []string
	for _, m := range calib.Materials {
		name := materialWords(m.Name)
		if made == m.Name || made == strings.ToLower(name) {
			return m.KGPerM3, nil
		}
		names = append(names, name)
	}
	if made == "" {
		return 0, nil
	}
	if kgPerM3, err = parseNumber(made); err != nil {
		return 0, i18n.Errorf("%q is neither one of %s nor a density in kg/m³", made, strings.Join(names, ", "))
	}
	return kgPerM3, nil
}
