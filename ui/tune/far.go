package tune

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/ui/dial"
	"lagwright/ui/kit"
	"lagwright/ui/sign"
)

// Far says what to do now as large as the window allows, beside the lag and the dial: for
// a small display on the machine, or from across the workshop.
type Far struct {
	Root          *fyne.Container
	Do, Lag, Side *sign.Sign
	Safe          *sign.Sign // the caution, before hands come near
	Caution       *fyne.Container
	Dial          *dial.Dial
}

func newFar() *Far {
	bold, middle := fyne.TextStyle{Bold: true}, fyne.TextAlignCenter
	f := &Far{
		Do:   sign.New(140, 14, 3, bold, middle, 300),
		Lag:  sign.New(240, 20, 1, bold, middle, 180),
		Side: sign.New(48, 11, 1, fyne.TextStyle{}, middle, 180),
		Safe: sign.New(26, 11, 2, bold, middle, 300),
		Dial: dial.New(),
	}
	f.Caution = container.NewStack(kit.Gap(64), f.Safe)
	f.Root = container.NewPadded(kit.Border(nil, f.Caution, nil, nil, container.NewGridWithRows(2,
		f.Do, container.NewGridWithColumns(2, container.NewBorder(nil, container.NewStack(kit.Gap(60), f.Side), nil, nil, f.Lag), f.Dial))))
	return f
}

// show brings it up to what the pane says.
func (f *Far) show(p *Pane) {
	f.Do.SetAs(p.Do)
	f.Lag.SetAs(p.Lag)
	f.Side.SetAs(p.Side)
	f.Safe.SetAs(p.Safe)
	kit.Show(f.Caution, !p.Caution.Hidden)
	f.Root.Refresh()
}

// dials are those that show where the plate stands.
func (p *Pane) dials() []*dial.Dial { return []*dial.Dial{p.Dial, p.Far.Dial} }
