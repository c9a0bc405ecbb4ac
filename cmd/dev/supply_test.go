package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"lagwright/internal/must"
)

// made is what the program is made of, and by whom.
var made = sync.OnceValues(func() (packages []compiled, works []work) {
	h := thisHost()
	packages, err := compiledFor(context.Background(), h, "../..", "linux", "windows", "darwin")
	if err != nil {
		panic(err)
	}
	root, err := h.output(context.Background(), "go", "env", "GOROOT")
	if err != nil {
		panic(err)
	}
	if works, err = worksIn(packages, root); err != nil {
		panic(err)
	}
	return packages, works
})

// inC reports whether a package brings code that is not Go.
func (p compiled) inC() bool {
	return len(slices.Concat(p.CFiles, p.CXXFiles, p.MFiles, p.HFiles, p.CgoFiles, p.SysoFiles, p.SwigFiles, p.SwigCXXFiles, p.FFiles)) > 0
}

// allowed are the SPDX names of licences that ask no more of the whole program than
// MIT can promise: to be named, or to keep a font under its licence.
var allowed = strings.Fields("MIT MIT-0 BSD-2-Clause BSD-3-Clause Apache-2.0 ISC Zlib BSL-1.0 Unlicense OFL-1.1 FTL CC-BY-4.0 GooglePatentsFile GooglePatentClause")

// title matches a line that names a licence, its owners or a divider.
var title = regexp.MustCompile(`(?mi)^[\s/*]*(((the )?(mit|bsd 3[- ]clause) license( \(mit\))?|digitized data|(copyright|©)\W*(c\W+)?\d{4}\W.*)\s*|[-=*/ ]*)$`)

// objection says why the program may not carry a work with such a licence, or "".
func (l licence) objection(work string) string {
	if seen, is := read[work+"/"+l.file]; is {
		if now := sumOf(l.text); now != seen.sum {
			return fmt.Sprintf("it was changed since somebody read it: read it again, and note %s in read", now)
		}
		return ""
	}
	left, end := "", 0
	for _, m := range l.found {
		if !slices.Contains(allowed, m.ID) {
			return m.ID + " is not among the licences that the program can promise to keep: take the work out"
		}
		left, end = left+l.text[end:m.Start]+"\n", m.End
	}
	if len(l.found) == 0 {
		return fmt.Sprintf("no licence we know: read it, and note %s in read with the reason why it may pass, or take the work out", sumOf(l.text))
	}
	if more := strings.Join(strings.Fields(title.ReplaceAllString(left+l.text[end:], "")), " "); more != "" {
		return fmt.Sprintf("%s, but there is more: %q; read it, and note %s in read with the reason why it may pass", l.kinds(), more, sumOf(l.text))
	}
	return ""
}

func sumOf(text string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(text)))[:12] }

// objections are the reasons why the program may not carry what it is made of.
func objections(packages []compiled, works []work) (all []string) {
	for _, p := range packages {
		if _, known := inside[p.ImportPath]; p.foreign() && p.inC() && !known {
			all = append(all, fmt.Sprintf("%s brings code that is not Go: say in inside where its licence lies", p.ImportPath))
		}
		for file, l := range leftOut {
			if l.unless == p.ImportPath {
				all = append(all, fmt.Sprintf("%s is built in, so that %s concerns us: %s", p.ImportPath, file, l.why))
			}
		}
	}
	for _, w := range works {
		if len(w.licences) == 0 {
			all = append(all, fmt.Sprintf("%s %s has no licence: nobody may pass it on", w.name, w.version))
		}
		for _, l := range w.licences {
			if why := l.objection(w.name); why != "" {
				all = append(all, fmt.Sprintf("%s %s, %s: %s", w.name, w.version, l.file, why))
			}
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// TestLicences walks everything by others that goes into the program, on every
// system: Go, modules, fonts and C code.
func TestLicences(t *testing.T) {
	if testing.Short() {
		t.Skip("asks for every module on three systems")
	}
	packages, works := made()
	for _, o := range objections(packages, works) {
		t.Error(o)
	}
	text := notice(works)
	for _, w := range works {
		var kinds []string
		for _, l := range w.licences {
			kinds = append(kinds, l.kinds())
			if !strings.Contains(text, strings.TrimSpace(l.text)) {
				t.Errorf("the notice of a release lacks %s of %s", l.file, w.name)
			}
		}
		t.Logf("%s %s: %s", w.name, w.version, strings.Join(kinds, " "))
	}
	if !strings.Contains(text, "Noto Sans CJK JP") {
		t.Error("the notice lacks the font for Japanese, which lies among our own files")
	}
	for _, w := range works { // C code and fonts that were looked at by hand
		for of, file := range map[string]string{
			"github.com/gen2brain/malgo": "miniaudio.h", "github.com/go-gl/glfw/v3.4/glfw": "glfw/LICENSE.md",
			"fyne.io/fyne/v2": "theme/font/LICENSE_Inter.txt", "codeberg.org/go-fonts/liberation": "LICENSE-SIL",
		} {
			if w.name == of && !slices.ContainsFunc(w.licences, func(l licence) bool { return l.file == file }) {
				t.Errorf("%s of %s is not among the licences", file, of)
			}
		}
	}
}

// TestLicenceExceptions keeps the exceptions to what is there.
func TestLicenceExceptions(t *testing.T) {
	if testing.Short() {
		t.Skip("asks for every module on three systems")
	}
	packages, works := made()
	there := map[string]bool{}
	for _, w := range works {
		for _, l := range w.licences {
			there[w.name+"/"+l.file] = true
		}
	}
	for name := range read {
		if !there[name] {
			t.Errorf("%s was read, but no longer part of the program: take it off the list", name)
		}
	}
	for name := range inside {
		if !slices.ContainsFunc(packages, func(p compiled) bool { return p.ImportPath == name && p.inC() }) {
			t.Errorf("%s is said to bring C code, but does not: take it off the list", name)
		}
	}
}

// The texts are those that Debian's base-files ships for every package to refer to.
func TestKindsOfLicences(t *testing.T) {
	common := func(file string) string {
		text, err := os.ReadFile(filepath.Join("/usr/share/common-licenses", file))
		if err != nil {
			t.Fatalf("%v: install base-files", err)
		}
		return string(text)
	}
	for _, file := range []string{"GPL-2", "LGPL-3", "MPL-2.0"} {
		if why := licenceOf("LICENSE", common(file)).objection("example.org/x"); !strings.HasPrefix(why, file) {
			t.Errorf("%s: %q, want an objection that names it", file, why)
		}
	}
	apache := common("Apache-2.0")
	if why := licenceOf("LICENSE", "\n\nCopyright 2026 Some One\n"+apache).objection("example.org/x"); why != "" {
		t.Errorf("Apache-2.0: %s", why)
	}
	for text, want := range map[string]string{"All rights reserved.": "no licence we know", "": "no licence we know",
		apache + "\nIt is for research purposes only.\n": "there is more",
		"All advertising must name us.\n" + apache:       "there is more",
		apache + "\n" + common("GPL-3"):                  "GPL-3.0",
	} {
		if why := licenceOf("LICENSE", text).objection("example.org/x"); !strings.Contains(why, want) {
			t.Errorf("%.80q: %q, want an objection that says %s", text, why, want)
		}
	}
}

// TestLicencesAreMissed: what has no licence, or brings C that nobody has looked
// at, is objected to.
func TestLicencesAreMissed(t *testing.T) {
	dir := t.TempDir()
	own := compiled{ImportPath: "lagwright/x", Dir: dir, EmbedFiles: []string{"letters/a.ttf"}}
	own.Module = &struct{ Path, Version, Dir string }{"lagwright", "", dir}
	must.Do(t, os.Mkdir(filepath.Join(dir, "letters"), 0o700))
	quad := compiled{ImportPath: "gonum.org/v1/gonum/integrate/quad"}
	p := compiled{ImportPath: "example.org/x/in", Dir: filepath.Join(dir, "in"), CFiles: []string{"x.c"}}
	p.Module = &struct{ Path, Version, Dir string }{"example.org/x", "v1.0.0", dir}
	must.Do(t, os.Mkdir(p.Dir, 0o700))
	works := must.Get(worksIn([]compiled{p, own}, dir))(t)
	got := strings.Join(objections([]compiled{p, own, quad}, works), "\n")
	for _, want := range []string{"example.org/x v1.0.0 has no licence", "example.org/x/in brings code that is not Go", "Go standard library and runtime has no licence", "Bogaert-LICENSE concerns us", "lagwright/x/letters in our own package has no licence"} {
		if !strings.Contains(got, want) {
			t.Errorf("no objection that %s:\n%s", want, got)
		}
	}
}

// TestModulesAreTidy: go.mod names what is used and nothing else. A release also
// verifies that every module is what its checksum says.
func TestModulesAreTidy(t *testing.T) {
	t.Chdir(houseRoot(t))
	var out strings.Builder
	if err := (programs{}).run(t.Context(), command{args: []string{"go", "mod", "tidy", "-diff"}, stdout: &out, stderr: &out}); err != nil {
		t.Errorf("%v\n%s", err, out.String())
	}
}

// internet is what can speak to other machines. net alone also speaks to servers
// of this one.
var internet = []string{"net/http", "net/rpc", "net/smtp", "crypto/tls"}

// neverCalled are packages by others that import such, and why the program does
// not get there. cmd/lagwright/network_linux_test.go watches that it stays so.
var neverCalled = map[string]string{
	"fyne.io/fyne/v2":                     "LoadResourceFromURLString, which we do not call",
	"fyne.io/fyne/v2/internal/repository": "opens http URIs; ours are files",
}

// TestNoInternet: no package of ours imports what speaks to other machines, and
// packages by others only where somebody has looked why.
func TestNoInternet(t *testing.T) {
	if testing.Short() {
		t.Skip("asks for every module on three systems")
	}
	packages, _ := made()
	seen := map[string]bool{}
	for _, p := range packages {
		for _, dep := range p.Imports {
			if p.Standard || !slices.Contains(internet, dep) {
				continue
			}
			if neverCalled[p.ImportPath] == "" {
				t.Errorf("%s imports %s: Lagwright speaks to no other machine; do without, or say in neverCalled why it is not reached", p.ImportPath, dep)
			}
			seen[p.ImportPath] = true
		}
	}
	for _, name := range slices.Sorted(maps.Keys(neverCalled)) {
		if !seen[name] {
			t.Errorf("%s no longer imports what speaks to other machines: take it off the list", name)
		}
	}
}
