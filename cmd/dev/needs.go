package main

// need is one thing that must be on the machine, and how to get it.
type need struct {
	what  string // the thing in words, and what it is for
	probe probe
	apt   string // package of Debian and Ubuntu
	dnf   string // the same elsewhere; empty where we are not sure of the name
	pac   string
	zyp   string
	brew  string
	linux bool // wanted on Linux only
}

// compiler is the one need every system has.
var compiler = need{what: "C compiler, for the window", probe: cCompiler,
	apt: "gcc", dnf: "gcc", pac: "gcc", zyp: "gcc"}

// buildNeeds is what compiling the window takes: the headers and libraries that
// the toolkit's window library names in its cgo lines. Mesa's software drawing
// comes with libgl-dev.
var buildNeeds = []need{
	compiler,
	{what: "headers of the C library", probe: header("stdlib.h"), linux: true,
		apt: "libc6-dev", dnf: "glibc-devel", pac: "glibc", zyp: "glibc-devel"},
	{what: "pkg-config, which finds libraries for the compiler", probe: program("pkg-config"), linux: true,
		apt: "pkg-config", dnf: "pkgconf-pkg-config", pac: "pkgconf", zyp: "pkgconf-pkg-config"},
	{what: "GL headers, for drawing", probe: header("GL/gl.h"), linux: true,
		apt: "libgl-dev", dnf: "mesa-libGL-devel", pac: "libglvnd", zyp: "Mesa-libGL-devel"},
	{what: "EGL headers, for drawing under Wayland", probe: header("EGL/egl.h"), linux: true,
		apt: "libegl-dev", dnf: "mesa-libEGL-devel", pac: "libglvnd", zyp: "Mesa-libEGL-devel"},
	{what: "X11 headers, for the window", probe: header("X11/Xlib.h"), linux: true,
		apt: "libx11-dev", dnf: "libX11-devel", pac: "libx11", zyp: "libX11-devel"},
	{what: "X11 cursor headers", probe: header("X11/Xcursor/Xcursor.h"), linux: true,
		apt: "libxcursor-dev", dnf: "libXcursor-devel", pac: "libxcursor", zyp: "libXcursor-devel"},
	{what: "X11 screen size headers", probe: header("X11/extensions/Xrandr.h"), linux: true,
		apt: "libxrandr-dev", dnf: "libXrandr-devel", pac: "libxrandr", zyp: "libXrandr-devel"},
	{what: "X11 many-screen headers", probe: header("X11/extensions/Xinerama.h"), linux: true,
		apt: "libxinerama-dev", dnf: "libXinerama-devel", pac: "libxinerama", zyp: "libXinerama-devel"},
	{what: "X11 input headers", probe: header("X11/extensions/XInput2.h"), linux: true,
		apt: "libxi-dev", dnf: "libXi-devel", pac: "libxi", zyp: "libXi-devel"},
	{what: "X11 video mode headers", probe: header("X11/extensions/xf86vmode.h"), linux: true,
		apt: "libxxf86vm-dev", dnf: "libXxf86vm-devel", pac: "libxxf86vm", zyp: "libXxf86vm-devel"},
	{what: "keyboard layout headers", probe: header("xkbcommon/xkbcommon.h"), linux: true,
		apt: "libxkbcommon-dev", dnf: "libxkbcommon-devel", pac: "libxkbcommon", zyp: "libxkbcommon-devel"},
	{what: "Wayland headers, for the window", probe: header("wayland-client.h"), linux: true,
		apt: "libwayland-dev", dnf: "wayland-devel", pac: "wayland", zyp: "wayland-devel"},
}

// testNeeds is what the tests take on top of buildNeeds: a screen that nobody
// sees, hands and eyes for it, and references to measure against.
var testNeeds = []need{
	{what: "Xvfb, a screen nobody sees for tests of the window", probe: program("Xvfb"), linux: true,
		apt: "xvfb", dnf: "xorg-x11-server-Xvfb", pac: "xorg-server-xvfb"},
	{what: "xdotool, which presses keys in tests of the window", probe: program("xdotool"), linux: true,
		apt: "xdotool", dnf: "xdotool", pac: "xdotool", zyp: "xdotool"},
	{what: "ImageMagick, which takes pictures of the window", probe: program("import"), linux: true,
		apt: "imagemagick", dnf: "ImageMagick", pac: "imagemagick", zyp: "ImageMagick"},
	{what: "xclip, which pastes what the window copied", probe: program("xclip"), linux: true,
		apt: "xclip", dnf: "xclip", pac: "xclip", zyp: "xclip"},
	{what: "Python, whose csv module reads tables back", probe: program("python3"), linux: true,
		apt: "python3", dnf: "python3", pac: "python", zyp: "python3"},
	{what: "aubio, an onset finder to compare hits with", probe: program("aubioonset"),
		apt: "aubio-tools", pac: "aubio", brew: "aubio"},
	{what: "recorded drums, to hide and find hits in", probe: file("usr/share/sonic-pi/samples/*.flac"),
		apt: "sonic-pi-samples"},
	{what: "flac, which unpacks the recorded drums", probe: program("flac"),
		apt: "flac", dnf: "flac", pac: "flac", zyp: "flac", brew: "flac"},
	{what: "sox, which makes and checks sound files", probe: program("sox"),
		apt: "sox", dnf: "sox", pac: "sox", zyp: "sox", brew: "sox"},
	{what: "unzip, which reads the zip of a session", probe: program("unzip"),
		apt: "unzip", dnf: "unzip", pac: "unzip", zyp: "unzip"},
	{what: "zip, which writes one", probe: program("zip"),
		apt: "zip", dnf: "zip", pac: "zip", zyp: "zip"},
	{what: "PulseAudio, a sound server nobody hears for tests of recording", probe: program("pulseaudio"), linux: true,
		apt: "pulseaudio", dnf: "pulseaudio", pac: "pulseaudio", zyp: "pulseaudio"},
	{what: "paplay, which plays takes into it", probe: program("paplay"), linux: true,
		apt: "pulseaudio-utils", dnf: "pulseaudio-utils", pac: "libpulse", zyp: "pulseaudio-utils"},
	{what: "strace, which watches for sockets to other machines", probe: program("strace"), linux: true,
		apt: "strace", dnf: "strace", pac: "strace", zyp: "strace"},
	{what: "dpkg-deb, which reads a package back", probe: program("dpkg-deb"), linux: true,
		apt: "dpkg", dnf: "dpkg", pac: "dpkg", zyp: "dpkg"},
	{what: "desktop-file-validate, which checks the entry in menus", probe: program("desktop-file-validate"), linux: true,
		apt: "desktop-file-utils", dnf: "desktop-file-utils", pac: "desktop-file-utils", zyp: "desktop-file-utils"},
	{what: "mandoc, which checks and reads the manual page", probe: program("mandoc"),
		apt: "mandoc", dnf: "mandoc", pac: "mandoc", zyp: "mandoc", brew: "mandoc"},
	{what: "zsh, whose completions are tried", probe: program("zsh"),
		apt: "zsh", dnf: "zsh", pac: "zsh", zyp: "zsh", brew: "zsh"},
	{what: "fish, the same", probe: program("fish"),
		apt: "fish", dnf: "fish", pac: "fish", zyp: "fish", brew: "fish"},
	{what: "pdftotext, which reads the setting card back", probe: program("pdftotext"),
		apt: "poppler-utils", dnf: "poppler-utils", pac: "poppler", zyp: "poppler-tools", brew: "poppler"},
}
