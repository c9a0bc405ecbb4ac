package takes

import (
	"strconv"

	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// AskAir asks how warm and damp it was in the take in sight.
func (p *Pane) AskAir() {
	t, ok := p.InSight()
	if !ok || !p.d.MayChange() {
		return
	}
	p.d.Commit()
	warm, damp := kit.NewNumber("", -60, 60, true), kit.NewNumber("", 0, 100, true)
	if air := t.Take.Conditions; air != nil {
		if air.TemperatureC != nil {
			warm.SetText(strconv.FormatFloat(*air.TemperatureC, 'f', -1, 64))
		}
		damp.SetText(kit.Digits(air.HumidityPercent))
	}
	items := []*widget.FormItem{
		kit.Item(i18n.L("Temperature (°C)"), i18n.L("Empty: not known."), warm),
		kit.Item(i18n.L("Humidity (%)"), i18n.L("Measured beside the machine."), damp),
	}
	p.d.Form(i18n.F("Temperature and humidity in take %d", t.Take.ID), i18n.L("Keep"), items, func() {
		var air *machine.Conditions
		if warm.Text != "" || damp.Text != "" {
			air = &machine.Conditions{HumidityPercent: kit.ValueOf(damp)}
		}
		if warm.Text != "" {
			air.TemperatureC = new(kit.ValueOf(warm))
		}
		p.d.Do(desk.Undoable(i18n.F("Temperature and humidity of take %d are kept.", t.Take.ID)), p.d.Bench.NoteTake(t.Take.ID, t.Take.Notes, air))
	})
	p.d.Focus(warm)
}
