package main

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// buildCommand is what a fresh Debian needs typed. The packages are those that
// bring what the cgo lines of go-gl/glfw v3.4, go-gl/gl v2.1 and fyne v2.8.1 ask
// for: gl and wayland-client by pkg-config, the other libraries by name. Compiling
// them from nothing on a fresh Debian 12 showed EGL/egl.h to be needed as well.
const buildCommand = "env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends --no-remove " +
	"gcc libc6-dev pkg-config libgl-dev libegl-dev libx11-dev libxcursor-dev libxrandr-dev libxinerama-dev " +
	"libxi-dev libxxf86vm-dev libxkbcommon-dev libwayland-dev"

const updateCommand = "env DEBIAN_FRONTEND=noninteractive apt-get update -q"

func TestNothingMissingInstallsNothing(t *testing.T) {
	for _, release := range []string{debianRelease, ubuntuRelease} {
		h, p := bare(release, "apt-get")
		furnish(h, p)
		if err := setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds)); err != nil {
			t.Fatal(err)
		}
		if len(p.ran) > 0 || p.said() != "" {
			t.Errorf("ran %q and said %q on a machine that has everything", p.lines(), p.said())
		}
	}
}

func TestInstallsOnDebianAndUbuntu(t *testing.T) {
	for _, release := range []string{debianRelease, ubuntuRelease, "ID=mint\nID_LIKE=\"ubuntu debian\"\n"} {
		h, p := bare(release, "apt-get")
		p.installed = func() { furnish(h, p) }
		if err := setUp(t.Context(), h, buildNeeds); err != nil {
			t.Fatal(err)
		}
		if want := []string{updateCommand, buildCommand}; !slices.Equal(p.lines(), want) {
			t.Errorf("with %q ran\n%q, want\n%q", release, p.lines(), want)
		}
	}
}

func TestSaysWhatItInstallsBeforeItDoes(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	p.installed = func() { furnish(h, p) }
	if err := setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds)); err != nil {
		t.Fatal(err)
	}
	for _, n := range slices.Concat(buildNeeds, testNeeds) {
		if said := p.ran[0].said; !strings.Contains(said, n.apt) || !strings.Contains(said, n.what) {
			t.Errorf("before the first command it had not said %q (%s)", n.apt, n.what)
		}
	}
	for _, r := range p.ran {
		if !strings.HasSuffix(r.said, "$ "+r.line+"\n") {
			t.Errorf("%q was not shown right before it ran", r.line)
		}
	}
}

func TestInstallsOnlyWhatIsMissing(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	furnish(h, p)
	delete(h.files.(fstest.MapFS), "usr/include/wayland-client.h")
	p.installed = func() { furnish(h, p) }
	if err := setUp(t.Context(), h, buildNeeds); err != nil {
		t.Fatal(err)
	}
	last := p.ran[len(p.ran)-1].line
	if !strings.HasSuffix(last, "--no-install-recommends --no-remove libwayland-dev") {
		t.Errorf("ran %q, want libwayland-dev alone", last)
	}
}

func TestHeaderThatOnlyTheCompilerFinds(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	p.has = append(p.has, "gcc")
	p.fails = nil
	if !header("GL/gl.h")(t.Context(), h) {
		t.Error("the compiler found the header, the probe did not")
	}
}

func TestHeaderOfOneArchitecture(t *testing.T) {
	h, _ := bare(debianRelease, "apt-get")
	h.files.(fstest.MapFS)["usr/include/aarch64-linux-gnu/GL/gl.h"] = &fstest.MapFile{}
	if !header("GL/gl.h")(t.Context(), h) {
		t.Error("the header in an architecture's own directory was not found")
	}
}

func TestSudoForOthersThanRoot(t *testing.T) {
	h, p := bare(ubuntuRelease, "apt-get")
	h.superuser = false
	p.installed = func() { furnish(h, p) }
	if err := setUp(t.Context(), h, buildNeeds); err != nil {
		t.Fatal(err)
	}
	if want := []string{"sudo " + updateCommand, "sudo " + buildCommand}; !slices.Equal(p.lines(), want) {
		t.Errorf("ran\n%q, want\n%q", p.lines(), want)
	}
}

func TestWithoutSudoNamesTheCommand(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	h.superuser, p.has = false, []string{"apt-get"}
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
	h, p := bare(debianRelease, "apt-get")
	p.fails[updateCommand] = exitStatus(100)
	p.installed = func() { furnish(h, p) }
	if err := setUp(t.Context(), h, buildNeeds); err != nil {
		t.Fatal(err)
	}
}

func TestFailedInstallation(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	p.fails[buildCommand] = exitStatus(100)
	err := setUp(t.Context(), h, buildNeeds)
	if err == nil || errors.As(err, new(exitStatus)) {
		t.Errorf("error %v, want one that is printed", err)
	}
}

func TestInstallationThatBringsNothing(t *testing.T) {
	h, _ := bare(debianRelease, "apt-get")
	err := setUp(t.Context(), h, buildNeeds)
	if err == nil || !strings.Contains(err.Error(), "still missing") || !strings.Contains(err.Error(), "libxi-dev") {
		t.Errorf("error %v, want what is still missing", err)
	}
}

func TestUnknownLinux(t *testing.T) {
	for _, c := range []struct{ manager, want string }{
		{"dnf", "sudo dnf install gcc glibc-devel"},
		{"zypper", "sudo zypper install gcc glibc-devel"},
		{"pacman", "sudo pacman -S --needed gcc glibc"},
		{"none", "on Debian the packages are\n  gcc libc6-dev"},
	} {
		h, p := bare(fedoraRelease, c.manager)
		err := setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "Wayland headers") {
			t.Errorf("with %s: %v, want it to hold %q", c.manager, err, c.want)
		}
		if err != nil && !strings.Contains(err.Error(), "recorded drums") {
			t.Errorf("with %s: %v, does not say that the drums are missing", c.manager, err)
		}
		if len(p.ran) > 0 {
			t.Errorf("with %s ran %q on a system it does not know", c.manager, p.lines())
		}
	}
}

func TestPretendedDebianWithoutApt(t *testing.T) {
	h, p := bare(debianRelease, "dnf")
	if err := setUp(t.Context(), h, buildNeeds); err == nil || len(p.ran) > 0 {
		t.Errorf("error %v, ran %q, want advice only", err, p.lines())
	}
}

func TestMacAndWindows(t *testing.T) {
	for goos, want := range map[string]string{"darwin": "xcode-select --install", "windows": "MSYS2"} {
		h, p := bare("", "none")
		h.goos = goos
		err := setUp(t.Context(), h, buildNeeds)
		if err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "X11") {
			t.Errorf("on %s: %v, want %q and no word of X11", goos, err, want)
		}
		furnish(h, p)
		if err := setUp(t.Context(), h, buildNeeds); err != nil {
			t.Errorf("on %s with a compiler: %v", goos, err)
		}
	}
}

func TestMacTestNeeds(t *testing.T) {
	h, p := bare("", "brew")
	h.goos = "darwin"
	p.has = append(p.has, "gcc")
	err := setUp(t.Context(), h, slices.Concat(buildNeeds, testNeeds))
	if err == nil || !strings.Contains(err.Error(), "brew install aubio flac sox mandoc zsh fish poppler") || strings.Contains(err.Error(), "Xvfb") {
		t.Errorf("%v, want the command for what a Mac lacks, without an X server", err)
	}
}
