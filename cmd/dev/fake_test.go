package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
)

// pretence is a runner that starts nothing. It notes every command that is more
// than a question, beside what had been said when it was called.
type pretence struct {
	host      *host
	has       []string          // programs on the path, and packages
	answers   map[string]string // standard output, by command
	fails     map[string]error  // by the start of the command
	installed func()            // what apt-get install changes
	ran       []ran
}

// ran is one command that was run.
type ran struct {
	line, said string
	env        []string
}

func (p *pretence) look(name string) bool { return slices.Contains(p.has, name) }

func (p *pretence) run(_ context.Context, c command) error {
	line := c.String()
	if c.args[0] == "dpkg-query" {
		for _, name := range p.has {
			fmt.Fprintf(c.stdout, "[installed %s:amd64:][not-installed %sx:amd64:]", name, name)
		}
		return exitStatus(1)
	}
	if c.stdout != nil {
		io.WriteString(c.stdout, p.answers[line])
	}
	p.ran = append(p.ran, ran{line, p.said(), c.env})
	for start, err := range p.fails {
		if strings.HasPrefix(line, start) {
			return err
		}
	}
	if p.installed != nil && strings.Contains(line, "apt-get install") {
		p.installed()
	}
	return nil
}

// said is everything the user has been told.
func (p *pretence) said() string { return p.host.stdout.(*bytes.Buffer).String() }

// lines is the commands that were run.
func (p *pretence) lines() []string {
	var lines []string
	for _, r := range p.ran {
		lines = append(lines, r.line)
	}
	return lines
}

// bare is a fresh Debian with nothing on it.
func bare() (*host, *pretence) {
	p := &pretence{
		has:     []string{"apt-get", "dpkg-query", "sudo"},
		answers: map[string]string{},
		fails:   map[string]error{},
	}
	h := &host{
		goos:      "linux",
		superuser: true,
		getenv:    func(string) string { return "" },
		runner:    p,
		screen:    func(context.Context) (string, func(), error) { return ":9", func() {}, nil },
		stdout:    &bytes.Buffer{},
		stderr:    &bytes.Buffer{},
	}
	p.host = h
	return h, p
}

// furnish puts everything the tests need on the pretended machine.
func furnish(p *pretence) {
	p.has = slices.Concat(p.has, buildNeeds, testNeeds)
}
