package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// tryNeeds is what a trial takes on top of building and a screen.
var tryNeeds = []need{
	{what: "debootstrap, which lays out a clean Debian", probe: program("debootstrap"), linux: true, apt: "debootstrap"},
}

// The Debian that a package is tried on.
const (
	trySuite  = "bookworm"
	tryMirror = "http://deb.debian.org/debian"
)

// cleanDebian is a clean Debian in a folder.
type cleanDebian struct {
	ctx  context.Context
	h    *host
	root string
}

// inside runs a program in the clean Debian and returns what it prints.
func (t cleanDebian) inside(args ...string) (string, error) {
	var out bytes.Buffer
	c := command{args: append([]string{"chroot", t.root, "env", "-i", "PATH=/usr/sbin:/usr/bin:/sbin:/bin", "HOME=/root", "LANG=C.UTF-8", "DEBIAN_FRONTEND=noninteractive"}, args...),
		stdout: &out, stderr: &out}
	if err := t.h.runner.run(t.ctx, c); err != nil {
		return "", fmt.Errorf("on a clean Debian %s failed (%w):\n%s", strings.Join(args, " "), err, out.String())
	}
	return out.String(), nil
}

// tryPackage installs the package on a clean Debian with nothing but what it
// declares, uses it, and removes it again. A picture of the window stays in into.
func tryPackage(ctx context.Context, h *host, into string, deb entry) error {
	root, err := os.MkdirTemp("", "lagwright-debian")
	if err != nil {
		return err
	}
	defer os.RemoveAll(root)
	t := cleanDebian{ctx, h, root}
	h.say("laying out a clean Debian %s: about 2 minutes", trySuite)
	err = patiently(h, "laying it out", func() error {
		var out bytes.Buffer
		err := h.runner.run(ctx, command{args: []string{"debootstrap", "--variant=minbase", trySuite, root, tryMirror}, stdout: &out, stderr: &out})
		if err != nil {
			return fmt.Errorf("debootstrap failed (%w):\n%s", err, out.String())
		}
		return nil
	})
	if err != nil {
		return err
	}
	if _, err := t.inside("apt-get", "update", "-q"); err != nil {
		return err
	}
	before, err := t.paths()
	if err != nil {
		return err
	}
	if err := t.install(deb); err != nil {
		return err
	}
	if err := errors.Join(t.verbs(), t.window(into)); err != nil {
		return err
	}
	return t.remove(before)
}

// install installs the package with what it declares to depend on.
func (t cleanDebian) install(deb entry) error {
	if err := os.WriteFile(filepath.Join(t.root, "root", "lagwright.deb"), deb.data, 0o644); err != nil {
		return err
	}
	t.h.say("installing %s with what it depends on, and nothing it only recommends", deb.path)
	return patiently(t.h, "installing", func() error {
		_, err := t.inside("apt-get", "install", "-y", "-q", "--no-install-recommends", "/root/lagwright.deb")
		return err
	})
}

// verbs uses the program without a window: what it measures of a take of the demo
// is what the demo has said of it.
func (t cleanDebian) verbs() error {
	version, err := t.inside("lagwright", "version")
	if err != nil {
		return err
	}
	said, err := t.inside("lagwright", "demo", "-out", "/root/demo")
	if err != nil {
		return err
	}
	measured, err := t.inside("lagwright", "measure", "/root/demo/take-001.wav")
	if err != nil {
		return err
	}
	t.h.say("  %s  %s", version, measured)
	lag := regexp.MustCompile(`take-001\.wav: (\S+) ms late`).FindStringSubmatch(measured)
	if lag == nil || !strings.Contains(said, "take 1 at 0: "+lag[1]) {
		return fmt.Errorf("on a clean Debian measure says\n%sand the demo said\n%s", measured, said)
	}
	if _, err := t.inside("lagwright", "card", "/root/demo", "-o", "/root/card.pdf"); err != nil {
		return err
	}
	_, err = t.inside("test", "-s", "/root/card.pdf")
	return err
}

// window opens the window of the installed program and takes a picture of it.
// The screen is this machine's, which a chroot reaches by its abstract socket.
func (t cleanDebian) window(into string) error {
	display, stop, err := t.h.screen(t.ctx)
	if err != nil {
		return err
	}
	defer stop()
	p := &photographer{ctx: t.ctx, h: t.h, into: into, theme: "installed", home: "/root",
		env: []string{"DISPLAY=" + display, "FYNE_PLATFORM=x11", "FYNE_SCALE=1", "LANG=C.UTF-8", "WAYLAND_DISPLAY="}}
	if err := p.start("chroot", t.root, "lagwright", "-practice"); err != nil {
		return fmt.Errorf("the window of the installed program: %w", err)
	}
	defer p.close()
	if err := p.keys("ctrl+p")(); err != nil {
		return err
	}
	err = p.until("a take is played in the installed window", func() bool {
		found, _ := filepath.Glob(filepath.Join(t.root, "root", "sessions", "*", "take-001.wav"))
		return len(found) == 1
	})
	if err != nil {
		return err
	}
	return p.shot("window")()
}

// managed is what the package manager itself keeps and changes, whatever is
// installed.
var managed = regexp.MustCompile(`^/(var/lib/(dpkg|apt)|var/cache|var/log|etc/ld\.so\.cache|root|tmp|run|dev|proc|sys)(/|$)`)

// remove removes the program and what came with it, and looks for anything left.
func (t cleanDebian) remove(before []string) error {
	if _, err := t.inside("apt-get", "purge", "-y", "-q", "--auto-remove", "lagwright"); err != nil {
		return err
	}
	after, err := t.paths()
	if err != nil {
		return err
	}
	var left []string
	for _, path := range after {
		if _, there := slices.BinarySearch(before, path); !there && !managed.MatchString(path) {
			left = append(left, path)
		}
	}
	if len(left) > 0 {
		return fmt.Errorf("after the package is removed there is left:\n  %s", strings.Join(left, "\n  "))
	}
	t.h.say("removed; nothing is left but what the builder made")
	return nil
}

// paths are all files and folders, in order.
func (t cleanDebian) paths() (paths []string, err error) {
	err = filepath.WalkDir(t.root, func(path string, d fs.DirEntry, err error) error {
		if err == nil {
			paths = append(paths, strings.TrimPrefix(path, t.root))
		}
		return err
	})
	slices.Sort(paths)
	return paths, err
}
