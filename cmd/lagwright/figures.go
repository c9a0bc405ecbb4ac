package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"path/filepath"

	"lagwright/calib/loop"
	"lagwright/calib/session"
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
	path := cmp.Or(told[string](l, "o"), filepath.Join(l.operands[0], l.Name()+".png"))
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
		if paper, err = plotting.PaperNamed(told[string](l, "paper")); err != nil {
			return nil, paper, usageError{err}
		}
	}
	s, err := machineOf(l)
	if err != nil {
		return nil, paper, err
	}
	v := loop.Look(s)
	return &v, paper, nil
}

// machineOf loads the machine on a command line, with the set list in hand that it names.
func machineOf(l line) (session.Session, error) {
	s, err := session.Load(l.operands[0])
	if list := l.Lookup("list"); err == nil && list != nil && list.Value.String() != "" {
		err = s.UseList(list.Value.String())
	}
	return s, err
}

// save writes a machine's figure.
func save(drawn plotting.Draw, v *loop.View, paper plotting.Paper, path string) error {
	f, err := drawn(v, paper)
	if err != nil {
		return err
	}
	return f.Save(path)
}
