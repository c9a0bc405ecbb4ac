package main

// The package on a clean Debian. piuparts installs and removes one likewise, but does
// not use the program, with a window, in between.

import (
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// tryNeeds is what a trial takes on top of building and a screen.
var tryNeeds = []need{{"debootstrap", "debootstrap, which lays out a clean Debian", true}}

// try installs the package on a clean Debian with nothing but what it declares, uses
// it, and removes it again. A picture of the window stays in into.
func (r *releaseOf) try(into string, packed map[string][]byte) {
	if r.err != nil {
		return
	}
	root, err := os.MkdirTemp("", "lagwright-debian")
	if r.err = err; err != nil {
		return
	}
	defer os.RemoveAll(root)
	inside := func(args ...string) string {
		return r.run(nil, append([]string{"chroot", root, "env", "-i", "PATH=/usr/sbin:/usr/bin:/sbin:/bin", "HOME=/root", "LANG=C.UTF-8", "DEBIAN_FRONTEND=noninteractive"}, args...)...)
	}
	r.h.say("laying out a clean Debian, and installing with what is needed and nothing that is only recommended: about 4 minutes")
	r.run(nil, "debootstrap", "--variant=minbase", "bookworm", root, "http://deb.debian.org/debian")
	inside("apt-get", "update", "-q")
	before := r.paths(root)
	for name, data := range packed {
		if filepath.Ext(name) == ".deb" {
			r.write(filepath.Join(root, "root", "lagwright.deb"), data)
		}
	}
	inside("apt-get", "install", "-y", "-q", "--no-install-recommends", "/root/lagwright.deb")
	// What the program measures of a take of the demo is what the demo has said of it.
	version, said := inside("lagwright", "version"), inside("lagwright", "demo", "-out", "/root/demo")
	measured := inside("lagwright", "measure", "/root/demo/take-001.wav")
	lag := regexp.MustCompile(`take-001\.wav: (\S+) ms late`).FindStringSubmatch(measured)
	if r.err == nil && (lag == nil || !strings.Contains(said, "take 1 at 0: "+lag[1])) {
		r.err = fmt.Errorf("on a clean Debian measure says\n%sand the demo said\n%s", measured, said)
	}
	inside("lagwright", "card", "/root/demo", "-o", "/root/card.pdf")
	inside("test", "-s", "/root/card.pdf")
	if r.err == nil {
		r.h.say("  %s  %s", version, measured)
		r.err = r.window(root, into)
	}
	inside("apt-get", "purge", "-y", "-q", "--auto-remove", "lagwright")
	left := r.paths(root)
	maps.DeleteFunc(left, func(path string, _ bool) bool { return before[path] })
	if r.err == nil && len(left) > 0 {
		r.err = fmt.Errorf("after the package is removed there is left:\n  %s", strings.Join(slices.Sorted(maps.Keys(left)), "\n  "))
	}
	if r.err == nil {
		r.h.say("removed; nothing is left but what the package manager keeps")
	}
}

// window opens the window of the installed program and takes a picture of it.
// The screen is this machine's, which a chroot reaches by its abstract socket.
func (r *releaseOf) window(root, into string) error {
	display, stop, err := r.h.screen(r.ctx)
	if err != nil {
		return err
	}
	defer stop()
	p := &photographer{ctx: r.ctx, h: r.h, into: into, theme: "installed", home: "/root",
		env: []string{"DISPLAY=" + display, "FYNE_PLATFORM=x11", "FYNE_SCALE=1", "LANG=C.UTF-8", "WAYLAND_DISPLAY="}}
	p.start("chroot", root, "lagwright", "-practice")
	defer p.close()
	p.keys("ctrl+p")
	p.until("a take is played in the installed window", func() bool {
		found, _ := filepath.Glob(filepath.Join(root, "root", "sessions", "*", "take-001.wav"))
		return len(found) == 1
	})
	p.shot("window")
	return p.err
}

// managed is what the package manager itself keeps and changes, whatever is
// installed.
var managed = regexp.MustCompile(`^/(var/lib/(dpkg|apt)|var/cache|var/log|etc/ld\.so\.cache|root|tmp|run|dev|proc|sys)(/|$)`)

// paths are all files and folders below a root but what is managed.
func (r *releaseOf) paths(root string) map[string]bool {
	paths := map[string]bool{}
	if r.err == nil {
		r.err = filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
			if path = strings.TrimPrefix(path, root); !managed.MatchString(path) {
				paths[path] = true
			}
			return err
		})
	}
	return paths
}
