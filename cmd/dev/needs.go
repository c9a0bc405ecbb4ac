package main

import (
	"io/fs"
	"slices"
)

// need is one thing that must be on the machine, and how to get it.
type need struct {
	apt   string // package of Debian and Ubuntu
	probe probe
	what  string // the thing in words, and what it is for
	linux bool   // wanted on Linux only
}

// probe reports whether something is on the machine.
type probe func(h *host) bool

// program probes for a program on the path.
func program(name string) probe { return func(h *host) bool { return h.runner.look(name) } }

// file probes for a file by patterns that start at the root of the file system.
func file(patterns ...string) probe {
	return func(h *host) bool {
		for _, pattern := range patterns {
			if found, err := fs.Glob(h.files, pattern); err == nil && len(found) > 0 {
				return true
			}
		}
		return false
	}
}

// header probes for a C header where Linux keeps them, the last by architecture.
func header(name string) probe {
	return file("usr/include/"+name, "usr/local/include/"+name, "usr/include/*/"+name)
}

// missing lists the needs that the machine lacks.
func missing(h *host, needs []need) []need {
	var lacking []need
	for _, n := range needs {
		if (!n.linux || h.goos == "linux") && !n.probe(h) {
			lacking = append(lacking, n)
		}
	}
	return lacking
}

// buildNeeds is what compiling the window takes: a compiler, and the headers and
// libraries that the toolkit's window library names in its cgo lines. Mesa's software
// drawing comes with libgl-dev.
var buildNeeds = []need{
	{"gcc", program("gcc"), "C compiler, for the window", false},
	{"libc6-dev", header("stdlib.h"), "headers of the C library", true},
	{"pkg-config", program("pkg-config"), "pkg-config, which finds libraries for the compiler", true},
	{"libgl-dev", header("GL/gl.h"), "GL headers, for drawing", true},
	{"libegl-dev", header("EGL/egl.h"), "EGL headers, for drawing under Wayland", true},
	{"libx11-dev", header("X11/Xlib.h"), "X11 headers, for the window", true},
	{"libxcursor-dev", header("X11/Xcursor/Xcursor.h"), "X11 cursor headers", true},
	{"libxrandr-dev", header("X11/extensions/Xrandr.h"), "X11 screen size headers", true},
	{"libxinerama-dev", header("X11/extensions/Xinerama.h"), "X11 many-screen headers", true},
	{"libxi-dev", header("X11/extensions/XInput2.h"), "X11 input headers", true},
	{"libxxf86vm-dev", header("X11/extensions/xf86vmode.h"), "X11 video mode headers", true},
	{"libxkbcommon-dev", header("xkbcommon/xkbcommon.h"), "keyboard layout headers", true},
	{"libwayland-dev", header("wayland-client.h"), "Wayland headers, for the window", true},
}

// testNeeds is what the tests take on top of buildNeeds: a screen that nobody
// sees, hands and eyes for it, and references to measure against.
var testNeeds = []need{
	{"xvfb", program("Xvfb"), "Xvfb, a screen nobody sees for tests of the window", true},
	{"xdotool", program("xdotool"), "xdotool, which presses keys in tests of the window", true},
	{"imagemagick", program("import"), "ImageMagick, which takes pictures of the window", true},
	{"xclip", program("xclip"), "xclip, which pastes what the window copied", true},
	{"python3", program("python3"), "Python, whose csv module reads tables back", true},
	{"aubio-tools", program("aubioonset"), "aubio, an onset finder to compare hits with", false},
	{"sonic-pi-samples", file("usr/share/sonic-pi/samples/*.flac"), "recorded drums, to hide and find hits in", false},
	{"flac", program("flac"), "flac, which unpacks the recorded drums", false},
	{"sox", program("sox"), "sox, which makes and checks sound files", false},
	{"unzip", program("unzip"), "unzip, which reads the zip of a session", false},
	{"zip", program("zip"), "zip, which writes one", false},
	{"pulseaudio", program("pulseaudio"), "PulseAudio, a sound server nobody hears for tests of recording", true},
	{"pulseaudio-utils", program("paplay"), "paplay, which plays takes into it", true},
	{"strace", program("strace"), "strace, which watches for sockets to other machines", true},
	{"dpkg", program("dpkg-deb"), "dpkg-deb, which reads a package back", true},
	{"desktop-file-utils", program("desktop-file-validate"), "desktop-file-validate, which checks the entry in menus", true},
	{"appstream", program("appstreamcli"), "appstreamcli, which checks what software centres are told", true},
	{"shared-mime-info", program("update-mime-database"), "update-mime-database, which reads what kind of file a session's zip is", true},
	{"libglib2.0-bin", program("gio"), "gio, which tells such a zip from others", true},
	{"mandoc", program("mandoc"), "mandoc, which checks and reads the manual page", false},
	{"zsh", program("zsh"), "zsh, whose completions are tried", false},
	{"fish", program("fish"), "fish, the same", false},
	{"poppler-utils", program("pdftotext"), "pdftotext, which reads the setting card back", false},
}

// needsOf are those of testNeeds that have a package of these names.
func needsOf(apt ...string) []need {
	return slices.DeleteFunc(slices.Clone(testNeeds), func(n need) bool { return !slices.Contains(apt, n.apt) })
}

// screenNeeds are those that have to do with the screen.
var screenNeeds = needsOf("xvfb", "xdotool", "imagemagick")
