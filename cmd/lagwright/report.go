package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/plotting"
)

// reportTake draws the report of a take of a session, by default the last.
func reportTake(ctx context.Context, args []string, out io.Writer) error {
	flags := flag.NewFlagSet("report", flag.ContinueOnError)
	path := flags.String("o", "", "")
	paper := flags.String("paper", string(plotting.A5), "")
	id := flags.Int("take", 0, "")
	voice := flags.String("voice", "", "")
	dir, err := oneSession(flags, args)
	if err != nil {
		return err
	}
	flags.Visit(func(f *flag.Flag) {
		if f.Name == "take" && *id < 1 {
			err = usageError{errors.New("takes count from 1")}
		}
	})
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
	t, err := takeOf(s, dir, *id, *voice)
	if err != nil {
		return err
	}
	if *path == "" {
		*path = filepath.Join(dir, fmt.Sprintf("report-%03d.png", t.ID))
	}
	r := plotting.ReportOf(s, t)
	r.Paper = plotting.Paper(*paper)
	if err := addSound(ctx, &r.Picture, t, dir); err != nil {
		return err
	}
	f, err := r.Figure()
	if err != nil {
		return err
	}
	if err := f.Save(*path); err != nil {
		return err
	}
	fmt.Fprintln(out, *path)
	return nil
}

// oneSession reads a command line that names one session folder.
func oneSession(flags *flag.FlagSet, args []string) (dir string, err error) {
	operands, err := parse(flags, args)
	if err != nil {
		return "", err
	}
	if len(operands) != 1 || operands[0] == "" {
		return "", usageError{errors.New("name one session folder")}
	}
	return operands[0], nil
}

// takeOf returns a take of a session as one of its voices has it: the last for 0,
// that of its target for no name.
func takeOf(s session.Session, dir string, id int, voice string) (session.Take, error) {
	if len(s.Takes) == 0 {
		return session.Take{}, fmt.Errorf("%s has no takes yet: record one first", dir)
	}
	i := len(s.Takes) - 1
	if id != 0 {
		i = slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id })
	}
	if i < 0 {
		var ids []string
		for _, t := range s.Takes {
			ids = append(ids, fmt.Sprint(t.ID))
		}
		return session.Take{}, fmt.Errorf("%s has no take %d: choose one of %s", dir, id, strings.Join(ids, ", "))
	}
	if voice == "" {
		voice = s.Takes[i].Target.Voice
	}
	t, ok := s.Takes[i].As(voice)
	if !ok {
		return session.Take{}, fmt.Errorf("take %d of %s has no voice %q: choose one of %s", s.Takes[i].ID, dir, voice, strings.Join(s.Takes[i].Voices(), ", "))
	}
	return t, nil
}

// addSound gives a picture the sound of its take. A recording that cannot be
// opened leaves it without; the report says so.
func addSound(ctx context.Context, p *plotting.Picture, t session.Take, dir string) error {
	f, err := take.Open(filepath.Join(dir, filepath.FromSlash(t.File)))
	if err != nil || max(t.Reference, t.Voice) > f.Channels() {
		return nil
	}
	defer f.Close()
	reference, voice := t.Heard()
	if p.Whole, err = plotting.StretchOf(ctx, f, reference, voice, 0, f.DurationS()); err != nil {
		return err
	}
	if from, to, ok := p.NearS(); ok {
		p.Near, err = plotting.StretchOf(ctx, f, reference, voice, from, to)
	}
	return err
}

// readings writes the table of all readings of a session, to standard output
// unless a file is named.
func readings(_ context.Context, args []string, out io.Writer) error {
	flags := flag.NewFlagSet("readings", flag.ContinueOnError)
	path := flags.String("o", "", "")
	dir, err := oneSession(flags, args)
	if err != nil {
		return err
	}
	s, err := session.Load(dir)
	if err != nil {
		return err
	}
	if *path == "" {
		_, err := out.Write(plotting.ReadingsCSV(s))
		return err
	}
	if err := plotting.SaveReadings(*path, s); err != nil {
		return err
	}
	fmt.Fprintln(out, *path)
	return nil
}
