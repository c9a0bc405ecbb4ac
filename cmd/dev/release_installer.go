package main

// What is released for Windows: a zip that needs no installing, and an installer. Its
// sources lie in assets/windows.

import (
	"path/filepath"
	"strings"
)

// number is the release's as Windows wants it, four of them: 0.1.0.0. It does not tell
// what comes before a release.
func (r *releaseOf) number() string {
	before, _, _ := strings.Cut(r.version, "~")
	return before + ".0"
}

// describe has the Go linker put icon, version and manifest into the program for
// Windows, which it does with object files beside the sources.
func (r *releaseOf) describe(dir string) {
	from := filepath.Join(dir, "assets", "windows")
	r.run(nil, "sed", "-i", "s/0,0,0,0/"+strings.ReplaceAll(r.number(), ".", ",")+`/;s/VERSION"/`+r.version+`"/`, filepath.Join(from, "lagwright.rc"))
	r.run(nil, "convert", filepath.Join(dir, "assets", "icon.png"), "-define", "icon:auto-resize=256,48,32,16", filepath.Join(from, "icon.ico"))
	r.run(r.env(), "x86_64-w64-mingw32-windres", "-I", from, "-O", "coff", filepath.Join(from, "lagwright.rc"), filepath.Join(dir, "cmd", "lagwright", "lagwright_windows_amd64.syso"))
}

// zip packs the folder that is laid out, by name, without times of their own zone.
func (r *releaseOf) zip(p platform, stage, into string) {
	r.run(r.env("TZ=UTC"), "sh", "-c", `cd "$0" && find lagwright -type f | LC_ALL=C sort | zip -qX9 -@ "$1"`, stage, filepath.Join(into, r.named(p)+".zip"))
}

// installer has makensis make one of the same folder.
func (r *releaseOf) installer(p platform, stage, into string) {
	from := filepath.Join(stage, "..", "..", "assets", "windows")
	r.run(r.env(), "makensis", "-V2", "-DVERSION="+r.version, "-DNUMBER="+r.number(), "-DFROM="+filepath.Join(stage, "lagwright"),
		"-DICON="+filepath.Join(from, "icon.ico"), "-DTO="+filepath.Join(into, r.named(p)+"-setup.exe"), filepath.Join(from, "installer.nsi"))
}
