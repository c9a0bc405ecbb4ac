package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"lagwright/internal/must"
)

// These tests keep the house in order: which package may know which, and what
// every package owes its readers. DEVELOPERS.md gives the plan of the house.

const (
	toolkit = "fyne.io"
	window  = "fyne.io/fyne/v2/app"

	sound   = module + "/calib/capture"
	devices = sound + "/device"
	library = "github.com/gen2brain/malgo"
)

// room is a package of the house, as go list tells it.
type room struct {
	ImportPath   string
	Dir          string
	Doc          string
	Standard     bool
	GoFiles      []string
	CgoFiles     []string
	Imports      []string
	Deps         []string
	TestImports  []string
	XTestImports []string
}

// houseRoot is the checkout.
func houseRoot(t *testing.T) string {
	t.Helper()
	return must.Get(moduleRoot("."))(t)
}

// ours is all packages of the house.
func ours(t *testing.T) []room {
	t.Helper()
	return must.Get(listedOnce())(t)
}

var listedOnce = sync.OnceValues(func() ([]room, error) { return listed("CGO_ENABLED=1", "./...") })

// listed asks the go command about packages, with an addition to its environment.
func listed(env string, args ...string) (rooms []room, err error) {
	root, err := moduleRoot(".")
	if err != nil {
		return nil, err
	}
	cmd := exec.Command("go", append([]string{"list", "-json"}, args...)...)
	cmd.Dir, cmd.Env = root, append(os.Environ(), env)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("go list: %w\n%s", err, stderr.String())
	}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var r room
		if err := d.Decode(&r); errors.Is(err, io.EOF) {
			return rooms, nil
		} else if err != nil {
			return nil, err
		}
		rooms = append(rooms, r)
	}
}

// arrow is a rule about what the packages in a part of the house may know.
type arrow struct {
	part   string
	why    string
	breaks func(from room, dep string) bool // given each package it depends on, near or far
}

// knows is which parts of calib may know which others; calib, atomicfile, i18n and ring
// any may know. Facts lie in machine, what they mean is worked out by plan and loop,
// and what is recorded or changed goes through bench.
var knows = map[string][]string{
	"loop":           {"plan", "machine"},
	"handsfree":      {"playback"}, // which tone to sound
	"bench":          {"loop", "playback", "handsfree", "practice", "machine", "signal", "take"},
	"live":           {"bench", "capture", "handsfree", "loop", "playback", "machine", "signal", "take"},
	"capture/device": {"capture"}, // a device is one of the things that sound comes from
}

// rooms are the window's, with the other rooms that each may know: a take that was
// recorded is shown and listened to, and findings are said in the loop and in the set
// list.
var rooms = map[string][]string{
	"diagnosis": nil, "export": nil, "findings": nil, "help": nil, "history": nil, "listen": nil,
	"record":  {"listen", "takes"},
	"setlist": {"findings"},
	"setup":   nil, "shelf": nil, "takes": nil,
	"tune": {"findings"},
}

// atomicFiles writes files whole or not at all; any package may know it.
const atomicFiles = module + "/calib/atomicfile"

// translation puts words into the reader's language; any package may know it.
const translation = module + "/calib/i18n"

var arrows = []arrow{
	{module + "/calib", "calib is arithmetic and files, so that it runs and is tested without a screen",
		func(_ room, dep string) bool { return within(dep, toolkit) }},
	{module + "/plotting", "figures are drawn without a screen, for the verbs that need none",
		func(_ room, dep string) bool { return within(dep, toolkit) }},
	{module + "/calib", "arrows point from the window to the figures to calib, never back",
		func(_ room, dep string) bool { return within(dep, module) && !within(dep, module+"/calib") }},
	{module + "/calib", "parts of calib meet as plain values of package calib; which may know which stands in knows",
		func(from room, dep string) bool {
			part := strings.TrimPrefix(from.ImportPath, module+"/calib/")
			other, inCalib := strings.CutPrefix(dep, module+"/calib/")
			near := slices.Contains(from.Imports, dep)
			return near && inCalib && dep != atomicFiles && dep != translation && other != "ring" && !slices.Contains(knows[part], other)
		}},
	{module, "the computer's sound is reached in one place, cmd/lagwright; all else takes a capture.Sound, and so builds and is tested without C or a sound card",
		func(from room, dep string) bool {
			return (dep == devices || dep == library) && from.ImportPath != devices && !within(from.ImportPath, module+"/cmd/lagwright")
		}},
	{module, "what lies in internal is for tests and for cmd/dev, which measures; the program has no use for a disk that breaks",
		func(from room, dep string) bool {
			return within(dep, module+"/internal") && !within(from.ImportPath, module+"/internal") && from.ImportPath != module+"/cmd/dev"
		}},
	{module + "/plotting", "a figure is drawn from a view of the machine; it knows neither sound nor how takes are made",
		func(from room, dep string) bool {
			drawn := []string{"/calib", "/calib/loop", "/calib/plan", "/calib/machine", "/calib/atomicfile", "/calib/i18n"}
			return within(dep, module) && !within(dep, module+"/plotting") && !slices.Contains(drawn, strings.TrimPrefix(dep, module))
		}},
	{module + "/ui", "the window's parts are tested without C or GL, which fyne.io/fyne/v2/app would bring",
		func(_ room, dep string) bool { return dep == window }},
	{module + "/ui/logbook", "the log knows neither the window nor the domain, so that it works when they do not",
		func(_ room, dep string) bool {
			return within(dep, toolkit) || within(dep, module) && !within(dep, module+"/ui/logbook") && dep != translation
		}},
	{module + "/ui/kit", "the small widgets know nothing of Lagwright but its look and its language",
		func(from room, dep string) bool {
			far := dep == module+"/calib" && !slices.Contains(from.Imports, dep) // in whose words the look says settings
			return within(dep, module) && !within(dep, module+"/ui/kit") && !far && !slices.Contains([]string{translation, module + "/ui/look", module + "/plotting/sketch", module + "/assets"}, dep)
		}},
	{module + "/ui", "a room knows the desk; which knows which other room stands in rooms",
		func(from room, dep string) bool {
			part, inUI := strings.CutPrefix(from.ImportPath, module+"/ui/")
			other, toUI := strings.CutPrefix(dep, module+"/ui/")
			_, isRoom := rooms[other]
			return inUI && toUI && isRoom && slices.Contains(from.Imports, dep) && !slices.Contains(rooms[part], other)
		}},
	{module + "/ui", "arrows point from cmd to ui, never back",
		func(_ room, dep string) bool { return within(dep, module+"/cmd") }},
	{module, "the app is opened in one place, cmd/lagwright, so that all else runs without it",
		func(from room, dep string) bool {
			return dep == window && !within(from.ImportPath, module+"/cmd/lagwright")
		}},
}

func TestArrows(t *testing.T) {
	for _, r := range ours(t) {
		for _, a := range arrows {
			for _, dep := range brokenBy(r, a) {
				t.Errorf("%s depends on %s: %s", r.ImportPath, dep, a.why)
			}
		}
	}
}

// brokenBy lists the packages that r depends on against a rule.
func brokenBy(r room, a arrow) []string {
	var against []string
	for _, dep := range r.Deps {
		if within(r.ImportPath, a.part) && a.breaks(r, dep) {
			against = append(against, dep)
		}
	}
	return against
}

// TestArrowsCanBreak keeps the rules from passing everything.
func TestArrowsCanBreak(t *testing.T) {
	for _, c := range []struct {
		from, dep string
		want      bool
	}{
		{"lagwright/calib", "fyne.io/fyne/v2", true},
		{"lagwright/calib/take", "lagwright/calib/signal", true},
		{"lagwright/calib/take", "lagwright/plotting", true},
		{"lagwright/calib/take", "lagwright/calib", false},
		{"lagwright/calib/bench", "lagwright/calib/take", false},
		{"lagwright/calib/bench", "lagwright/ui", true},
		{"lagwright/calib/plan", "lagwright/calib", false},
		{"lagwright/calib/plan", "lagwright/calib/machine", true},
		{"lagwright/plotting", "lagwright/calib", false},
		{"lagwright/calib/take", "lagwright/calib/atomicfile", false},
		{"lagwright/plotting", "lagwright/calib/machine", false},
		{"lagwright/plotting", "lagwright/calib/bench", true},
		{"lagwright/plotting", "lagwright/calib/loop", false},
		{"lagwright/calib/loop", "lagwright/calib/plan", false},
		{"lagwright/calib/loop", "lagwright/calib/bench", true},
		{"lagwright/plotting", "lagwright/calib/signal", true},
		{"lagwright/plotting", "fyne.io/fyne/v2/canvas", true},
		{"lagwright/ui/dial", "fyne.io/fyne/v2/app", true},
		{"lagwright/ui/dial", "fyne.io/fyne/v2/widget", false},
		{"lagwright/ui", "lagwright/cmd/lagwright", true},
		{"lagwright/ui", "lagwright/ui/logbook", false},
		{"lagwright/ui/logbook", "lagwright/calib/machine", true},
		{"lagwright/ui/logbook", "lagwright/calib/i18n", false},
		{"lagwright/ui/logbook", "fyne.io/fyne/v2", true},
		{"lagwright/ui/kit", "lagwright/calib/loop", true},
		{"lagwright/ui/kit", "lagwright/ui/look", false},
		{"lagwright/ui/takes", "lagwright/ui/record", true},
		{"lagwright/ui/record", "lagwright/ui/takes", false},
		{"lagwright/ui/desk", "lagwright/ui/tune", true},
		{"lagwright/ui", "lagwright/ui/tune", false},
		{"lagwright/cmd/dev", "fyne.io/fyne/v2/app", true},
		{"lagwright/cmd/lagwright", "fyne.io/fyne/v2/app", false},
		{"lagwright/calib/capture", "lagwright/calib/take", true},
		{"lagwright/calib/capture/device", "lagwright/calib/capture", false},
		{"lagwright/calib/capture/device", "lagwright/calib/take", true},
		{"lagwright/calib/capture/device", "github.com/gen2brain/malgo", false},
		{"lagwright/calib/capture", "github.com/gen2brain/malgo", true},
		{"lagwright/calib/bench", "lagwright/calib/capture", true},
		{"lagwright/calib/live", "lagwright/calib/capture", false},
		{"lagwright/calib/live", "lagwright/calib/capture/device", true},
		{"lagwright/calib/bench", "lagwright/calib/live", true},
		{"lagwright/calib/loop", "lagwright/calib/signal", true},
		{"lagwright/calib/machine", "lagwright/calib/loop", true},
		{"lagwright/plotting", "lagwright/calib/live", true},
		{"lagwright/calib/bench", "lagwright/calib/capture/device", true},
		{"lagwright/ui", "lagwright/calib/capture/device", true},
		{"lagwright/cmd/lagwright", "lagwright/calib/capture/device", false},
		{"lagwright/cmd/lagwright", "lagwright/internal/testpulse", true},
		{"lagwright/cmd/dev", "lagwright/internal/testpulse", false},
	} {
		broken := false
		for _, a := range arrows {
			broken = broken || len(brokenBy(room{ImportPath: c.from, Imports: []string{c.dep}, Deps: []string{c.dep}}, a)) > 0
		}
		if broken != c.want {
			t.Errorf("%s depending on %s: broken %v, want %v", c.from, c.dep, broken, c.want)
		}
	}
}

// TestKnowsWhatIsThere: what a part of calib may know, it does; else the line can go.
func TestKnowsWhatIsThere(t *testing.T) {
	used := map[string][]string{}
	for _, r := range ours(t) {
		used[r.ImportPath] = r.Imports
	}
	for part, others := range knows {
		for _, other := range others {
			if !slices.Contains(used[module+"/calib/"+part], module+"/calib/"+other) {
				t.Errorf("knows lets calib/%s know %s, which it does not need", part, other)
			}
		}
	}
}

// TestTestsWithoutScreen: tests in calib may join its parts, but the toolkit
// stays out of them too, directly or by way of the window.
func TestTestsWithoutScreen(t *testing.T) {
	for _, r := range ours(t) {
		if !within(r.ImportPath, module+"/calib") && !within(r.ImportPath, module+"/plotting") {
			continue
		}
		for _, dep := range slices.Concat(r.TestImports, r.XTestImports) {
			if within(dep, toolkit) || within(dep, module+"/ui") || within(dep, module+"/cmd") {
				t.Errorf("a test of %s imports %s: what needs no screen is tested without one", r.ImportPath, dep)
			}
		}
	}
}

// TestDevNeedsNoCompiler: cmd/dev installs the C compiler, so it cannot need one.
func TestDevNeedsNoCompiler(t *testing.T) {
	if testing.Short() {
		t.Skip("builds dev again")
	}
	rooms := must.Get(listed("CGO_ENABLED=1", "-deps", "./cmd/dev"))(t)
	for _, r := range rooms {
		if !r.Standard && len(r.CgoFiles) > 0 {
			t.Errorf("cmd/dev depends on %s, which needs a C compiler; cmd/dev is what installs one", r.ImportPath)
		}
	}
}

func TestPackageComments(t *testing.T) {
	for _, r := range ours(t) {
		if len(r.GoFiles)+len(r.CgoFiles) > 0 && r.Doc == "" {
			t.Errorf("%s has no package comment: a reader learns there what the package is for", r.ImportPath)
		}
	}
}

func TestExportedComments(t *testing.T) {
	for _, r := range ours(t) {
		if !within(r.ImportPath, module+"/calib") {
			continue
		}
		for _, name := range r.GoFiles {
			for _, missing := range uncommented(t, filepath.Join(r.Dir, name), nil) {
				t.Errorf("%s: %s has no comment: what calib offers states its units, its signs and its errors", r.ImportPath, missing)
			}
		}
	}
}

// uncommented lists the exported things in a Go file that have no comment.
// source is nil to read the file.
func uncommented(t *testing.T, file string, source any) []string {
	t.Helper()
	tree := must.Get(parser.ParseFile(token.NewFileSet(), file, source, parser.ParseComments))(t)
	var names []string
	for _, d := range tree.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Name.IsExported() && exportedReceiver(d) && d.Doc == nil {
				names = append(names, d.Name.Name)
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				names = append(names, bareNames(s, d.Doc != nil)...)
			}
		}
	}
	return names
}

// exportedReceiver reports whether a function is none of an unexported type.
func exportedReceiver(d *ast.FuncDecl) bool {
	if d.Recv == nil {
		return true
	}
	exported := true
	ast.Inspect(d.Recv.List[0].Type, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok {
			exported = id.IsExported()
			return false
		}
		return exported
	})
	return exported
}

// bareNames is the exported names that a specification declares without a
// comment, be it above, behind, or above the group.
func bareNames(s ast.Spec, group bool) []string {
	var names []*ast.Ident
	commented := group
	switch s := s.(type) {
	case *ast.TypeSpec:
		names, commented = []*ast.Ident{s.Name}, commented || s.Doc != nil || s.Comment != nil
	case *ast.ValueSpec:
		names, commented = s.Names, commented || s.Doc != nil || s.Comment != nil
	}
	var bare []string
	for _, n := range names {
		if n.IsExported() && !commented {
			bare = append(bare, n.Name)
		}
	}
	return bare
}

func TestUncommented(t *testing.T) {
	const source = `package a
func Bare() {}
// Told is told.
func Told() {}
type hidden int
func (hidden) Method() {}
type Open[T any] struct{}
func (*Open[T]) Method() {}
const Loose = 1
// Group.
const ( One = 1; Two = 2 )
var Behind = 1 // behind
`
	want := []string{"Bare", "Open", "Method", "Loose"}
	if got := uncommented(t, "a.go", source); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestCompilesElsewhere: what needs no C, which is all but the program itself, compiles
// for the systems that nobody has here, with its tests where those are tried by hand.
// Fyne's own tag ci leaves out its C on a Mac.
func TestCompilesElsewhere(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles everything for two more systems")
	}
	for system, how := range map[string]string{"darwin/arm64": "build -tags=ci ./calib/... ./plotting/... ./ui/... ./cmd/dev", "windows/amd64": "vet ./calib/... ./plotting/... ./cmd/dev"} {
		goos, arch, _ := strings.Cut(system, "/")
		cmd := exec.Command("go", strings.Fields(how)...)
		cmd.Dir, cmd.Env = houseRoot(t), append(os.Environ(), "CGO_ENABLED=0", "GOOS="+goos, "GOARCH="+arch)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("for %s: %v\n%s", system, err, out)
		}
	}
}

// topLevel is what may lie at the top of the checkout besides names with a dot.
// internal is there for what tests of cmd, ui and calib share: Go lets only what
// lies beside such a folder use it.
var topLevel = []string{"cmd", "ui", "calib", "plotting", "assets", "internal", "go.mod", "go.sum",
	"README.md", "DEVELOPERS.md", "FyneApp.toml", "LICENSE"}

func TestTopLevel(t *testing.T) {
	root := houseRoot(t)
	ignored := must.Get(os.ReadFile(filepath.Join(root, ".gitignore")))(t)
	entries := must.Get(os.ReadDir(root))(t)
	for _, e := range entries {
		if !welcome(e.Name(), string(ignored)) {
			t.Errorf("%s lies at the top: everything has its place in %s; another needs a very good reason, and a line in this test",
				e.Name(), strings.Join(topLevel[:6], ", "))
		}
	}
}

// welcome reports whether a name may lie at the top, by the list or because git
// ignores it there.
func welcome(name, ignored string) bool {
	return strings.HasPrefix(name, ".") || slices.Contains(topLevel, name) ||
		slices.ContainsFunc(strings.Fields(ignored), func(pattern string) bool {
			ok, _ := path.Match(strings.TrimSuffix(pattern, "/"), "/"+name)
			return ok
		})
}

func TestWelcome(t *testing.T) {
	const ignored = "# programs\n/lagwright\n/*.exe\ntestdata/failed/\n"
	for name, want := range map[string]bool{"calib": true, ".ci": true, "lagwright": true, "dev.exe": true,
		"utils": false, "notes.md": false, "failed": false, "lagwright2": false} {
		if got := welcome(name, ignored); got != want {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
	}
}
