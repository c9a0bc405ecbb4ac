package main

import (
	"context"
	"errors"
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
	operands, err := parse(flags, args)
	if err != nil {
		return err
	}
	if err := plotting.Paper(*paper).Check(); err != nil {
		return usageError{err}
	}
	if len(operands) != 1 || operands[0] == "" {
		return usageError{errors.New("name one session folder")}
	}
	s, err := session.Load(operands[0])
	if err != nil {
		return err
	}
	if *path == "" {
		*path = filepath.Join(operands[0], name+".png")
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
