package main

// What was packed, on clean systems. piuparts installs and removes a package likewise,
// but does not use the program, with a window, in between.

import (
	"cmp"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// tryNeeds is what a trial takes on top of building: what lays out a clean Debian, and what
// runs programs for ARM and has the system run them by it.
var tryNeeds = []string{"debootstrap", "qemu-user-static", "binfmt-support"}

// clean is a system that is laid out to try a package on.
type clean struct{ name, suite, arch string }

// cleans are Debian's releases; the last is where Windows is tried too, by its wine.
var cleans = []clean{{"Debian 12", "bookworm", "amd64"}, {"Debian 12 on ARM, by qemu", "bookworm", "arm64"}, {"Debian 13", "trixie", "amd64"}}

// try installs the packages on clean systems, uses them, and removes them again.
// Pictures of the window stay in into.
func (r *releaseOf) try(into string) {
	for _, c := range cleans {
		if r.err != nil {
			return
		}
		root := filepath.Join(r.h.work, c.suite+"-"+c.arch)
		if c.arch != platforms[0].arch {
			r.run(nil, "update-binfmts", "--enable", "qemu-aarch64") // which the package does only where there is systemd
		}
		r.h.say("laying out a clean %s: some minutes", c.name)
		r.run(nil, "debootstrap", "--variant=minbase", "--arch="+c.arch, c.suite, root, "http://deb.debian.org/debian")
		s := &cleanRoot{releaseOf: r, root: root, into: into}
		s.inside("apt-get", "update", "-q")
		s.tryPackage(c)
		if c == cleans[len(cleans)-1] {
			s.tryWindows()
		}
		r.err = cmp.Or(r.err, os.RemoveAll(root))
	}
}

// cleanRoot is the root of a system that is laid out.
type cleanRoot struct {
	*releaseOf
	root, into string
}

// inside runs a program there, with nothing of this machine's environment, and with a
// /proc that it alone sees, in which wine looks up where it lies itself.
func (s *cleanRoot) inside(args ...string) string {
	return s.run(nil, append([]string{"unshare", "--root=" + s.root, "--mount-proc", "env", "-i", "PATH=/usr/sbin:/usr/bin:/sbin:/bin", "HOME=/root", "LANG=C.UTF-8", "DEBIAN_FRONTEND=noninteractive", "WINEDEBUG=-all"}, args...)...)
}

// bring puts the file of this release whose name ends so into the root's /root.
func (s *cleanRoot) bring(ending, as string) {
	s.run(nil, "sh", "-c", `cp -- "$0"/*"$1"*"$2" "$3"`, s.into, s.version, ending, filepath.Join(s.root, "root", as))
}

// tryPackage installs the .deb with what it needs and nothing that is only recommended,
// uses it, and removes it; nothing may be left but what the package manager keeps.
func (s *cleanRoot) tryPackage(c clean) {
	before := s.paths()
	s.bring("_"+c.arch+".deb", "lagwright.deb")
	s.inside("apt-get", "install", "-y", "-q", "--no-install-recommends", "/root/lagwright.deb")
	s.useVerbs("/root/demo", "lagwright")
	s.useWindow(c.suite+"-"+c.arch, "lagwright")
	s.inside("apt-get", "purge", "-y", "-q", "--auto-remove", "lagwright")
	left := s.paths()
	maps.DeleteFunc(left, func(path string, _ bool) bool { return before[path] })
	if s.err == nil && len(left) > 0 {
		s.err = fmt.Errorf("after the package is removed there is left:\n  %s", strings.Join(slices.Sorted(maps.Keys(left)), "  "))
	}
}

// useVerbs plays the demo into a folder, and has measure say of its first take what the
// demo has said.
func (s *cleanRoot) useVerbs(dir string, program ...string) {
	does := func(args ...string) string { return s.inside(append(slices.Clone(program), args...)...) }
	version, said := does("version"), does("demo", "-out", dir)
	measured := does("measure", dir+"/take-001.wav")
	lag := regexp.MustCompile(`take-001\.wav: (\S+) ms late`).FindStringSubmatch(measured)
	if s.err == nil && (lag == nil || !strings.Contains(said, "take 1 at 0: "+lag[1])) {
		s.err = fmt.Errorf("measure says\n%sand the demo said\n%s", measured, said)
	}
	does("card", dir, "-o", dir+"/card.pdf")
	if s.err == nil {
		s.h.say("  %s  %s", version, measured)
	}
}

// useWindow opens the window of an installed program, goes through the loop there until the
// voice is tight, and takes a picture. The screen is this machine's, which another root reaches by its abstract socket.
func (s *cleanRoot) useWindow(called string, program ...string) {
	s.inside("rm", "-rf", "/root/machines") // of the program for another system
	if s.err != nil {
		return
	}
	display, stop, err := s.h.screen(s.ctx)
	if s.err = err; err != nil {
		return
	}
	defer stop()
	p := &photographer{ctx: s.ctx, h: s.h, into: s.into, theme: called, root: s.root, home: "/root",
		env: []string{"DISPLAY=" + display, "FYNE_PLATFORM=x11", "FYNE_SCALE=1", "LANG=C.UTF-8", "WAYLAND_DISPLAY=", "WINEDEBUG=-all"}}
	p.start("unshare", append(append([]string{"--root=" + s.root, "--mount-proc"}, program...), "-practice")...)
	defer p.close()
	p.play(1)
	p.tighten()
	p.until("the window shows it", func() bool { return strings.Contains(p.run("xdotool", "getwindowname", p.window), "Tight") }) // by qemu that takes a while
	p.shot("window")
	s.err = p.err
}

// tryWindows installs for Windows by Debian's wine, into a folder with letters of its own,
// uses what is there, with a space in the machine's name, and removes it; the machine's folder
// stays.
func (s *cleanRoot) tryWindows() {
	s.h.say("installing wine there")
	s.inside("apt-get", "install", "-y", "-q", "--no-install-recommends", "wine", "wine64", "libgl1", "libgl1-mesa-dri", "libxcursor1", "libxi6", "libxrandr2")
	s.bring("-setup.exe", "setup.exe")
	const home = "/root/.wine/drive_c/users/root/"
	s.inside("wine", "/root/setup.exe", "/S", `/D=C:\users\root\Örgel`)
	s.useVerbs(home+"Örgel räume", "wine", home+"Örgel/lagwright.exe")
	s.useWindow("windows-amd64", "wine", home+"Örgel/lagwright.exe")
	s.inside("wine", home+"Örgel/uninstall.exe", "/S")
	s.inside("sh", "-c", `test -s "$0Örgel räume/machine.json" && until ! test -e "$0Örgel/lagwright.exe"; do sleep 1; done && wineserver -w`, home) // both go on by themselves
}

// managed is what the package manager itself keeps and changes, whatever is
// installed.
var managed = regexp.MustCompile(`^/(var/lib/(dpkg|apt)|var/cache|var/log|etc/ld\.so\.cache|root|tmp|run|dev|proc|sys)(/|\n)`)

// paths are all files and folders but what is managed.
func (s *cleanRoot) paths() map[string]bool {
	paths := map[string]bool{}
	for path := range strings.Lines(s.run(nil, "find", s.root, "-printf", `/%P\n`)) {
		if !managed.MatchString(path) {
			paths[path] = true
		}
	}
	return paths
}
