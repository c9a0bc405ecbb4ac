package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/plotting"
)

func curve(_ context.Context, args []string, out io.Writer) error {
	return figure("curve", drawCurve, args, out)
}

func card(_ context.Context, args []string, out io.Writer) error {
	return figure("card", drawCard, args, out)
}

func creep(_ context.Context, args []string, out io.Writer) error {
	return figure("creep", drawCreep, args, out)
}

func table(_ context.Context, args []string, out io.Writer) error {
	return figure("table", drawTable, args, out)
}

// figureOf draws a figure of a session for a paper.
type figureOf func(*loop.View, plotting.Paper) (*plotting.Figure, error)

// figure draws a session's figure into a file, by default into the session, and
// prints the name of every file written.
func figure(name string, drawn figureOf, args []string, out io.Writer) error {
	flags := flag.NewFlagSet(name, flag.ContinueOnError)
	path := flags.String("o", "", "")
	paper := flags.String("paper", string(plotting.A5), "")
	dir, err := oneSession(flags, args)
	if err != nil {
		return err
	}
	if err := plotting.Paper(*paper).Check(); err != nil {
		return usageError{err}
	}
	s, err := session.Load(dir)
	if err != nil {
		return err
	}
	if *path == "" {
		*path = filepath.Join(dir, name+".png")
	}
	v := loop.Look(s)
	files, err := save(drawn, &v, plotting.Paper(*paper), *path)
	if err != nil {
		return err
	}
	for _, file := range files {
		fmt.Fprintln(out, file)
	}
	return nil
}

// save writes a session's figure and returns the files it made.
func save(drawn figureOf, v *loop.View, paper plotting.Paper, path string) ([]string, error) {
	f, err := drawn(v, paper)
	if err != nil {
		return nil, err
	}
	return f.Files(path), f.Save(path)
}

func drawCurve(v *loop.View, paper plotting.Paper) (*plotting.Figure, error) {
	if v.Err != nil {
		return nil, v.Err
	}
	c := plotting.SetListCurveOf(v, -1)
	c.Paper = paper
	return c.Figure(plotting.Light())
}

func drawCard(v *loop.View, paper plotting.Paper) (*plotting.Figure, error) {
	c, err := plotting.CardOf(v, time.Now())
	if err != nil {
		return nil, err
	}
	c.Paper = paper
	return c.Figure()
}

func drawCreep(v *loop.View, paper plotting.Paper) (*plotting.Figure, error) {
	if v.Err != nil {
		return nil, v.Err
	}
	d := plotting.DaysOf(v)
	d.Paper = paper
	return d.Figure(plotting.Light())
}

func drawTable(v *loop.View, paper plotting.Paper) (*plotting.Figure, error) {
	if v.Err != nil {
		return nil, v.Err
	}
	s := plotting.StaircaseOf(v)
	s.Paper = paper
	return s.Figure(plotting.Light())
}
