package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"lagwright/calib/bench"
	"lagwright/calib/session"
	"lagwright/plotting"
)

func curve(_ context.Context, args []string, out io.Writer) error {
	return figure("curve", drawCurve, args, out)
}

func card(_ context.Context, args []string, out io.Writer) error {
	return figure("card", drawCard, args, out)
}

// figureOf draws a figure of a session for a paper.
type figureOf func(session.Session, plotting.Paper) (*plotting.Figure, error)

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
	files, err := save(drawn, s, plotting.Paper(*paper), *path)
	if err != nil {
		return err
	}
	for _, file := range files {
		fmt.Fprintln(out, file)
	}
	return nil
}

// save writes a session's figure and returns the files it made.
func save(drawn figureOf, s session.Session, paper plotting.Paper, path string) ([]string, error) {
	f, err := drawn(s, paper)
	if err != nil {
		return nil, err
	}
	return f.Files(path), f.Save(path)
}

func drawCurve(s session.Session, paper plotting.Paper) (*plotting.Figure, error) {
	made, err := bench.PlanOf(s)
	if err != nil && len(s.Songs) > 0 {
		return nil, err
	}
	c := plotting.SetListCurveOf(s, made, -1)
	c.Paper = paper
	return c.Figure(plotting.Light())
}

func drawCard(s session.Session, paper plotting.Paper) (*plotting.Figure, error) {
	c, err := plotting.CardOf(s, time.Now())
	if err != nil {
		return nil, err
	}
	c.Paper = paper
	return c.Figure()
}
