package main

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"text/template"
	"time"
)

// Putting together what is released: nfpm makes the packages, tar the tarball.

// nfpm packs. It is run by its version, so that the program's own modules do not grow.
const nfpm = "github.com/goreleaser/nfpm/v2/cmd/nfpm@v2.45.2"

//go:embed nfpm.yaml
var nfpmText string

var nfpmConfig = template.Must(template.New("nfpm.yaml").Funcs(template.FuncMap{"debian": debianName}).Parse(nfpmText))

// kinds of packages, the one that is tried first.
var kinds = []string{"deb", "rpm", "apk"}

// program is where the program lies among what is packed: below a prefix (tree), or in
// the folder that Windows has of it.
func (p platform) program() string {
	if p.os == "windows" {
		return "lagwright/lagwright.exe"
	}
	return "tree/bin/lagwright"
}

// stage is the folder, below that of a checkout, for what is packed for a platform.
func (r *releaseOf) stage(p platform, dir string) string {
	return filepath.Join(dir, "packed", p.os+"-"+p.arch)
}

// layOut builds the program in a checkout and lays it out for a platform with what goes
// along: for Linux what gets installed below a prefix (tree), and the documents as
// packages have them (doc); for Windows one folder.
func (r *releaseOf) layOut(p platform, dir, cache string) {
	if r.err != nil {
		return
	}
	r.h.say("  for %s on %s", p.os, p.arch)
	packages, err := compiledFor(r.ctx, r.h, dir, p.os)
	if r.err = err; err != nil {
		return
	}
	works, err := worksIn(packages, strings.TrimSpace(r.run(nil, "go", "env", "GOROOT")))
	r.err = cmp.Or(r.err, err)
	of := func(name string) []byte { return r.read(filepath.Join(dir, filepath.FromSlash(name))) }
	readme, others := picture.ReplaceAll(of("README.md"), nil), []byte(notice(works))
	if p.os == "windows" {
		r.describe(dir)
		const runtime = "/usr/share/doc/mingw-w64-common/copyright" // of what the C compiler links with
		others = slices.Concat(others, []byte("\n"+strings.Repeat("=", 78)+"\nmingw-w64, its C runtime\n\n"), r.read(runtime))
	}
	r.build(p, dir, cache)
	files := map[string][]byte{"lagwright/README.md": readme, "lagwright/LICENSE.txt": of("LICENSE"), "lagwright/THIRD-PARTY.txt": others}
	if p.os == "linux" {
		files = r.forLinux(dir, of, readme, others)
	}
	for path, data := range files {
		r.write(filepath.Join(r.stage(p, dir), filepath.FromSlash(path)), data)
	}
	if p.os == "linux" {
		r.run(nil, "sh", "-c", `cd "$0" && gzip -9n doc/README.md doc/THIRD-PARTY.txt doc/changelog tree/share/man/man1/lagwright.1`, r.stage(p, dir))
	}
}

// forLinux is what is packed for Linux beside the program, by path.
func (r *releaseOf) forLinux(dir string, of func(name string) []byte, readme, others []byte) map[string][]byte {
	native := filepath.Join(r.stage(platforms[0], dir), platforms[0].program())
	said := func(args ...string) []byte { return []byte(r.run(nil, append([]string{native}, args...)...)) }
	const share, doc = "tree/share/", "tree/share/doc/lagwright/"
	changes := fmt.Sprintf("lagwright (%s) unstable; urgency=medium\n\n  * Packed from commit %.7s.\n\n -- The Lagwright authors <bench@lagwright.invalid>  %s\n", r.version, r.commit, r.at.Format(time.RFC1123Z))
	return map[string][]byte{
		share + "applications/org.lagwright.bench.desktop":            of("assets/linux/org.lagwright.bench.desktop"),
		share + "metainfo/org.lagwright.bench.metainfo.xml":           of("assets/linux/org.lagwright.bench.metainfo.xml"),
		share + "mime/packages/org.lagwright.bench.xml":               of("assets/linux/org.lagwright.bench.xml"),
		share + "icons/hicolor/512x512/apps/org.lagwright.bench.png":  of("assets/icon.png"),
		share + "icons/hicolor/scalable/apps/org.lagwright.bench.svg": of("assets/icon.svg"),
		share + "bash-completion/completions/lagwright":               said("completions", "bash"),
		share + "zsh/site-functions/_lagwright":                       said("completions", "zsh"),
		share + "fish/vendor_completions.d/lagwright.fish":            said("completions", "fish"),
		share + "man/man1/lagwright.1":                                said("manual"),
		doc + "README.md":                                             readme,
		doc + "LICENSE":                                               of("LICENSE"),
		doc + "THIRD-PARTY.txt":                                       others,
		"doc/README.md":                                               readme,
		"doc/THIRD-PARTY.txt":                                         others,
		"doc/copyright":                                               append([]byte("Works by others are built in; THIRD-PARTY.txt.gz beside this file holds their\nlicences. Lagwright itself:\n\n"), of("LICENSE")...),
		"doc/changelog":                                               []byte(changes),
	}
}

// pack makes what is released for a platform of what is laid out.
func (r *releaseOf) pack(p platform, stage, into string) {
	r.settle(stage)
	r.run(nil, "mkdir", "-p", into)
	if r.err != nil {
		return
	}
	if p.os == "windows" {
		r.zip(p, stage, into)
		r.installer(p, stage, into)
		return
	}
	l, err := librariesOf(filepath.Join(stage, p.program()))
	r.err = cmp.Or(r.err, err)
	for _, kind := range kinds {
		r.nfpm(p, kind, l, stage, into)
	}
	r.tarball(p, stage, into)
}

// settle gives everything the time of the commit, and modes that do not come from
// whoever packs.
func (r *releaseOf) settle(stage string) {
	r.run(nil, "sh", "-c", `find "$0" -type f ! -path '*/bin/lagwright' -exec chmod 644 {} + -o -exec chmod 755 {} + && find "$0" -exec touch -d "@$1" {} +`, stage, fmt.Sprint(r.at.Unix()))
}

// nfpm makes a package of one kind.
func (r *releaseOf) nfpm(p platform, kind string, l libraries, stage, into string) {
	var config bytes.Buffer
	file := filepath.Join(stage, kind+".yaml")
	r.err = cmp.Or(r.err, nfpmConfig.Execute(&config, map[string]any{"Kind": kind, "Version": r.versionFor(kind), "Arch": p.arch,
		"Time": r.at.Format(time.RFC3339), "C": l.c, "Needed": l.needed, "Wished": l.wished}))
	r.write(file, config.Bytes())
	r.run(r.env(), "go", "run", "-C", stage, nfpm, "package", "-f", file, "-p", kind, "-t", into)
}

// tarball makes one of a folder, whose bin and share go into any prefix.
func (r *releaseOf) tarball(p platform, stage, into string) {
	name := r.named(p)
	r.run(nil, "tar", "-C", stage, "--sort=name", "--format=gnu", "--owner=root:0", "--group=root:0",
		"--transform=s,^tree,"+name+",", "-I", "gzip -9n", "-cf", filepath.Join(into, name+".tar.gz"), "tree")
}

// named is the name, without its ending, of what is released that has no packer's name.
func (r *releaseOf) named(p platform) string {
	return fmt.Sprintf("lagwright-%s-%s-%s", r.version, p.os, p.arch)
}

// versionFor is the version as a kind of package takes it. Alpine's has a word for
// before, which sorts in the same way.
func (r *releaseOf) versionFor(kind string) string {
	if number, moment, is := strings.Cut(r.version, "~git"); is && kind == "apk" {
		minute, _, _ := strings.Cut(moment, ".")
		return number + "_pre" + minute
	}
	return r.version
}

// picture matches those of a README, which do not come along.
var picture = regexp.MustCompile(`(?m)^ *!\[.*\n\n?`)

// What is released for Windows: a zip that needs no installing, and an installer. Its
// sources lie in assets/windows.

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
