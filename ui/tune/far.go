package tune

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/ui/dial"
	"lagwright/ui/kit"
	"lagwright/ui/sign"
)

// Far says what to do now as large as the window allows, beside the lag and the dial, with
// what can be pressed: for a small display on the machine, or from across the workshop.
type Far struct {
	Root          *fyne.Container
	Do, Lag, Side *sign.Sign
	Safe          *sign.Sign // the caution, before hands come near
	Caution       *fyne.Container
	Dial          *dial.Dial
	Acts          *fyne.Container
	twins         map[*kit.Button]*kit.Button // buttons of the window to those in Acts
}

func newFar() *Far {
	bold, middle := fyne.TextStyle{Bold: true}, fyne.TextAlignCenter
	f := &Far{
		Do:   sign.New(140, 14, 3, bold, middle, 300),
		Lag:  sign.New(240, 20, 1, bold, middle, 180),
		Side: sign.New(48, 11, 1, fyne.TextStyle{}, middle, 180),
		Safe: sign.New(26, 11, 2, bold, middle, 300),
		Dial: dial.New(), Acts: kit.NewFlow(), twins: map[*kit.Button]*kit.Button{},
	}
	f.Caution = container.NewStack(kit.Gap(64), f.Safe)
	f.Root = container.NewPadded(kit.Border(nil, container.NewVBox(f.Caution, f.Acts), nil, nil, container.New(threeFifths{}, f.Do, container.NewGridWithColumns(2, container.NewBorder(nil, container.NewStack(kit.Gap(60), f.Side), nil, nil, f.Lag), f.Dial))))
	return f
}

// threeFifths gives the upper of two things three fifths of the height, or what the lower
// one leaves of it: sentences are long.
type threeFifths struct{}

func (threeFifths) Layout(o []fyne.CanvasObject, size fyne.Size) {
	upper := min(size.Height*0.6, size.Height-o[1].MinSize().Height)
	o[0].Move(fyne.Position{})
	o[0].Resize(fyne.NewSize(size.Width, upper))
	o[1].Move(fyne.NewPos(0, upper))
	o[1].Resize(fyne.NewSize(size.Width, size.Height-upper))
}

func (threeFifths) MinSize(o []fyne.CanvasObject) fyne.Size {
	upper, lower := o[0].MinSize(), o[1].MinSize()
	return fyne.NewSize(max(upper.Width, lower.Width), upper.Height+lower.Height)
}

// Offer has buttons of the window be here too, while they are shown there.
func (f *Far) Offer(buttons ...*kit.Button) {
	for _, b := range buttons {
		f.twins[b] = kit.NewButtonWithIcon("", b.Icon, b.OnTapped)
		f.Acts.Add(f.twins[b])
	}
}

// show brings it up to what the pane says.
func (f *Far) show(p *Pane) {
	f.Do.SetAs(p.Do)
	f.Lag.SetAs(p.Lag)
	f.Side.SetAs(p.Side)
	f.Safe.SetAs(p.Safe)
	kit.Show(f.Caution, !p.Caution.Hidden)
	for of, twin := range f.twins {
		if twin.Text != of.Text || twin.Importance != of.Importance || twin.Hidden != of.Hidden || twin.Disabled() != of.Disabled() {
			twin.Text, twin.Importance, twin.Hidden = of.Text, of.Importance, of.Hidden
			kit.Enable(twin, !of.Disabled()) // which draws it anew
			twin.Refresh()
		}
	}
	f.Root.Refresh()
}

// dials are those that show where the plate stands.
func (p *Pane) dials() []*dial.Dial { return []*dial.Dial{p.Dial, p.Far.Dial} }
