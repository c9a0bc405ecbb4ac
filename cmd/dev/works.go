package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// work is something by others that goes into the program: a module, or Go itself.
type work struct {
	name, version string
	licences      []licence
}

// compiled is a package that goes into the program, as go list tells it.
type compiled struct {
	ImportPath, Dir                            string
	Standard                                   bool
	Module                                     *struct{ Path, Version, Dir string }
	Imports                                    []string
	EmbedFiles                                 []string
	CFiles, CXXFiles, MFiles, HFiles, CgoFiles []string
	SysoFiles, SwigFiles, SwigCXXFiles, FFiles []string
}

const compiledFields = "-json=ImportPath,Dir,Standard,Module,Imports,EmbedFiles,CFiles,CXXFiles,MFiles,HFiles,CgoFiles,SysoFiles,SwigFiles,SwigCXXFiles,FFiles"

// platforms are the systems the program is meant for.
var platforms = []string{"linux", "windows", "darwin"}

// compiledFor lists what the program in a checkout is made of on the systems
// named. Listing takes no C compiler.
func compiledFor(ctx context.Context, h *host, dir string, systems ...string) ([]compiled, error) {
	var all []compiled
	for _, goos := range systems {
		var out strings.Builder
		c := command{args: []string{"go", "list", "-C", dir, "-deps", compiledFields, "./cmd/lagwright"},
			env: []string{"GOOS=" + goos, "CGO_ENABLED=1"}, stdout: &out, stderr: h.stderr}
		if err := h.runner.run(ctx, c); err != nil {
			return nil, fmt.Errorf("go list cannot say what the program is made of on %s: %w", goos, err)
		}
		for d := json.NewDecoder(strings.NewReader(out.String())); ; {
			var p compiled
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			all = append(all, p)
		}
	}
	return all, nil
}

// foreign reports whether a package is by others, and not Go's own.
func (p compiled) foreign() bool { return p.Module != nil && p.Module.Path != "lagwright" }

// inC reports whether a package brings code that is not Go.
func (p compiled) inC() bool {
	return len(slices.Concat(p.CFiles, p.CXXFiles, p.MFiles, p.HFiles, p.CgoFiles, p.SysoFiles, p.SwigFiles, p.SwigCXXFiles, p.FFiles)) > 0
}

// inside says where the licence of the C code lies that comes with a package, or
// who else answers for it. A package with such code has to be here, so that new
// code of that kind is noticed.
var inside = map[string]struct{ file, who string }{
	"github.com/go-gl/glfw/v3.4/glfw":      {"glfw/LICENSE.md", ""},
	"github.com/gen2brain/malgo":           {"miniaudio.h", ""},
	"fyne.io/systray":                      {"", "systray's makers"},
	"github.com/go-gl/gl/v2.1/gl":          {"", "generated from the list of GL's functions, the module's licence"},
	"github.com/jeandeaual/go-locale":      {"", "a call of a C library, by go-locale's makers"},
	"fyne.io/fyne/v2/app":                  {"", "Fyne's makers"},
	"fyne.io/fyne/v2/internal/app":         {"", "Fyne's makers"},
	"fyne.io/fyne/v2/internal/widget":      {"", "Fyne's makers"},
	"fyne.io/fyne/v2/internal/driver/glfw": {"", "Fyne's makers"},
}

// licenceName is what files with licences are called, licenceDir the folders that
// hold nothing else.
var (
	licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|copyright|notice|patents)\b|[-_.]licen[cs]e(\.|$)|^licen[cs]e[-_.]`)
	licenceDir  = regexp.MustCompile(`(?i)^(third_party_)?licen[cs]es$`)
)

// worksIn gathers the works that packages belong to, with their licences, by
// name; Go itself, which lies in goroot, comes first.
func worksIn(packages []compiled, goroot string) ([]work, error) {
	golang := work{name: "Go", version: "standard library and runtime"}
	if err := golang.read(goroot, []string{goroot}, nil); err != nil {
		return nil, err
	}
	found := map[string]*work{}
	dirs, files, roots := map[string][]string{}, map[string][]string{}, map[string]string{}
	for _, p := range packages {
		for _, dir := range p.fonts() { // by others, though the package is ours
			name := p.ImportPath + "/" + dir
			found[name], roots[name] = &work{name: name, version: "in our own package"}, filepath.Join(p.Dir, dir)
			dirs[name] = []string{roots[name]}
		}
		if !p.foreign() {
			continue
		}
		name := p.Module.Path
		found[name], roots[name] = &work{name: name, version: p.Module.Version}, p.Module.Dir
		dirs[name] = append(dirs[name], p.dirs()...)
		if file := inside[p.ImportPath].file; file != "" {
			files[name] = append(files[name], filepath.Join(p.Dir, filepath.FromSlash(file)))
		}
	}
	works := []work{golang}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		if err := found[name].read(roots[name], dirs[name], files[name]); err != nil {
			return nil, err
		}
		works = append(works, *found[name])
	}
	return works, nil
}

// fonts are the folders with fonts that a package of ours embeds.
func (p compiled) fonts() (dirs []string) {
	if p.Module == nil || p.foreign() {
		return nil
	}
	for _, file := range p.EmbedFiles {
		if ext := path.Ext(file); ext == ".ttf" || ext == ".otf" {
			dirs = append(dirs, path.Dir(file))
		}
	}
	slices.Sort(dirs)
	return slices.Compact(dirs)
}

// dirs is where the licences of a package may lie: beside it and what it embeds,
// and above that up to the module.
func (p compiled) dirs() []string {
	var dirs []string
	for _, file := range append([]string{"."}, p.EmbedFiles...) {
		for dir := filepath.Dir(filepath.Join(p.Dir, filepath.FromSlash(file), "x")); len(dir) >= len(p.Module.Dir); dir = filepath.Dir(dir) {
			dirs = append(dirs, dir)
		}
	}
	return dirs
}

// read reads the licences in some folders of a work, and some files that have one
// at their end.
func (w *work) read(root string, dirs, files []string) error {
	slices.Sort(dirs)
	for _, dir := range slices.Compact(dirs) {
		entries, err := os.ReadDir(dir)
		if errors.Is(err, os.ErrNotExist) || err == nil && len(entries) == 0 {
			continue // an embedded file's own name
		}
		for _, e := range entries {
			switch file := filepath.Join(dir, e.Name()); {
			case e.IsDir() && licenceDir.MatchString(e.Name()):
				more, err := filepath.Glob(filepath.Join(file, "*"))
				if err != nil {
					return err
				}
				files = append(files, more...)
			case e.Type().IsRegular() && licenceName.MatchString(e.Name()) && filepath.Ext(file) != ".go":
				files = append(files, file)
			}
		}
	}
	slices.Sort(files)
	for _, file := range slices.Compact(files) {
		if err := w.add(root, file); err != nil {
			return err
		}
	}
	return nil
}

// choice begins the licence at the end of a C file.
const choice = "This software is available as a choice of the following licenses."

// add reads a licence.
func (w *work) add(root, file string) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return fmt.Errorf("the licence of %s cannot be read: %w", w.name, err)
	}
	relative, err := filepath.Rel(root, file)
	if err != nil {
		return err
	}
	l := licence{file: filepath.ToSlash(relative), text: string(text)}
	if leftOut[w.name+"/"+l.file].why != "" {
		return nil
	}
	if path.Ext(l.file) == ".h" {
		_, after, _ := strings.Cut(l.text, choice)
		l.text = strings.TrimSuffix(strings.TrimSpace(choice+after), "*/")
	}
	l.kinds, _ = kindsOf(l.text)
	w.licences = append(w.licences, l)
	return nil
}

// objections are the reasons why the program may not carry what it is made of.
func objections(packages []compiled, works []work) []string {
	var all []string
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

// notice is the text with the licences of others that goes along with a release.
func notice(works []work) string {
	var s strings.Builder
	s.WriteString("Lagwright contains the works below, each under the licence that follows its name.\n")
	for _, w := range works {
		fmt.Fprintf(&s, "\n%s\n%s %s\n", strings.Repeat("=", 78), w.name, w.version)
		for _, l := range w.licences {
			fmt.Fprintf(&s, "\n--- %s (%s)\n\n%s\n", l.file, cmp.Or(allowed[w.name+"/"+l.file], strings.Join(l.kinds, ", ")), strings.TrimSpace(l.text))
		}
	}
	return s.String()
}

// goRoot is where Go itself lies.
func goRoot(ctx context.Context, h *host) (string, error) {
	root, err := h.output(ctx, "go", "env", "GOROOT")
	if err != nil || root == "" {
		return "", fmt.Errorf("go env GOROOT does not say where Go lies: %w", err)
	}
	return root, nil
}
