package main

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// buildCommand is what a fresh Debian needs typed. The packages are those that
// bring what the cgo lines of go-gl/glfw v3.4, go-gl/gl v2.1 and fyne v2.8.1 ask
// for: gl and wayland-client by pkg-config, the other libraries by name. Compiling
// them from nothing on a fresh Debian 12 showed EGL/egl.h to be needed as well.
const buildCommand = "env DEBIAN_FRONTEND=noninteractive apt-get install -y -q -o DPkg::Lock::Timeout=600 --no-install-recommends --no-remove " +
	"gcc libc6-dev pkg-config libgl-dev libegl-dev libx11-dev libxcursor-dev libxrandr-dev libxinerama-dev " +
	"libxi-dev libxxf86vm-dev libxkbcommon-dev libwayland-dev"

const updateCommand = "env DEBIAN_FRONTEND=noninteractive apt-get update -q"

func TestNothingMissingInstallsNothing(t *testing.T) {
	h, p := bare()
	furnish(p)
	must.Do(t, setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds)))
	if len(p.ran) > 0 || p.said() != "" {
		t.Errorf("ran %q and said %q on a machine that has everything", p.lines(), p.said())
	}
}

func TestInstallsOnDebianAndUbuntu(t *testing.T) {
	h, p := bare()
	p.installed = func() { furnish(p) }
	must.Do(t, setUp(t.Context(), h, buildNeeds))
	if want := []string{updateCommand, buildCommand}; !slices.Equal(p.lines(), want) {
		t.Errorf("ran\n%q, want\n%q", p.lines(), want)
	}
}

func TestSaysWhatItInstallsBeforeItDoes(t *testing.T) {
	h, p := bare()
	p.installed = func() { furnish(p) }
	must.Do(t, setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds)))
	for _, n := range slices.Concat(buildNeeds, testNeeds) {
		if said := p.ran[0].said; !strings.Contains(said, n) {
			t.Errorf("before the first command it had not said %q", n)
		}
	}
	for _, r := range p.ran {
		if !strings.HasSuffix(r.said, "$ "+r.line+"\n") {
			t.Errorf("%q was not shown right before it ran", r.line)
		}
	}
}

func TestInstallsOnlyWhatIsMissing(t *testing.T) {
	h, p := bare()
	furnish(p)
	p.has = slices.DeleteFunc(p.has, func(name string) bool { return name == "libwayland-dev" })
	p.installed = func() { furnish(p) }
	must.Do(t, setUp(t.Context(), h, buildNeeds))
	last := p.ran[len(p.ran)-1].line
	if !strings.HasSuffix(last, "--no-install-recommends --no-remove libwayland-dev") {
		t.Errorf("ran %q, want libwayland-dev alone", last)
	}
}

func TestSudoForOthersThanRoot(t *testing.T) {
	h, p := bare()
	h.superuser = false
	p.installed = func() { furnish(p) }
	must.Do(t, setUp(t.Context(), h, buildNeeds))
	if want := []string{"sudo " + updateCommand, "sudo " + buildCommand}; !slices.Equal(p.lines(), want) {
		t.Errorf("ran\n%q, want\n%q", p.lines(), want)
	}
}

func TestWithoutSudoNamesTheCommand(t *testing.T) {
	h, p := bare()
	h.superuser, p.has = false, []string{"apt-get", "dpkg-query"}
	err := setUp(t.Context(), h, buildNeeds)
	if err == nil || !strings.Contains(err.Error(), "\n  "+updateCommand+" && "+buildCommand) {
		t.Errorf("error %v, want the command to run as root", err)
	}
	if len(p.ran) > 0 {
		t.Errorf("ran %q without the right to", p.lines())
	}
	if status := report(h.stderr, err); status != 1 {
		t.Errorf("exit status %d, want 1", status)
	}
}

func TestDeadPackageSourceIsNoReasonToStop(t *testing.T) {
	h, p := bare()
	p.fails[updateCommand] = exitStatus(100)
	p.installed = func() { furnish(p) }
	must.Do(t, setUp(t.Context(), h, buildNeeds))
}

func TestFailedInstallation(t *testing.T) {
	h, p := bare()
	p.fails[buildCommand] = exitStatus(100)
	err := setUp(t.Context(), h, buildNeeds)
	if err == nil || errors.As(err, new(exitStatus)) {
		t.Errorf("error %v, want one that is printed", err)
	}
}

func TestInstallationThatBringsNothing(t *testing.T) {
	h, _ := bare()
	err := setUp(t.Context(), h, buildNeeds)
	if err == nil || !strings.Contains(err.Error(), "still missing") || !strings.Contains(err.Error(), "libxi-dev") {
		t.Errorf("error %v, want what is still missing", err)
	}
}

// Elsewhere what is needed is named and nothing is installed; a Mac is not told of X11.
func TestOtherSystems(t *testing.T) {
	for _, c := range []struct{ goos, manager string }{{"linux", "dnf"}, {"darwin", "brew"}, {"windows", "none"}} {
		h, p := bare()
		h.goos, p.has = c.goos, []string{c.manager}
		err := setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds))
		if err != nil || len(p.ran) > 0 || !strings.Contains(p.said(), "C compiler") || strings.Contains(p.said(), "libx11-dev") != (c.goos == "linux") {
			t.Errorf("%v: %v, ran %q, said\n%s", c, err, p.lines(), p.said())
		}
	}
}
