package main

// Putting together what is released: nfpm makes the packages, tar the tarball.

import (
	"bytes"
	"cmp"
	"compress/gzip"
	_ "embed"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"text/template"
	"time"
)

// nfpm packs. It is run by its version, so that the program's own modules do not grow.
const nfpm = "github.com/goreleaser/nfpm/v2/cmd/nfpm@v2.45.2"

//go:embed nfpm.yaml
var nfpmText string

var nfpmConfig = template.Must(template.New("nfpm.yaml").Funcs(template.FuncMap{"debian": debianName}).Parse(nfpmText))

// kinds of packages, the one that is tried first.
var kinds = []string{"deb", "rpm", "apk"}

// programIn is where the program lies among what is packed.
const programIn = "tree/bin/lagwright"

// layOut writes into stage what is packed of a checkout: beside the program, which is
// there, what gets installed below a prefix (tree), and the documents as packages have
// them (doc).
func (r *releaseOf) layOut(dir, stage string) {
	if r.err != nil {
		return
	}
	packages, err := compiledFor(r.ctx, r.h, dir, "linux")
	if r.err = err; err != nil {
		return
	}
	works, err := worksIn(packages, strings.TrimSpace(r.run(nil, "go", "env", "GOROOT")))
	if against := objections(packages, works); err == nil && len(against) > 0 {
		err = fmt.Errorf("this may not be released:\n%s", strings.Join(against, "\n"))
	}
	r.err = cmp.Or(r.err, err)
	of := func(name string) []byte { return r.read(filepath.Join(dir, filepath.FromSlash(name))) }
	said := func(args ...string) []byte {
		return []byte(r.run(nil, append([]string{filepath.Join(stage, programIn)}, args...)...))
	}
	const share, doc = "tree/share/", "tree/share/doc/lagwright/"
	readme, others := picture.ReplaceAll(of("README.md"), nil), []byte(notice(works))
	changes := fmt.Sprintf("lagwright (%s) unstable; urgency=medium\n\n  * Packed from commit %.7s.\n\n -- The Lagwright authors <bench@lagwright.invalid>  %s\n", r.version, r.commit, r.at.Format(time.RFC1123Z))
	for path, data := range map[string][]byte{
		share + "applications/org.lagwright.bench.desktop":            of("assets/linux/org.lagwright.bench.desktop"),
		share + "metainfo/org.lagwright.bench.metainfo.xml":           of("assets/linux/org.lagwright.bench.metainfo.xml"),
		share + "mime/packages/org.lagwright.bench.xml":               of("assets/linux/org.lagwright.bench.xml"),
		share + "icons/hicolor/512x512/apps/org.lagwright.bench.png":  of("assets/icon.png"),
		share + "icons/hicolor/scalable/apps/org.lagwright.bench.svg": of("assets/icon.svg"),
		share + "bash-completion/completions/lagwright":               said("completions", "bash"),
		share + "zsh/site-functions/_lagwright":                       said("completions", "zsh"),
		share + "fish/vendor_completions.d/lagwright.fish":            said("completions", "fish"),
		share + "man/man1/lagwright.1.gz":                             zipped(said("manual")),
		doc + "README.md":                                             readme,
		doc + "LICENSE":                                               of("LICENSE"),
		doc + "THIRD-PARTY.txt":                                       others,
		"doc/README.md.gz":                                            zipped(readme),
		"doc/THIRD-PARTY.txt.gz":                                      zipped(others),
		"doc/copyright":                                               append([]byte("Works by others are built in; THIRD-PARTY.txt.gz beside this file holds their\nlicences. Lagwright itself:\n\n"), of("LICENSE")...),
		"doc/changelog.gz":                                            zipped([]byte(changes)),
	} {
		r.write(filepath.Join(stage, filepath.FromSlash(path)), data)
	}
}

// pack makes the packages and the tarball of what is laid out.
func (r *releaseOf) pack(stage, into string) {
	r.settle(stage)
	if r.err != nil {
		return
	}
	l, err := librariesOf(filepath.Join(stage, programIn))
	r.err = cmp.Or(err, os.MkdirAll(into, 0o755))
	for _, kind := range kinds {
		r.nfpm(kind, l, stage, into)
	}
	r.tarball(stage, into)
}

// settle gives everything the time of the commit, and modes that do not come from
// whoever packs.
func (r *releaseOf) settle(stage string) {
	if r.err == nil {
		r.err = filepath.WalkDir(stage, func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			mode := fs.FileMode(0o644)
			if d.IsDir() || strings.HasSuffix(path, programIn) {
				mode = 0o755
			}
			return cmp.Or(os.Chmod(path, mode), os.Chtimes(path, r.at, r.at))
		})
	}
}

// nfpm makes a package of one kind.
func (r *releaseOf) nfpm(kind string, l libraries, stage, into string) {
	var config bytes.Buffer
	file := filepath.Join(stage, kind+".yaml")
	r.err = cmp.Or(r.err, nfpmConfig.Execute(&config, map[string]any{"Kind": kind, "Version": r.versionFor(kind), "Arch": runtime.GOARCH,
		"Time": r.at.Format(time.RFC3339), "C": l.c, "Needed": l.needed, "Wished": l.wished}))
	r.write(file, config.Bytes())
	r.run(r.env(), "go", "run", "-C", stage, nfpm, "package", "-f", file, "-p", kind, "-t", into)
}

// tarball makes one of a folder, whose bin and share go into any prefix.
func (r *releaseOf) tarball(stage, into string) {
	name := fmt.Sprintf("lagwright-%s-linux-%s", r.version, runtime.GOARCH)
	r.run(nil, "tar", "-C", stage, "--sort=name", "--format=gnu", "--owner=root:0", "--group=root:0",
		"--transform=s,^tree,"+name+",", "-I", "gzip -9n", "-cf", filepath.Join(into, name+".tar.gz"), "tree")
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

// zipped is gzip of data without name and time, so that it is the same tomorrow.
func zipped(data []byte) []byte {
	var out bytes.Buffer
	w, _ := gzip.NewWriterLevel(&out, gzip.BestCompression)
	_, _ = w.Write(data) // a buffer takes everything
	_ = w.Close()
	return out.Bytes()
}
