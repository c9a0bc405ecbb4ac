package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"time"

	"lagwright/internal/target"
	"lagwright/internal/testscreen"
)

// command is one program to run. A nil stream is closed or thrown away.
type command struct {
	args           []string
	env            []string // added to the environment of dev
	stdin          io.Reader
	stdout, stderr io.Writer
}

// String is the command as one would type it.
func (c command) String() string { return strings.Join(c.args, " ") }

// runner finds and runs programs. The tests put a pretended one in its place.
type runner interface {
	look(name string) bool
	run(ctx context.Context, c command) error
}

// host is the machine dev stands on, as far as dev asks about it.
type host struct {
	goos           string
	superuser      bool // may install without sudo
	getenv         func(string) string
	runner         runner
	screen         func(ctx context.Context) (display string, stop func(), err error)
	work           string // folder for a verb's files, removed at its end
	stdout, stderr io.Writer
}

// thisHost is the real machine.
func thisHost() *host {
	return &host{
		goos:      runtime.GOOS,
		superuser: os.Geteuid() == 0,
		getenv:    os.Getenv,
		runner:    programs{},
		screen:    testscreen.Start,
		stdout:    os.Stdout,
		stderr:    os.Stderr,
	}
}

// say tells the user what happens next.
func (h *host) say(format string, a ...any) { fmt.Fprintf(h.stdout, format+"\n", a...) }

// verdict says the figures, and returns an error that names those that miss their
// targets.
func (h *host) verdict(figures []target.Figure) error {
	var names []string
	for _, f := range figures {
		h.say("%s", f)
		if f.Missed() {
			names = append(names, f.Name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fmt.Errorf("%d of %d figures miss their targets: %s", len(names), len(figures), strings.Join(names, ", "))
}

// show runs a program with its output in plain sight.
func (h *host) show(ctx context.Context, env []string, args ...string) error {
	c := command{args: args, env: env, stdin: os.Stdin, stdout: h.stdout, stderr: h.stderr}
	return h.runner.run(ctx, c)
}

// output runs a program and returns what it prints, without white space around it.
func (h *host) output(ctx context.Context, args ...string) (string, error) {
	var out strings.Builder
	err := h.runner.run(ctx, command{args: args, stdout: &out})
	return strings.TrimSpace(out.String()), err
}

// programs runs real programs.
type programs struct{}

func (programs) look(name string) bool {
	_, err := exec.LookPath(name)
	return err == nil
}

// run returns an exitStatus when the program ran and failed.
func (programs) run(ctx context.Context, c command) error {
	cmd := exec.CommandContext(ctx, c.args[0], c.args[1:]...)
	cmd.Env = append(os.Environ(), c.env...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = c.stdin, c.stdout, c.stderr
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) } // where there is none it is killed later
	cmd.WaitDelay = 10 * time.Second
	err := cmd.Run()
	if failed, ok := errors.AsType[*exec.ExitError](err); ok && failed.Exited() {
		return exitStatus(failed.ExitCode())
	}
	return err
}

// childEnv is what the programs that dev starts need in their environment. Cgo
// is asked for by name, because dev itself may run without it. A locale of C
// would have the toolkit complain that it knows no such language.
func (h *host) childEnv() []string {
	env := []string{"CGO_ENABLED=1"}
	if locale := cmp.Or(h.getenv("LC_ALL"), h.getenv("LANG"), "C"); locale == "C" || locale == "POSIX" {
		env = append(env, "LC_ALL=C.UTF-8")
	}
	return env
}

// moduleRoot is the root of the checkout that a directory lies in.
func moduleRoot(dir string) (string, error) {
	out, err := exec.Command("go", "list", "-C", dir, "-m", "-f", "{{.Dir}}", module).Output()
	if root := strings.TrimSpace(string(out)); err == nil && root != "" {
		return root, nil
	}
	return "", errors.New("no go.mod of Lagwright at or above this directory; change into the checkout and try again")
}
