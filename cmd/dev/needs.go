package main

import (
	"context"
	"slices"
	"strings"
)

// need is one thing that must be on the machine.
type need struct {
	apt   string // package of Debian and Ubuntu that brings it
	what  string // the thing in words, and what it is for
	linux bool   // wanted on Linux only
}

// missing lists the needs that the machine lacks, as Debian's package manager has it;
// where there is none all that would be needed there.
func missing(ctx context.Context, h *host, needs []need) []need {
	needs = slices.DeleteFunc(slices.Clone(needs), func(n need) bool { return n.linux && h.goos != "linux" })
	if len(needs) == 0 || !h.debian() {
		return needs
	}
	ask := []string{"dpkg-query", "-W", "-f", "[${db:Status-Status} ${Package}:${Architecture}:]"}
	for _, n := range needs {
		ask = append(ask, n.apt)
	}
	known, _ := h.output(ctx, ask...) // fails where it does not know one, and says all the others
	return slices.DeleteFunc(needs, func(n need) bool { return strings.Contains(known, "[installed "+n.apt+":") })
}

// buildNeeds is what compiling the window takes: a compiler, and the headers and
// libraries that the toolkit's window library names in its cgo lines. Mesa's software
// drawing comes with libgl-dev.
var buildNeeds = []need{
	{"gcc", "C compiler, for the window", false},
	{"libc6-dev", "headers of the C library", true},
	{"pkg-config", "pkg-config, which finds libraries for the compiler", true},
	{"libgl-dev", "GL headers, for drawing", true},
	{"libegl-dev", "EGL headers, for drawing under Wayland", true},
	{"libx11-dev", "X11 headers, for the window", true},
	{"libxcursor-dev", "X11 cursor headers", true},
	{"libxrandr-dev", "X11 screen size headers", true},
	{"libxinerama-dev", "X11 many-screen headers", true},
	{"libxi-dev", "X11 input headers", true},
	{"libxxf86vm-dev", "X11 video mode headers", true},
	{"libxkbcommon-dev", "keyboard layout headers", true},
	{"libwayland-dev", "Wayland headers, for the window", true},
}

// crossNeeds is what compiling and packing for the other platforms takes on top of
// buildNeeds: their compilers, and the libraries for ARM.
func crossNeeds() []need {
	needs := []need{
		{"gcc-aarch64-linux-gnu", "C compiler for ARM", true},
		{"gcc-mingw-w64-x86-64", "C compiler for Windows", true},
		{"nsis", "makensis, which makes the installer for Windows", true},
		{"zip", "zip, which packs for Windows", true},
	}
	for _, n := range buildNeeds {
		if strings.HasSuffix(n.apt, "-dev") {
			needs = append(needs, need{n.apt + ":arm64", n.what + ", for ARM", true})
		}
	}
	return needs
}

// testNeeds is what the tests take on top of buildNeeds: a screen that nobody
// sees, hands and eyes for it, and references to measure against.
var testNeeds = []need{
	{"xvfb", "Xvfb, a screen nobody sees for tests of the window", true},
	{"xdotool", "xdotool, which presses keys in tests of the window", true},
	{"imagemagick", "ImageMagick, which takes pictures of the window", true},
	{"xclip", "xclip, which pastes what the window copied", true},
	{"python3", "Python, whose csv module reads tables back", true},
	{"aubio-tools", "aubio, an onset finder to compare hits with", false},
	{"sonic-pi-samples", "recorded drums, to hide and find hits in", false},
	{"flac", "flac, which unpacks the recorded drums", false},
	{"sox", "sox, which makes and checks sound files", false},
	{"unzip", "unzip, which reads the zip of a machine", false},
	{"zip", "zip, which writes one", false},
	{"pulseaudio", "PulseAudio, a sound server nobody hears for tests of recording", true},
	{"pulseaudio-utils", "paplay, which plays takes into it", true},
	{"pipewire", "PipeWire, another sound server, which newer desktops run", true},
	{"pipewire-bin", "pw-metadata, which changes its rate", true},
	{"wireplumber", "WirePlumber, which joins its streams", true},
	{"libasound2-plugins", "ALSA's plug-ins, by which it is tried without a sound card", true},
	{"strace", "strace, which watches for sockets to other machines", true},
	{"dpkg", "dpkg-deb, which reads a package back", true},
	{"desktop-file-utils", "desktop-file-validate, which checks the entry in menus", true},
	{"appstream", "appstreamcli, which checks what software centres are told", true},
	{"shared-mime-info", "update-mime-database, which reads what kind of file a machine's zip is", true},
	{"libglib2.0-bin", "gio, which tells such a zip from others", true},
	{"mandoc", "mandoc, which checks and reads the manual page", false},
	{"zsh", "zsh, whose completions are tried", false},
	{"fish", "fish, the same", false},
	{"poppler-utils", "pdftotext, which reads the setting card back", false},
}

// needsOf are those of testNeeds that have a package of these names.
func needsOf(apt ...string) []need {
	return slices.DeleteFunc(slices.Clone(testNeeds), func(n need) bool { return !slices.Contains(apt, n.apt) })
}

// screenNeeds are those that have to do with the screen.
var screenNeeds = needsOf("xvfb", "xdotool", "imagemagick")
