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
	InSight       bool // alone on the whole screen
	Do, Lag, Side *sign.Sign
	Whose         *sign.Sign // the voice
	Safe          *sign.Sign // the caution, before hands come near
	Caution       *fyne.Container
	Dial          *dial.Dial
	Acts          *fyne.Container
	twins         map[*kit.Button]*kit.Button // buttons of the window to those in Acts
}

func newFar() *Far {
	bold, middle := fyne.TextStyle{Bold: true}, fyne.TextAlignCenter
	f := &Far{
		Do:    sign.New(140, 14, 3, bold, middle, 300),
		Lag:   sign.New(240, 20, 1, bold, middle, 180),
		Side:  sign.New(80, 11, 1, fyne.TextStyle{}, middle, 180),
		Whose: sign.New(60, 11, 1, fyne.TextStyle{}, middle, 180),
		Safe:  sign.New(26, 11, 2, bold, middle, 300),
		Dial:  dial.New(), Acts: kit.NewFlow(), twins: map[*kit.Button]*kit.Button{},
	}
	f.Caution = container.NewStack(kit.Gap(64), f.Safe)
	f.Root = container.NewPadded(kit.Border(nil, container.NewVBox(f.Caution, f.Acts), nil, nil, container.New(shares{0.5, 0.5}, f.Do, container.NewGridWithColumns(2, container.New(shares{0.6, 0.22, 0.18}, f.Lag, f.Side, f.Whose), f.Dial))))
	return f
}

// shares gives each of the things below each other its share of the height, or more where
// it needs that.
type shares []float32

func (s shares) Layout(o []fyne.CanvasObject, size fyne.Size) {
	y, spare := float32(0), size.Height-s.MinSize(o).Height
	for i, share := range s {
		least := o[i].MinSize().Height
		high := min(max(least, share*size.Height), least+max(spare, 0))
		spare -= high - least
		o[i].Move(fyne.NewPos(0, y))
		o[i].Resize(fyne.NewSize(size.Width, high))
		y += high
	}
}

func (s shares) MinSize(o []fyne.CanvasObject) (least fyne.Size) {
	for i := range s {
		one := o[i].MinSize()
		least = fyne.NewSize(max(least.Width, one.Width), least.Height+one.Height)
	}
	return least
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
	if !f.InSight {
		return
	}
	f.Do.SetAs(p.Do)
	f.Lag.SetAs(p.Lag)
	f.Side.SetAs(p.Side)
	f.Whose.SetAs(p.Whose)
	f.Safe.SetAs(p.Safe)
	kit.Show(f.Caution, !p.Caution.Hidden)
	for of, twin := range f.twins {
		hidden := of.Hidden || of == p.Next && len(p.d.Machine().SetList()) > 0 // it asks for a tempo to be typed
		if twin.Text != of.Text || twin.Importance != of.Importance || twin.Hidden != hidden || twin.Disabled() != of.Disabled() {
			twin.Text, twin.Importance, twin.Hidden = of.Text, of.Importance, hidden
			kit.Enable(twin, !of.Disabled()) // which draws it anew
			twin.Refresh()
		}
	}
	f.Root.Refresh()
}

// dials are those that show where the plate stands.
func (p *Pane) dials() []*dial.Dial { return []*dial.Dial{p.Dial, p.Far.Dial} }
