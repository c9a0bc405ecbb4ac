package ui

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/phrase"
)

// dismisses reports whether words on a button say that it takes a dialog away and
// changes nothing. The toolkit says No and Cancel too, perhaps in another language.
func dismisses(words string) bool {
	return slices.Contains([]string{phrase.L("Cancel"), phrase.L("Close"), lang.L("Cancel"), lang.L("No")}, words)
}

// dismissTop takes the uppermost dialog of a canvas away as its own button does,
// and reports whether there was one. The toolkit's dialogs know no key for it.
func dismissTop(c fyne.Canvas) bool {
	if c == nil || c.Overlays().Top() == nil {
		return false
	}
	if over, ok := c.Overlays().Top().(fyne.Widget); ok {
		// A pop-up lies in a widget of the toolkit's own that shows nothing else.
		for _, o := range over.CreateRenderer().Objects() {
			if b := dismissal(o); b != nil {
				b.OnTapped()
				break
			}
		}
	}
	return true
}

// dismissal finds the button that takes a dialog away.
func dismissal(o fyne.CanvasObject) *widget.Button {
	switch o := o.(type) {
	case *widget.PopUp:
		return dismissal(o.Content)
	case *widget.Button:
		if dismisses(o.Text) && o.OnTapped != nil && o.Visible() {
			return o
		}
	case *button:
		return dismissal(&o.Button)
	case *fyne.Container:
		for i := len(o.Objects) - 1; i >= 0; i-- { // the buttons stand last
			if b := dismissal(o.Objects[i]); b != nil {
				return b
			}
		}
	}
	return nil
}

// closeTop closes what lies uppermost: a dialog, or the session.
func (w *Window) closeTop() {
	if !dismissTop(w.win.Canvas()) {
		w.closeSession()
	}
}

// The parts of dialogs that may have the keyboard: the escape key takes the dialog
// away, whichever of them has it. Keys without a modifier reach what has the
// keyboard and nobody else.
type (
	field  struct{ widget.Entry }
	button struct {
		widget.Button
		name string // of one that shows a picture only
	}
	choice struct{ widget.Select }
	tick   struct{ widget.Check }
)

// escaped reports whether a key was the escape key and took a dialog away.
func escaped(o fyne.CanvasObject, k *fyne.KeyEvent) bool {
	return k.Name == fyne.KeyEscape && dismissTop(fyne.CurrentApp().Driver().CanvasForObject(o))
}

func newField(text string) *field {
	f := &field{}
	f.Text = text
	f.ExtendBaseWidget(f)
	return f
}

// TypedKey hears the escape key and leaves the others to the entry.
func (f *field) TypedKey(k *fyne.KeyEvent) {
	if !escaped(f, k) {
		f.Entry.TypedKey(k)
	}
}

func newButton(label string, do func()) *button {
	b := &button{}
	b.Text, b.OnTapped = label, do
	b.ExtendBaseWidget(b)
	return b
}

func newIconButton(name string, icon fyne.Resource, do func()) *button {
	b := newButton("", do)
	b.Icon, b.Importance, b.name = icon, widget.LowImportance, name
	return b
}

// AccessibilityLabel is what the button says, or its name where that is a picture.
func (b *button) AccessibilityLabel() string { return cmp.Or(b.name, b.Text) }

// TypedKey hears the escape key and leaves the others to the button.
func (b *button) TypedKey(k *fyne.KeyEvent) {
	if !escaped(b, k) {
		b.Button.TypedKey(k)
	}
}

func newChoice(options []string, changed func(string)) *choice {
	c := &choice{}
	c.Options, c.OnChanged, c.PlaceHolder = options, changed, phrase.L("Choose one")
	c.ExtendBaseWidget(c)
	return c
}

// TypedKey hears the escape key and leaves the others to the choice.
func (c *choice) TypedKey(k *fyne.KeyEvent) {
	if !escaped(c, k) {
		c.Select.TypedKey(k)
	}
}

func newTick(label string, changed func(bool)) *tick {
	t := &tick{}
	t.Text, t.OnChanged = label, changed
	t.ExtendBaseWidget(t)
	return t
}

// TypedKey hears the escape key and leaves the others to the tick.
func (t *tick) TypedKey(k *fyne.KeyEvent) {
	if !escaped(t, k) {
		t.Check.TypedKey(k)
	}
}
