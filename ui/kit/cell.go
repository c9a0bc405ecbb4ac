package kit

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// Cell is an entry of a table. What is typed is kept when it is left.
type Cell struct {
	widget.Entry
	was  string // what it shows while nothing is typed
	Held func()
	kept func()
	Step func(rows int)
}

// NewCell returns a cell: held hears that it has the keyboard, kept that what was typed
// counts, step that the keyboard should go so many rows down.
func NewCell(held, kept func(), step func(rows int)) *Cell {
	c := &Cell{Held: held, kept: kept, Step: step}
	c.ExtendBaseWidget(c)
	c.OnSubmitted = func(string) { c.Done() }
	return c
}

// SetText shows another text.
func (c *Cell) SetText(text string) { setText(&c.Entry, text) }

// Put shows a value, unless it is shown already and something is being typed.
func (c *Cell) Put(value string) {
	if value != c.was {
		c.was = value
		c.SetText(value)
	}
}

// Changed reports whether something else was typed.
func (c *Cell) Changed() bool { return c.Text != c.was }

// Forget lets the next show put its value over what was typed.
func (c *Cell) Forget() {
	if c.Changed() {
		c.was = c.Text
	}
}

// Done keeps what was typed.
func (c *Cell) Done() { c.kept() }

// FocusGained makes the cell's song the one in hand.
func (c *Cell) FocusGained() {
	c.Entry.FocusGained()
	if !c.Changed() {
		c.TypedShortcut(&fyne.ShortcutSelectAll{}) // to be typed over
	}
	c.Held()
	Reveal(c)
}

// FocusLost keeps what was typed.
func (c *Cell) FocusLost() {
	c.Entry.FocusLost()
	c.Done()
}

// TypedKey goes to the row above or below with the arrow keys.
func (c *Cell) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyUp:
		c.Step(-1)
	case fyne.KeyDown:
		c.Step(1)
	default:
		if !escaped(c, k) {
			c.Entry.TypedKey(k)
		}
	}
}

// NewTyped is a cell with something in it, which nobody hears of.
func NewTyped(text string) *Cell {
	c := NewCell(func() {}, func() {}, func(int) {})
	c.SetText(text)
	return c
}
