package main

// The package on a clean Debian. piuparts installs and removes one likewise, but does
// not use the program, with a window, in between.

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path"
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
func tryPackage(ctx context.Context, h *host, into string, packed map[string][]byte) error {
	root, err := os.MkdirTemp("", "lagwright-debian")
	if err != nil {
		return err
	}
	defer os.RemoveAll(root)
	t := cleanDebian{ctx, h, root}
	h.say("laying out a clean Debian %s: about 2 minutes", trySuite)
	var out bytes.Buffer
	err = patiently(h, "laying it out", func() error {
		return h.runner.run(ctx, command{args: []string{"debootstrap", "--variant=minbase", trySuite, root, tryMirror}, stdout: &out, stderr: &out})
	})
	if err != nil {
		return fmt.Errorf("debootstrap failed (%w):\n%s", err, out.String())
	}
	if _, err := t.inside("apt-get", "update", "-q"); err != nil {
		return err
	}
	before, err := t.paths()
	if err != nil {
		return err
	}
	if err := t.install(packed); err != nil {
		return err
	}
	if err := errors.Join(t.verbs(), t.window(into)); err != nil {
		return err
	}
	return t.remove(before)
}

// install installs the package with what it declares to depend on.
func (t cleanDebian) install(packed map[string][]byte) error {
	for name, data := range packed {
		if path.Ext(name) == ".deb" {
			t.h.say("installing %s with what it depends on, and nothing it only recommends", name)
			if err := os.WriteFile(filepath.Join(t.root, "root", "lagwright.deb"), data, 0o644); err != nil {
				return err
			}
		}
	}
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
	p.start("chroot", t.root, "lagwright", "-practice")
	defer p.close()
	p.keys("ctrl+p")
	p.until("a take is played in the installed window", func() bool {
		found, _ := filepath.Glob(filepath.Join(t.root, "root", "sessions", "*", "take-001.wav"))
		return len(found) == 1
	})
	p.shot("window")
	if p.err != nil {
		return fmt.Errorf("the window of the installed program: %w", p.err)
	}
	return nil
}

// managed is what the package manager itself keeps and changes, whatever is
// installed.
var managed = regexp.MustCompile(`^/(var/lib/(dpkg|apt)|var/cache|var/log|etc/ld\.so\.cache|root|tmp|run|dev|proc|sys)(/|$)`)

// remove removes the program and what came with it, and looks for anything left.
func (t cleanDebian) remove(before map[string]bool) error {
	if _, err := t.inside("apt-get", "purge", "-y", "-q", "--auto-remove", "lagwright"); err != nil {
		return err
	}
	after, err := t.paths()
	maps.DeleteFunc(after, func(path string, _ bool) bool { return before[path] })
	if err == nil && len(after) > 0 {
		err = fmt.Errorf("after the package is removed there is left:\n  %s", strings.Join(slices.Sorted(maps.Keys(after)), "\n  "))
	}
	if err == nil {
		t.h.say("removed; nothing is left but what the package manager keeps")
	}
	return err
}

// paths are all files and folders but what is managed.
func (t cleanDebian) paths() (map[string]bool, error) {
	paths := map[string]bool{}
	return paths, filepath.WalkDir(t.root, func(path string, _ fs.DirEntry, err error) error {
		if path = strings.TrimPrefix(path, t.root); !managed.MatchString(path) {
			paths[path] = true
		}
		return err
	})
}
