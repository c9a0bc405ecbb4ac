package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/take"
	"lagwright/plotting"
	"lagwright/plotting/wave"
)

// figure is a verb that draws a machine's figure into a file, by default into its
// folder, and prints its name.
func figure(drawn plotting.Draw) func(context.Context, line, io.Writer) error {
	return func(_ context.Context, l line, out io.Writer) error {
		v, paper, err := viewOf(l)
		if err != nil {
			return err
		}
		path := cmp.Or(flagValue[string](l, "o"), filepath.Join(l.operands[0], l.Name()+".png"))
		if err := save(drawn, v, paper, path); err != nil {
			return err
		}
		fmt.Fprintln(out, path)
		return nil
	}
}

// viewOf is what the machine on a command line means, and the paper to draw it on.
func viewOf(l line) (*loop.View, plotting.Paper, error) {
	paper, err := plotting.A5, error(nil)
	if l.Lookup("paper") != nil {
		if paper, err = plotting.PaperNamed(flagValue[string](l, "paper")); err != nil {
			return nil, paper, usageError{err}
		}
	}
	m, err := machineOn(l)
	if err != nil {
		return nil, paper, err
	}
	v := loop.Look(m)
	return &v, paper, nil
}

// machineOn loads the machine on a command line, with the set list chosen that it names.
func machineOn(l line) (machine.Machine, error) {
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

// reportTake draws the report of a take of a machine, by default the last.
func reportTake(ctx context.Context, l line, out io.Writer) error {
	id, dir := flagValue[int](l, "take"), l.operands[0]
	v, paper, err := viewOf(l)
	if err != nil {
		return err
	}
	one, err := resultOf(v, dir, id, flagValue[string](l, "voice"))
	if err != nil {
		return err
	}
	path := cmp.Or(flagValue[string](l, "o"), filepath.Join(dir, fmt.Sprintf("report-%03d.png", one.Take.ID)))
	r := plotting.ReportOf(v, one)
	if err := addSound(ctx, &r.Picture, one, dir); err != nil {
		return err
	}
	if err := r.Figure(paper).Save(path); err != nil {
		return err
	}
	fmt.Fprintln(out, path)
	return nil
}

// resultOf returns what a take of a machine says of a voice: the last for 0, for no
// name the voice that it aimed at, or its first where that had no microphone.
func resultOf(v *loop.View, dir string, id int, voice string) (loop.Result, error) {
	takes := v.Machine.Takes
	if len(takes) == 0 {
		return loop.Result{}, fmt.Errorf("%s has no takes yet: record one first", dir)
	}
	t := &takes[len(takes)-1]
	if id != 0 {
		t = v.Machine.Take(id)
	}
	if t == nil {
		var ids []string
		for _, t := range takes {
			ids = append(ids, fmt.Sprint(t.ID))
		}
		return loop.Result{}, fmt.Errorf("%s has no take %d: choose one of %s", dir, id, strings.Join(ids, ", "))
	}
	if voice == "" {
		if voice = t.Target.Voice; t.Of(voice) == nil {
			voice = t.Heard[0].Voice
		}
	}
	r, ok := v.Result(t.ID, voice)
	if !ok {
		return loop.Result{}, fmt.Errorf("take %d of %s has no voice %q: choose one of %s", t.ID, dir, voice, strings.Join(t.Voices(), ", "))
	}
	return r, nil
}

// addSound gives a picture the sound of its take. A recording that cannot be
// opened leaves it without; the report says so.
func addSound(ctx context.Context, p *plotting.Picture, r loop.Result, dir string) error {
	f, err := take.Open(filepath.Join(dir, filepath.FromSlash(r.Take.File)))
	if err != nil || max(r.Take.Reference, r.Channel) > f.Channels() {
		return nil
	}
	defer f.Close()
	var channels [2]*wave.Pyramid
	for i, channel := range []int{r.Take.Reference, r.Channel} {
		if channels[i], err = wave.Build(ctx, f, channel, nil); err != nil {
			return err
		}
	}
	return p.AddSound(channels[0], channels[1], 0, f.DurationS(), true)
}

// readings writes the table of all readings of a machine, to standard output
// unless a file is named.
func readings(_ context.Context, l line, out io.Writer) error {
	v, _, err := viewOf(l)
	if err != nil {
		return err
	}
	path := flagValue[string](l, "o")
	if path == "" {
		_, err := out.Write(plotting.ReadingsCSV(v))
		return err
	}
	if err := plotting.SaveReadings(path, v); err != nil {
		return err
	}
	fmt.Fprintln(out, path)
	return nil
}
