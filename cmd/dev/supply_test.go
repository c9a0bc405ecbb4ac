package main

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// made is what the program is made of, and by whom.
func made(t *testing.T) (packages []compiled, works []work) {
	t.Helper()
	t.Chdir(houseRoot(t))
	h := thisHost()
	packages, err := compiledFor(t.Context(), h, ".", platforms...)
	if err != nil {
		t.Fatal(err)
	}
	root, err := goRoot(t.Context(), h)
	if err != nil {
		t.Fatal(err)
	}
	if works, err = worksIn(packages, root); err != nil {
		t.Fatal(err)
	}
	return packages, works
}

// TestLicences walks everything by others that goes into the program, on every
// system: Go, modules, fonts and C code.
func TestLicences(t *testing.T) {
	packages, works := made(t)
	for _, o := range objections(packages, works) {
		t.Error(o)
	}
	text := notice(works)
	for _, w := range works {
		var kinds []string
		for _, l := range w.licences {
			kinds = append(kinds, l.kinds...)
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
	packages, works := made(t)
	there := map[string]bool{}
	for _, w := range works {
		for _, l := range w.licences {
			there[w.name+"/"+l.file] = true
		}
	}
	for name := range allowed {
		if !there[name] {
			t.Errorf("%s is allowed, but no longer part of the program: take it off the list", name)
		}
	}
	for name := range inside {
		if !slices.ContainsFunc(packages, func(p compiled) bool { return p.ImportPath == name && p.inC() }) {
			t.Errorf("%s is said to bring C code, but does not: take it off the list", name)
		}
	}
}

// The texts are those that Debian's base-files ships for every package to refer
// to; a few sentences of licences without a text there are quoted from their
// own standard wording.
func TestKindsOfLicences(t *testing.T) {
	for file, want := range map[string]string{
		"GPL-2": "GPL", "GPL-3": "GPL", "LGPL-2": "LGPL", "LGPL-2.1": "LGPL", "LGPL-3": "LGPL", "MPL-1.1": "MPL", "MPL-2.0": "MPL",
		"Apache-2.0": "Apache-2.0", "BSD": "BSD",
	} {
		text, err := os.ReadFile(filepath.Join("/usr/share/common-licenses", file))
		if err != nil {
			t.Fatalf("%v: install base-files", err)
		}
		kinds, asks := kindsOf(string(text))
		if !slices.Contains(kinds, want) || asks != slices.Contains([]string{"GPL", "LGPL", "MPL"}, want) {
			t.Errorf("%s is told to be %v, asking for more: %v", file, kinds, asks)
		}
	}
	const mit = "Permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated documentation files, to deal in it.\n"
	const bsd = "Redistribution and use in source and binary forms, with or without modification, are permitted provided that:\n"
	for _, plain := range []string{mit, bsd} {
		if why := (licence{file: "LICENSE", text: plain}).objection("example.org/x"); why != "" {
			t.Errorf("%q: %s", plain, why)
		}
	}
	for text, want := range map[string]string{"All rights reserved.": "no sentence", "": "no sentence",
		"// This program is free software under the GNU Affero\n// General Public License":                                              "AGPL",
		"Attribution-ShareAlike 4.0 International":                                                                                      "CC-BY-SA",
		mit + "The Software shall be used for Good, not Evil.":                                                                          "JSON",
		"“Commons Clause” License Condition v1.0\n" + mit:                                                                               "Commons-Clause",
		mit + "the License does not grant to you, the right to Sell the Software.":                                                      "Commons-Clause",
		bsd + "3. All advertising materials mentioning features or use of this\n   software must display the following acknowledgement": "BSD-4-Clause",
		bsd + "Use is limited to non-commercial purposes.":                                                                              "non-commercial",
		"PolyForm Noncommercial License 1.0.0\n" + mit:                                                                                  "non-commercial",
		mit + "It is for research purposes only.":                                                                                       "academic",
	} {
		if why := (licence{file: "LICENSE", text: text}).objection("example.org/x"); !strings.Contains(why, want) {
			t.Errorf("%q: %q, want an objection that says %s", text, why, want)
		}
	}
}

// TestLicencesAreMissed: what has no licence, or brings C that nobody has looked
// at, is objected to.
func TestLicencesAreMissed(t *testing.T) {
	dir := t.TempDir()
	own := compiled{ImportPath: "lagwright/x", Dir: dir, EmbedFiles: []string{"letters/a.ttf"}}
	own.Module = &struct{ Path, Version, Dir string }{"lagwright", "", dir}
	if err := os.Mkdir(filepath.Join(dir, "letters"), 0o700); err != nil {
		t.Fatal(err)
	}
	quad := compiled{ImportPath: "gonum.org/v1/gonum/integrate/quad"}
	p := compiled{ImportPath: "example.org/x/in", Dir: filepath.Join(dir, "in"), CFiles: []string{"x.c"}}
	p.Module = &struct{ Path, Version, Dir string }{"example.org/x", "v1.0.0", dir}
	if err := os.Mkdir(p.Dir, 0o700); err != nil {
		t.Fatal(err)
	}
	works, err := worksIn([]compiled{p, own}, dir)
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Join(objections([]compiled{p, own, quad}, works), "\n")
	for _, want := range []string{"example.org/x v1.0.0 has no licence", "example.org/x/in brings code that is not Go", "Go standard library and runtime has no licence", "Bogaert-LICENSE concerns us", "lagwright/x/letters in our own package has no licence"} {
		if !strings.Contains(got, want) {
			t.Errorf("no objection that %s:\n%s", want, got)
		}
	}
}

// TestModulesAreTidy: go.mod names what is used and nothing else, and every module
// is what its checksum says.
func TestModulesAreTidy(t *testing.T) {
	t.Chdir(houseRoot(t))
	for _, args := range [][]string{{"go", "mod", "tidy", "-diff"}, {"go", "mod", "verify"}} {
		var out strings.Builder
		if err := (programs{}).run(t.Context(), command{args: args, stdout: &out, stderr: &out}); err != nil {
			t.Errorf("%s: %v\n%s", strings.Join(args, " "), err, out.String())
		}
	}
}

// internet is what can speak to other machines. net alone also speaks to servers
// of this one.
var internet = []string{"net/http", "net/rpc", "net/smtp", "crypto/tls"}

// neverCalled are packages by others that import such, and why the program does
// not get there. cmd/lagwright/network_test.go watches that it stays so.
var neverCalled = map[string]string{
	"fyne.io/fyne/v2":                     "LoadResourceFromURLString, which we do not call",
	"fyne.io/fyne/v2/internal/repository": "opens http URIs; ours are files",
}

// TestNoInternet: no package of ours imports what speaks to other machines, and
// packages by others only where somebody has looked why.
func TestNoInternet(t *testing.T) {
	t.Chdir(houseRoot(t))
	packages, err := compiledFor(t.Context(), thisHost(), ".", platforms...)
	if err != nil {
		t.Fatal(err)
	}
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
