package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"lagwright/calib/session"
	"lagwright/plotting"
)

func curve(_ context.Context, args []string, out io.Writer) error {
	return figure("curve", saveCurve, args, out)
}

func card(_ context.Context, args []string, out io.Writer) error {
	return figure("card", saveCard, args, out)
}

// figure draws a session's figure into a file, by default into the session.
func figure(name string, save func(session.Session, string) error, args []string, out io.Writer) error {
	flags := flag.NewFlagSet(name, flag.ContinueOnError)
	path := flags.String("o", "", "")
	operands, err := parse(flags, args)
	if err != nil {
		return err
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
	if err := save(s, *path); err != nil {
		return err
	}
	fmt.Fprintln(out, *path)
	return nil
}

func saveCurve(s session.Session, path string) error {
	voice := s.Target.Voice
	f, err := plotting.CurveOf(s, voice).Figure(plotting.Light())
	if err != nil {
		return err
	}
	return f.Save(path)
}

func saveCard(s session.Session, path string) error {
	f, err := plotting.CardOf(s, time.Now()).Figure()
	if err != nil {
		return err
	}
	return f.Save(path)
}
