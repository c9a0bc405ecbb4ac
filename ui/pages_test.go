package ui

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/ui/help"
)

// TestPagesNameTrueCommands: every command that help, the README or the handbook names
// by its menu is in that menu.
func TestPagesNameTrueCommands(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	w := testWindow(t)
	w.Practice()
	there := w.menuPaths()
	playTrap(t, w, "clunk", 6) // what the menus offer depends on the take
	there = append(there, w.menuPaths()...)
	named := regexp.MustCompile(`(Session|Record|Take|Change|Plate|Set list|View|Help) > `)
	help.Show(w.desk)
	n := 0
	pages := map[string]string{"help": wordsOf(shownDialog(t, w)), "README": string(readme)}
	for _, p := range assets.Handbook("en") {
		pages[p.Name] = p.Text
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
	case *widget.RichText:
		return o.String() + "\n"
	case *fyne.Container:
		for _, c := range o.Objects {
			words += wordsOf(c)
		}
	}
	return words
}
