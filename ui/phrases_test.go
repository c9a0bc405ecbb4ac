package ui

import (
	"encoding/json"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
	"golang.org/x/image/font/sfnt"

	"lagwright/assets"
	"lagwright/calib/i18n"
	"lagwright/internal/must"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
)

// skeleton names a file for the phrases that a translator has yet to translate, each
// with nothing after it:
//
//	go test ./ui -run TestCatalogues -skeleton /tmp/phrases.json
var skeleton = flag.String("skeleton", "", "write the phrases that a catalogue lacks to this file")

// phraseSource finds the phrases of the packages whose words the window shows.
type phraseSource struct {
	t         *testing.T
	files     *token.FileSet
	constants map[string]map[string]ast.Expr // by package and name
	found     map[string]string              // phrase to where it is
	used      map[ast.Expr]bool              // constants whose words are phrases
	formats   map[string]bool                // phrases with verbs: in others a % is a sign
	many      map[string]string              // what is said of one thing, to what is said of more
}

func readPhrases(t *testing.T) *phraseSource {
	t.Helper()
	p := &phraseSource{t: t, files: token.NewFileSet(), constants: map[string]map[string]ast.Expr{}, found: map[string]string{}, many: map[string]string{}, formats: map[string]bool{}, used: map[ast.Expr]bool{}}
	var parsed []*ast.File
	for _, top := range []string{".", "../calib", "../plotting"} {
		must.Do(t, filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			f, err := parser.ParseFile(p.files, path, nil, 0)
			if err == nil && f.Name.Name != "i18n" {
				parsed = append(parsed, f)
				p.keepConstants(f)
			}
			return err
		}))
	}
	for _, f := range parsed {
		p.look(f)
	}
	return p
}

// keepConstants remembers all constants, those of functions too: two of one name
// that differ in a package would be told from each other by nobody, reader or test.
func (p *phraseSource) keepConstants(f *ast.File) {
	known := p.constants[f.Name.Name]
	if known == nil {
		known = map[string]ast.Expr{}
		p.constants[f.Name.Name] = known
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if d, ok := n.(*ast.GenDecl); ok && d.Tok == token.CONST {
			for _, s := range d.Specs {
				v := s.(*ast.ValueSpec)
				for i, name := range v.Names {
					if i < len(v.Values) {
						known[name.Name] = v.Values[i]
					}
				}
			}
		}
		return true
	})
}

// look finds the phrases of a file.
func (p *phraseSource) look(f *ast.File) {
	ast.Inspect(f, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		s, ok := call.Fun.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if of, ok := s.X.(*ast.Ident); !ok || of.Name != "i18n" {
			return true
		}
		at, to := 0, 0
		switch s.Sel.Name {
		case "L", "F", "Errorf", "Say":
			to = 1
		case "Either", "Way":
			at, to = 1, 3
		case "N", "SayN":
			at, to = 1, 3
			one, _ := p.constant(f.Name.Name, call.Args[1])
			p.many[one], _ = p.constant(f.Name.Name, call.Args[2])
		case "Turn":
			at, to = 1, 5
			for i := 1; i < to; i += 2 {
				one, _ := p.constant(f.Name.Name, call.Args[i])
				p.many[one], _ = p.constant(f.Name.Name, call.Args[i+1])
			}
		}
		for ; at < to; at++ {
			where := p.files.Position(call.Args[at].Pos()).String()
			if english, ok := p.constant(f.Name.Name, call.Args[at]); !ok {
				p.t.Errorf("%s: what is given to phrase.%s is no constant, so that no catalogue can be checked for it", where, s.Sel.Name)
			} else if english != "" {
				p.found[english] = where
				p.formats[english] = p.formats[english] || s.Sel.Name != "L" && s.Sel.Name != "Either"
			}
		}
		return true
	})
}

func (p *phraseSource) constant(pkg string, e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		s, err := strconv.Unquote(e.Value)
		return s, err == nil && e.Kind == token.STRING
	case *ast.ParenExpr:
		return p.constant(pkg, e.X)
	case *ast.BinaryExpr:
		left, ok := p.constant(pkg, e.X)
		right, too := p.constant(pkg, e.Y)
		return left + right, ok && too && e.Op == token.ADD
	case *ast.Ident:
		if value, ok := p.constants[pkg][e.Name]; ok {
			p.used[value] = true
			return p.constant(pkg, value)
		}
	case *ast.SelectorExpr:
		if of, ok := e.X.(*ast.Ident); ok {
			if value, ok := p.constants[of.Name][e.Sel.Name]; ok {
				return p.constant(of.Name, value)
			}
		}
	}
	return "", false
}

// A verb of package fmt, with the argument that it takes where it says so.
var verb = regexp.MustCompile(`%(?:\[(\d+)\])?([-+# 0]*)(\*|\d+)?(\.(?:\*|\d+)?)?(?:\[(\d+)\])?([a-zA-Z%])`)

// verbsOf returns the verbs of a phrase by the argument that each takes, sorted:
// "1 .1f" for %.1f and %.1[1]f, but not for %[1].1f, which package fmt refuses. A translation may name its arguments in any order,
// and leave out width and flags.
func verbsOf(format string) (all []string) {
	next := 1
	for _, m := range verb.FindAllStringSubmatch(format, -1) {
		kind := m[6]
		if kind == "%" {
			continue
		}
		if strings.Contains(m[3]+m[4], "*") {
			all = append(all, strconv.Itoa(next)+" *")
			next++
		}
		if m[1] != "" && m[3]+m[4] != "" {
			all = append(all, "refused: "+m[0])
		}
		if index := m[1] + m[5]; index != "" {
			next, _ = strconv.Atoi(index)
		}
		all = append(all, strconv.Itoa(next)+" "+m[4]+kind)
		next++
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// single reports whether a phrase is said of one thing, and these verbs are among
// those that are said of more: in some languages none or twenty-one are single too,
// so that the number has to be named.
func (p *phraseSource) single(english string, verbs []string) bool {
	many, ok := p.many[english]
	all := verbsOf(many)
	return ok && !slices.ContainsFunc(verbs, func(v string) bool { return !slices.Contains(all, v) })
}

func TestVerbsOf(t *testing.T) {
	for format, want := range map[string][]string{
		"no verb, 95 %%":        nil,
		"%s by %d":              {"1 s", "2 d"},
		"%[2]d: %[1]s":          {"1 s", "2 d"},
		"%+.1f ms, %.1[1]f":     {"1 .1f"},
		"%[1].1f":               {"1 .1f", "refused: %[1].1f"},
		"%.*f of %q":            {"1 *", "2 .*f", "3 q"},
		"%[3]s%[1]s %d":         {"1 s", "2 d", "3 s"},
		"± %.2f, %.4g %% of %v": {"1 .2f", "2 .4g", "3 v"},
	} {
		if got := verbsOf(format); !slices.Equal(got, want) {
			t.Errorf("%q: got %q, want %q", format, got, want)
		}
	}
}

func TestCatalogues(t *testing.T) {
	source := readPhrases(t)
	if len(source.found) < 100 {
		t.Fatalf("only %d phrases found", len(source.found))
	}
	lacking := map[string]string{}
	for _, l := range prefs.Languages {
		if l.Tag == prefs.Languages[0].Tag {
			continue
		}
		for _, english := range checkCatalogue(t, l, source) {
			lacking[english] = ""
		}
	}
	if *skeleton == "" {
		return
	}
	data, err := json.MarshalIndent(lacking, "", "  ")
	if err == nil {
		err = os.WriteFile(*skeleton, data, 0o644)
	}
	if err != nil {
		t.Error(err)
	}
}

// checkCatalogue compares the catalogue of a language with the phrases there are, and
// returns those that it lacks.
func checkCatalogue(t *testing.T, l prefs.Language, source *phraseSource) (lacks []string) {
	t.Helper()
	data := must.Get(assets.Translations.ReadFile("translations/" + l.Tag + ".json"))(t)
	known := map[string]string{}
	if err := json.Unmarshal(data, &known); err != nil {
		t.Fatalf("%s.json: %v", l.Tag, err)
	}
	for english, where := range source.found {
		if known[english] != "" || !word.MatchString(verb.ReplaceAllString(english, "")) {
			continue // figures need no catalogue
		}
		lacks = append(lacks, english)
		t.Errorf("%s.json lacks %q of %s", l.Tag, english, where)
	}
	t.Logf("%s.json lacks %d of %d phrases", l.Tag, len(lacks), len(source.found))
	for english, said := range known {
		if _, ok := source.found[english]; !ok {
			t.Errorf("%s.json has %q, which nobody says", l.Tag, english)
		}
		want, got := verbsOf(english), verbsOf(said)
		if source.formats[english] && !slices.Equal(got, want) && !source.single(english, got) {
			t.Errorf("%s.json: %q has the verbs %q, %q has %q", l.Tag, english, want, said, got)
		}
	}
	return lacks
}

// Every letter of a catalogue is in the font that the window, or a figure, shows it in.
func TestCataloguesCanBeDrawn(t *testing.T) {
	if testing.Short() {
		t.Skip("reads every font")
	}
	for _, l := range prefs.Languages[1:] {
		shown := assets.Font(l.Tag, false)
		drawn := shown
		if shown == nil {
			shown, drawn = theme.DefaultTheme().Font(fyne.TextStyle{}).Content(), liberationsansregular.TTF
		}
		inWindow, inFigure := parseFont(t, shown), parseFont(t, drawn)
		used := must.Get(prefs.CatalogueOf(l))(t)
		for english, where := range readPhrases(t).found {
			font := inWindow
			if strings.HasPrefix(where, "../plotting") {
				font = inFigure
			}
			for _, r := range used.Look(english) {
				glyph, err := font.GlyphIndex(nil, r)
				if (err != nil || glyph == 0) && r != '\n' && used.Look(english) != english {
					t.Errorf("%s: no %q for %q of %s", l.Tag, r, used.Look(english), where)
				}
			}
		}
	}
}

func parseFont(t *testing.T, data []byte) *sfnt.Font {
	t.Helper()
	font := must.Get(sfnt.Parse(data))(t)
	return font
}

// The list of languages is in a font that has the letters of all that can be chosen,
// whatever language is in use.
func TestLanguageChoicesCanBeDrawn(t *testing.T) {
	inEnglish(t)
	w := testWindow(t)
	for _, l := range prefs.Languages {
		must.Do(t, prefs.Speak(l.Tag))
		w.desk.Prefs.ApplyTheme(prefs.LeastText, prefs.MostText)
		w.askPreferences()
		pressIn(t, w, i18n.L("As the system"))
		list := inDialog[*kit.Rows](t, w)[0]
		font := parseFont(t, list.Theme().Font(fyne.TextStyle{}).Content())
		for _, choice := range prefs.LanguageChoices() {
			for _, r := range choice.Words {
				if glyph, err := font.GlyphIndex(nil, r); err != nil || glyph == 0 {
					t.Errorf("in %s %q has no %q", l.Name, choice.Words, r)
				}
			}
		}
		list.Select(len(prefs.Languages))
		if b := w.desk.Win.Canvas().Focused().(*kit.Button); b.Text != "日本語" {
			t.Errorf("chosen, it says %q", b.Text)
		}
		w.desk.Dismiss()
	}
}
