package setup

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
	"lagwright/ui/table"
)

// voiceColumns are those of the machine's voices.
func voiceColumns(u prefs.Unit) table.Columns {
	return table.Columns{
		Titles: []string{i18n.L("Voice"), i18n.F("Drop, %s", u.Name), i18n.F("Ball, %s", u.Name), i18n.L("Material, or kg/m³"), ""},
		Shares: []float32{0.3, 0.15, 0.15, 0.26, 0.14},
		Held:   -1,
	}
}

// voiceRow is a voice of the machine and how it is struck.
type voiceRow struct {
	Root                 *fyne.Container
	was                  string // what the voice was called before; empty for a new one
	Name, Drop, diameter *table.Cell
	Made                 *kit.Proposals
	Gone                 *kit.Button
	unit                 prefs.Unit
	of                   machine.Fall // before anything was typed
}

// newVoiceRow lays the row out, below each other where text is large: held hears that the keyboard is on it, step that it
// should go to a column some rows below, keep that all is said, remove that the
// voice should go.
func newVoiceRow(name string, f machine.Fall, u prefs.Unit, held func(), step func(column, by int), keep, remove func()) *voiceRow {
	r := &voiceRow{was: name, of: f, unit: u, Made: madeOf(f.KGPerM3), Gone: kit.NewButton(i18n.L("Remove"), remove)}
	cell := func(column int, text, empty string) *table.Cell {
		c := table.NewCell(held, func() {}, func(by int) { step(column, by) })
		c.SetText(text)
		c.SetPlaceHolder(empty)
		c.OnSubmitted = func(string) { keep() }
		return c
	}
	r.Name = cell(0, name, i18n.L("name of the voice"))
	r.Drop, r.diameter = cell(1, u.Figure(f.DropMM), i18n.L("not known")), cell(2, u.Figure(f.DiameterMM), i18n.L("not known"))
	r.Made.SetPlaceHolder(i18n.L("not known"))
	r.Made.OnSubmitted = func(string) { keep() }
	columns, cells := voiceColumns(u), []fyne.CanvasObject{r.Name, r.Drop, r.diameter, r.Made}
	if r.Root = container.New(columns, append(cells, r.Gone)...); kit.LargeText() {
		form := kit.NewForm()
		for i, c := range cells {
			form.Append(columns.Titles[i], c)
		}
		r.Root = container.NewVBox(form, r.Gone)
	}
	return r
}

// madeOf is an entry for a material by name, or its density in kg/m³.
func madeOf(kgPerM3 float64) *kit.Proposals {
	var names []string
	text := kit.Digits(kgPerM3)
	for _, m := range calib.Materials {
		names = append(names, materialWords(m.Name))
		if m.KGPerM3 == kgPerM3 {
			text = materialWords(m.Name)
		}
	}
	return kit.NewProposals(text, names)
}

// cells returns what the keyboard goes up and down through.
func (r *voiceRow) cells() [3]*table.Cell { return [3]*table.Cell{r.Name, r.Drop, r.diameter} }

// read returns what was typed. The machine says whether it can be.
func (r *voiceRow) read() (f machine.Fall, err error) {
	f.Voice = strings.TrimSpace(r.Name.Text)
	for _, c := range []struct {
		what string
		text string
		was  float64
		to   *float64
	}{{i18n.L("the drop height"), r.Drop.Text, r.of.DropMM, &f.DropMM}, {i18n.L("the ball"), r.diameter.Text, r.of.DiameterMM, &f.DiameterMM}} {
		if *c.to, err = r.unit.Length(c.text, c.was); err != nil {
			return f, i18n.Errorf("%s of the voice %q: %q is not a number of %s; leave it empty where it is not known", c.what, f.Voice, c.text, r.unit.Name)
		}
	}
	f.KGPerM3, err = density(r.Made.Text)
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
	if kgPerM3, err = kit.ParseNumber(made); err != nil {
		return 0, i18n.Errorf("%q is neither one of %s nor a density in kg/m³", made, strings.Join(names, ", "))
	}
	return kgPerM3, nil
}
