package ui

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/calib/i18n"
	"lagwright/internal/must"
	"lagwright/ui/prefs"
)

// TestPagesNameTrueCommands: every command that the README, the handbook or a note of
// what has changed names by its menu is in that menu.
func TestPagesNameTrueCommands(t *testing.T) {
	readme := must.Get(os.ReadFile("../README.md"))(t)
	w := testWindow(t)
	w.Practice()
	there := w.menuPaths()
	playTrap(t, w, "clunk", 6) // what the menus offer depends on the take
	there = append(there, w.menuPaths()...)
	named := regexp.MustCompile(`(Machine|Record|Take|Change|Plate|Set list|View|Help) > `)
	n := 0
	pages := map[string]string{"README": string(readme)}
	for _, p := range assets.Handbook("en") {
		pages[p.Name] = p.Text
	}
	notes, err := filepath.Glob("../.changes/*.md")
	if err != nil || len(notes) == 0 {
		t.Fatal(notes, err)
	}
	for _, path := range notes {
		words := must.Get(os.ReadFile(path))(t)
		pages[filepath.Base(path)] = strings.Join(strings.Fields(string(words)), " ")
	}
	for where, words := range pages {
		words = strings.ReplaceAll(words, "*", "")
		for _, at := range named.FindAllStringIndex(words, -1) {
			n++
			said := words[at[0]:]
			if !slices.ContainsFunc(there, func(path string) bool { return strings.HasPrefix(said, path) }) {
				t.Errorf("the %s names %.40q, which is in no menu", where, said)
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d commands are named", n)
	}
}

// Help shows each page of the handbook, in the reader's language, with
// its pictures; a link leads to the page that it names, and the last page has the keys.
func TestHandbookIsRead(t *testing.T) {
	inEnglish(t)
	for tag, cautions := range map[string]string{"en": "Cautions", "de": "Sicherheit", "sv": "Säkerhet", "fr": "Sécurité", "ja": "安全上の注意"} {
		must.Do(t, prefs.Speak(tag))
		w := testWindow(t)
		r := w.showHandbook("")
		words := ""
		for i, p := range assets.Handbook(tag) {
			r.List.Select(i + 1)
			words = wordsOf(r.Page.Content)
			if text := strings.Fields(p.Title); !strings.Contains(words, text[len(text)-1]) || strings.Contains(words, "](") {
				t.Errorf("%s: the page %s shows %.200q", tag, p.Name, words)
			}
			if shown, want := len(picturesIn(r.Page.Content)), strings.Count(p.Text, "!["); shown != want {
				t.Errorf("%s: the page %s shows %d pictures, want %d", tag, p.Name, shown, want)
			}
		}
		r.List.Select(1)
		if words = wordsOf(r.Page.Content); !strings.Contains(words, cautions) {
			t.Errorf("%s: the second page is no caution: %.100q", tag, words)
		}
		r.List.Select(5) // a take, which begins with a link to the cautions
		tapLink(t, w, r.Page.Content)
		if got := wordsOf(r.Page.Content); got != words {
			t.Errorf("%s: a link to the cautions leads to %.100q", tag, got)
		}
		r.List.Select(r.List.Length() - 1)
		if keys := wordsOf(r.Page.Content); !strings.Contains(keys, i18n.L("Ctrl")+"+"+i18n.L("Shift")+"+A") || !strings.Contains(keys, i18n.L("I will stop the crank first")) {
			t.Errorf("%s: the keys are %.300q", tag, keys)
		}
		r.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeyPageDown})
		if r.Page.Offset.Y <= 0 {
			t.Errorf("%s: Page Down does not scroll", tag)
		}
	}
}

// picturesIn finds the pictures in a tree.
func picturesIn(o fyne.CanvasObject) (found []*canvas.Image) {
	switch o := o.(type) {
	case *canvas.Image:
		return append(found, o)
	case *fyne.Container:
		for _, c := range o.Objects {
			found = append(found, picturesIn(c)...)
		}
	}
	return found
}

// tapLink taps the first link in a tree.
func tapLink(t *testing.T, w *Window, o fyne.CanvasObject) {
	t.Helper()
	for _, c := range test.LaidOutObjects(o) {
		if link, ok := c.(*widget.Hyperlink); ok {
			link.OnTapped()
			return
		}
	}
	t.Error("there is no link")
}

var anyNumber = regexp.MustCompile(`[0-9]+`)

// menuPaths lists every command as "Menu > Command", those of menus within menus
// too. Pages write dots for a number that depends on the take.
func (w *Window) menuPaths() (paths []string) {
	var list func(prefix string, m *fyne.Menu)
	list = func(prefix string, m *fyne.Menu) {
		for _, i := range m.Items {
			if i.Label != "" {
				paths = append(paths, prefix+anyNumber.ReplaceAllString(i.Label, "…"))
			}
			if i.ChildMenu != nil {
				list(prefix, i.ChildMenu)
			}
		}
	}
	for _, m := range w.menu().Items {
		list(m.Label+" > ", m)
	}
	return paths
}

// wordsOf returns the text in a tree of widgets.
func wordsOf(o fyne.CanvasObject) (words string) {
	switch o := o.(type) {
	case *widget.PopUp:
		return wordsOf(o.Content)
	case *container.Scroll:
		return wordsOf(o.Content)
	case *container.Split:
		return wordsOf(o.Leading) + wordsOf(o.Trailing)
	case *widget.Label:
		return o.Text + "\n"
	case *widget.RichText:
		return textOf(o.Segments) + "\n"
	case *fyne.Container:
		for _, c := range o.Objects {
			words += wordsOf(c)
		}
	}
	return words
}

// textOf returns the text of rich text, that in lists too.
func textOf(parts []widget.RichTextSegment) (words string) {
	for _, p := range parts {
		switch p := p.(type) {
		case *widget.ListSegment:
			words += textOf(p.Items)
		case *widget.ParagraphSegment:
			words += textOf(p.Texts)
		default:
			words += p.Textual()
		}
	}
	return words
}
