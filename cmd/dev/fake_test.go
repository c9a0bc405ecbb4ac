package main

import (
	"bytes"
	"context"
	"io"
	"slices"
	"strings"
	"testing/fstest"
)

// pretence is a runner that starts nothing. It notes every command that is more
// than a question, beside what had been said when it was called.
type pretence struct {
	host      *host
	has       []string          // programs on the path
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

// The file by which a system is known.
const (
	debianRelease = "etc/debian_version" // Ubuntu has it too
	fedoraRelease = "etc/fedora-release"
)

// bare is a fresh Linux with a package manager and nothing else.
func bare(release, manager string) (*host, *pretence) {
	p := &pretence{
		has:     []string{manager, "sudo"},
		answers: map[string]string{},
		fails:   map[string]error{},
	}
	h := &host{
		goos:      "linux",
		superuser: true,
		files:     fstest.MapFS{release: {}},
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
func furnish(h *host, p *pretence) {
	p.has = append(p.has, "gcc", "pkg-config", "Xvfb", "xdotool", "import", "xclip", "python3", "aubioonset", "flac", "sox", "pdftotext", "pulseaudio", "paplay", "unzip", "zip", "strace", "dpkg-deb", "desktop-file-validate", "appstreamcli", "update-mime-database", "gio", "mandoc", "zsh", "fish")
	for _, name := range []string{
		"usr/include/stdlib.h", "usr/include/GL/gl.h", "usr/include/EGL/egl.h", "usr/include/X11/Xlib.h",
		"usr/include/X11/Xcursor/Xcursor.h", "usr/include/X11/extensions/Xrandr.h",
		"usr/include/X11/extensions/Xinerama.h", "usr/include/X11/extensions/XInput2.h",
		"usr/include/X11/extensions/xf86vmode.h", "usr/include/xkbcommon/xkbcommon.h",
		"usr/include/wayland-client.h", "usr/share/sonic-pi/samples/drum.flac",
	} {
		h.files.(fstest.MapFS)[name] = &fstest.MapFile{}
	}
}
