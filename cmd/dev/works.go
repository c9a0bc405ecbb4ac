package main

// What others made that goes into the program, and their licences. The lists that
// go-licenses and its like give leave out C code, embedded fonts and Go itself, so
// the walk is ours; which licence a text is, licensecheck says.

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/google/licensecheck"
)

// work is something by others that goes into the program: a module, fonts, or Go itself.
type work struct {
	name, version, root string
	files               map[string]bool // that may hold a licence
	licences            []licence
}

// licence is one file in which a work says what may be done with it.
type licence struct {
	file, text string // file within the work, with slashes
	found      []licensecheck.Match
}

// kinds are the SPDX names of what a licence was found to be.
func (l licence) kinds() string {
	var names []string
	for _, m := range l.found {
		names = append(names, m.ID)
	}
	return strings.Join(names, ", ")
}

func licenceOf(file, text string) licence {
	return licence{file, text, licensecheck.Scan([]byte(text)).Match}
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

// compiledFields are those: go list works out only what it is asked for.
const compiledFields = "-json=ImportPath,Dir,Standard,Module,Imports,EmbedFiles,CFiles,CXXFiles,MFiles,HFiles,CgoFiles,SysoFiles,SwigFiles,SwigCXXFiles,FFiles"

// compiledFor lists what the program in a checkout is made of on the systems
// named. Listing takes no C compiler.
func compiledFor(ctx context.Context, h *host, dir string, systems ...string) (all []compiled, err error) {
	for _, goos := range systems {
		var out strings.Builder
		c := command{args: []string{"go", "list", "-C", dir, "-deps", compiledFields, "./cmd/lagwright"},
			env: []string{"GOOS=" + goos, "CGO_ENABLED=1"}, stdout: &out, stderr: h.stderr}
		if err := h.runner.run(ctx, c); err != nil {
			return nil, fmt.Errorf("go list cannot say what the program is made of on %s: %w", goos, err)
		}
		for d := json.NewDecoder(strings.NewReader(out.String())); d.More(); {
			var p compiled
			if err := d.Decode(&p); err != nil {
				return nil, err
			}
			all = append(all, p)
		}
	}
	return all, nil
}

// foreign reports whether a package is by others, and not Go's own.
func (p compiled) foreign() bool { return p.Module != nil && p.Module.Path != "lagwright" }

// inside says where the licence of the C code lies that comes with a package; ""
// where the module's own covers it. A package with such code has to be here, so
// that new code of that kind is noticed.
var inside = map[string]string{
	"github.com/go-gl/glfw/v3.4/glfw":      "glfw/LICENSE.md",
	"github.com/gen2brain/malgo":           "miniaudio.h",
	"fyne.io/systray":                      "",
	"github.com/go-gl/gl/v2.1/gl":          "", // generated from the list of GL's functions
	"github.com/jeandeaual/go-locale":      "", // a call of a C library
	"fyne.io/fyne/v2/app":                  "",
	"fyne.io/fyne/v2/internal/app":         "",
	"fyne.io/fyne/v2/internal/widget":      "",
	"fyne.io/fyne/v2/internal/driver/glfw": "",
}

// read are files with more in them than a licence by itself. Somebody has read them
// as they were when their text had this sum, and found why they may pass.
var read = map[string]struct{ sum, why string }{
	"fyne.io/fyne/v2/theme/font/LICENSE_DejaVu-Powerline.txt":    {"a30f2466a95c", "Bitstream Vera and Arev: fonts not to be sold by themselves, nor changed under their names"},
	"github.com/ajstarks/svgo/LICENSE-link.txt":                  {"faef26bb83b7", "CC-BY-4.0"},
	"github.com/gen2brain/malgo/miniaudio.h":                     {"1d13e0cd56bb", "Unlicense or MIT-0"},
	"github.com/go-text/render/LICENSE":                          {"6b1bf94c77d7", "Unlicense or BSD-3-Clause"},
	"github.com/go-text/typesetting/LICENSE":                     {"6b1bf94c77d7", "Unlicense or BSD-3-Clause"},
	"github.com/golang/freetype/LICENSE":                         {"d3ba056adc2b", "offers the FreeType licence or the GPL; we take the first, whose text is beside it"},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/MT19937-64-LICENSE": {"c9c37150f4da", "BSD-3-Clause, with its authors' thanks and references"},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/MT19937-LICENSE":    {"b92dad20b731", "BSD-3-Clause, with its authors' wish to hear from users"},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/Sun-LICENSE":        {"1fad26590385", "Sun: use, copy, modify and distribute freely with the notice kept"},
}

// leftOut are files that do not concern the program, and why; where unless names
// a package, only as long as that one is not built in.
var leftOut = map[string]struct{ why, unless string }{
	"github.com/golang/freetype/licenses/gpl.txt":                   {"the choice we do not take", ""},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/Bogaert-LICENSE":       {"disclaims but grants nothing, and is of one package", "gonum.org/v1/gonum/integrate/quad"},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/W3C-TestSuite-LICENSE": {"is of test data for RDF graphs", "gonum.org/v1/gonum/graph/formats/rdf"},
}

// worksIn gathers the works that packages belong to, with their licences, by
// name; Go itself, which lies in goroot, comes first since it alone has a capital.
func worksIn(packages []compiled, goroot string) (works []work, err error) {
	found := map[string]*work{}
	in := func(name, version, root string) *work {
		if found[name] == nil {
			found[name] = &work{name: name, version: version, root: root, files: map[string]bool{}}
		}
		return found[name]
	}
	in("Go", "standard library and runtime", goroot).lookIn(goroot)
	for _, p := range packages {
		for _, file := range append([]string{"."}, p.EmbedFiles...) {
			at := filepath.Join(p.Dir, filepath.FromSlash(file))
			if p.foreign() {
				for w := in(p.Module.Path, p.Module.Version, p.Module.Dir); len(at) >= len(w.root); at = filepath.Dir(at) {
					w.lookIn(at)
				}
			} else if ext := path.Ext(file); !p.Standard && (ext == ".ttf" || ext == ".otf") { // by others, though the package is ours
				dir := filepath.Dir(at)
				in(p.ImportPath+"/"+path.Dir(file), "in our own package", dir).lookIn(dir)
			}
		}
		if file := inside[p.ImportPath]; p.foreign() && file != "" {
			found[p.Module.Path].files[filepath.Join(p.Dir, filepath.FromSlash(file))] = true
		}
	}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		for _, file := range slices.Sorted(maps.Keys(found[name].files)) {
			if err := found[name].add(file); err != nil {
				return nil, err
			}
		}
		works = append(works, *found[name])
	}
	return works, nil
}

// licenceName is what files with licences are called, and what the folders are
// called that hold nothing else.
var licenceName = regexp.MustCompile(`(?i)(^|[-_.])((un)?licen[cs]es?|copying|copyright|notice|patents)([-_.]|$)`)

// lookIn notes the files in a folder that are called like licences. A name that is
// no folder's has none.
func (w *work) lookIn(dir string) {
	for _, pattern := range []string{"*", "*icen[cs]es/*", "*ICEN[CS]ES/*"} {
		files, _ := filepath.Glob(filepath.Join(dir, pattern))
		for _, file := range files {
			is, err := os.Stat(file)
			if err == nil && is.Mode().IsRegular() && filepath.Ext(file) != ".go" && (pattern != "*" || licenceName.MatchString(is.Name())) {
				w.files[file] = true
			}
		}
	}
}

// choice begins the licence at the end of a C file.
const choice = "This software is available as a choice of the following licenses."

// add reads a licence.
func (w *work) add(file string) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return fmt.Errorf("the licence of %s cannot be read: %w", w.name, err)
	}
	relative, err := filepath.Rel(w.root, file)
	name, terms := filepath.ToSlash(relative), string(text)
	if err != nil || leftOut[w.name+"/"+name].why != "" {
		return err
	}
	if path.Ext(name) == ".h" {
		_, after, _ := strings.Cut(terms, choice)
		terms = strings.TrimSuffix(strings.TrimSpace(choice+after), "*/")
	}
	w.licences = append(w.licences, licenceOf(name, terms))
	return nil
}

// notice is the text with the licences of others that goes along with a release.
func notice(works []work) string {
	var s strings.Builder
	s.WriteString("Lagwright contains the works below, each under the licence that follows its name.\n")
	for _, w := range works {
		fmt.Fprintf(&s, "\n%s\n%s %s\n", strings.Repeat("=", 78), w.name, w.version)
		for _, l := range w.licences {
			fmt.Fprintf(&s, "\n--- %s (%s)\n\n%s\n", l.file, cmp.Or(read[w.name+"/"+l.file].why, l.kinds()), strings.TrimSpace(l.text))
		}
	}
	return s.String()
}
