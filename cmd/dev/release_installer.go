package main

// What is released for Windows: a zip that needs no installing, and an installer. Its
// sources lie in assets/windows.

import (
	"archive/zip"
	"bytes"
	"cmp"
	"io/fs"
	"os"
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
	script := strings.NewReplacer("0,0,0,0", strings.ReplaceAll(r.number(), ".", ","), "VERSION\"", r.version+"\"").
		Replace(string(r.read(filepath.Join(from, "lagwright.rc"))))
	r.write(filepath.Join(from, "lagwright.rc"), []byte(script))
	r.run(nil, "convert", filepath.Join(dir, "assets", "icon.png"), "-define", "icon:auto-resize=256,48,32,16", filepath.Join(from, "icon.ico"))
	r.run(r.env(), "x86_64-w64-mingw32-windres", "-I", from, "-O", "coff", filepath.Join(from, "lagwright.rc"), filepath.Join(dir, "cmd", "lagwright", "lagwright_windows_amd64.syso"))
}

// zip packs the folder that is laid out, by name.
func (r *releaseOf) zip(p platform, stage, into string) {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	err := fs.WalkDir(os.DirFS(stage), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: r.at})
		if err == nil {
			_, err = w.Write(r.read(filepath.Join(stage, name)))
		}
		return err
	})
	r.err = cmp.Or(r.err, err, z.Close())
	r.write(filepath.Join(into, r.named(p)+".zip"), out.Bytes())
}

// installer has makensis make one of the same folder.
func (r *releaseOf) installer(p platform, stage, into string) {
	from := filepath.Join(stage, "..", "..", "assets", "windows")
	r.run(r.env(), "makensis", "-V2", "-DVERSION="+r.version, "-DNUMBER="+r.number(), "-DFROM="+filepath.Join(stage, "lagwright"),
		"-DICON="+filepath.Join(from, "icon.ico"), "-DTO="+filepath.Join(into, r.named(p)+"-setup.exe"), filepath.Join(from, "installer.nsi"))
}
