package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"path/filepath"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting"
)

// figureOf draws a figure of a machine for a paper.
type figureOf plotting.Draw

// verb draws a machine's figure into a file, by default into its folder, and
// prints its name.
func (drawn figureOf) verb(_ context.Context, l line, out io.Writer) error {
	v, paper, err := viewOf(l)
	if err != nil {
		return err
	}
	path := cmp.Or(flagValue[string](l, "o"), filepath.Join(l.operands[0], l.Name()+".png"))
	if err := save(plotting.Draw(drawn), v, paper, path); err != nil {
		return err
	}
	fmt.Fprintln(out, path)
	return nil
}

// viewOf is what the machine on a command line means, and the paper to draw it on.
func viewOf(l line) (*loop.View, plotting.Paper, error) {
	paper, err := plotting.A5, error(nil)
	if l.Lookup("paper") != nil {
		if paper, err = plotting.PaperNamed(flagValue[string](l, "paper")); err != nil {
			return nil, paper, usageError{err}
		}
	}
	m, err := benchOf(l)
	if err != nil {
		return nil, paper, err
	}
	v := loop.Look(m)
	return &v, paper, nil
}

// machineOf loads the machine on a command line, with the set list in hand that it names.
func benchOf(l line) (machine.Machine, error) {
	m, err := machine.Load(l.operands[0])
	if list := l.Lookup("list"); err == nil && list != nil && list.Value.String() != "" {
		err = m.UseList(list.Value.String())
	}
	return m, err
}

// save writes a machine's figure.
func save(drawn plotting.Draw, v *loop.View, paper plotting.Paper, path string) error {
	f, err := drawn(v, paper)
	if err != nil {
		return err
	}
	return f.Save(path)
}
