package table

import (
	"fyne.io/fyne/v2"

	"lagwright/ui/kit"
)

// Cell is an entry of a table. What is typed is kept when it is left.
type Cell struct {
	kit.Field
	held, kept func()
	step       func(rows int)
}

// NewCell returns a cell: held hears that it has the keyboard, kept that what was typed
// counts, step that the keyboard should go so many rows down.
func NewCell(held, kept func(), step func(rows int)) *Cell {
	c := &Cell{held: held, kept: kept, step: step}
	c.Keys = func(k *fyne.KeyEvent) bool { // the arrows go to the row above or below
		by := map[fyne.KeyName]int{fyne.KeyUp: -1, fyne.KeyDown: 1}[k.Name]
		if by != 0 {
			c.step(by)
		}
		return by != 0
	}
	c.Become(c)
	c.OnSubmitted = func(string) { c.kept() }
	return c
}

// FocusGained makes the cell's song the one in hand.
func (c *Cell) FocusGained() {
	c.Field.FocusGained()
	c.held()
}

// FocusLost keeps what was typed.
func (c *Cell) FocusLost() {
	c.Entry.FocusLost()
	c.kept()
}

// Keep keeps what is being typed.
func (c *Cell) Keep() { c.kept() }
