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
// prints the name of every file written.
func (drawn figureOf) verb(_ context.Context, l line, out io.Writer) error {
	v, paper, err := viewOf(l)
	if err != nil {
		return err
	}
	files, err := save(plotting.Draw(drawn), v, paper, cmp.Or(told[string](l, "o"), filepath.Join(l.operands[0], l.Name()+".png")))
	if err != nil {
		return err
	}
	for _, file := range files {
		fmt.Fprintln(out, file)
	}
	return nil
}

// viewOf is what the machine on a command line means, and the paper to draw it on.
func viewOf(l line) (*loop.View, plotting.Paper, error) {
	paper := plotting.A5
	if l.Lookup("paper") != nil {
		paper = plotting.Paper(told[string](l, "paper"))
	}
	if err := paper.Check(); err != nil {
		return nil, paper, usageError{err}
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

// save writes a machine's figure and returns the files it made.
func save(drawn plotting.Draw, v *loop.View, paper plotting.Paper, path string) ([]string, error) {
	f, err := drawn(v, paper)
	if err != nil {
		return nil, err
	}
	return f.Files(path), f.Save(path)
}
