package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// cell is an entry of a table. What is typed is kept when it is left.
type cell struct {
	widget.Entry
	was  string // what it shows while nothing is typed
	held func()
	kept func()
	step func(rows int)
}

func newCell(held, kept func(), step func(rows int)) *cell {
	c := &cell{held: held, kept: kept, step: step}
	c.ExtendBaseWidget(c)
	c.OnSubmitted = func(string) { c.done() }
	return c
}

// show shows a value, unless it is shown already and something is being typed.
func (c *cell) show(value string) {
	if value != c.was {
		c.was = value
		c.SetText(value)
	}
}

func (c *cell) changed() bool { return c.Text != c.was }

// forget lets the next show put its value over what was typed.
func (c *cell) forget() {
	if c.changed() {
		c.was = c.Text
	}
}

func (c *cell) done() { c.kept() }

// FocusGained makes the cell's song the one in hand.
func (c *cell) FocusGained() {
	c.Entry.FocusGained()
	c.held()
	reveal(c)
}

// FocusLost keeps what was typed.
func (c *cell) FocusLost() {
	c.Entry.FocusLost()
	c.done()
}

// TypedKey goes to the row above or below with the arrow keys.
func (c *cell) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyUp:
		c.step(-1)
	case fyne.KeyDown:
		c.step(1)
	default:
		if !escaped(c, k) {
			c.Entry.TypedKey(k)
		}
	}
}

// newTyped is a cell with something in it, which nobody hears of.
func newTyped(text string) *cell {
	c := newCell(func() {}, func() {}, func(int) {})
	c.SetText(text)
	return c
}
