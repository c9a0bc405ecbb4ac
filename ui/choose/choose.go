// Package choose asks for files and folders: for one that is there, and for where to save
// something. The toolkit's own dialogs have sentences glued from parts, which other
// languages cannot say, no place for a path and a dozen widgets before the files; the one
// that saves empties a file of that name before anything is saved.
package choose

import (
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/ui/kit"
)

// Chooser is a dialog in which a file or a folder is chosen: from what lies in a folder,
// or by its path, typed.
type Chooser struct {
	Path *kit.Field
	List *kit.Rows
	Open *kit.Button

	f       *kit.Frame
	kinds   []string // endings of the files wanted; none = a folder is
	dir     string   // that is listed
	entries []string // in it: ".." first, folders with a slash at the end, then files
	dialog  *kit.Dialog
	chosen  func(path string)
}

// File asks for a file of one of some kinds (endings such as ".wav"), at first
// in a folder, and hands on its path.
func File(f *kit.Frame, dir string, kinds []string, chosen func(path string)) *Chooser {
	return begin(f, i18n.L("Choose a file"), i18n.L("Open"), dir, kinds, chosen)
}

// Folder does the same for a folder.
func Folder(f *kit.Frame, dir string, chosen func(path string)) *Chooser {
	return begin(f, i18n.L("Choose a folder"), i18n.L("Use this folder"), dir, nil, chosen)
}

func begin(f *kit.Frame, title, open, dir string, kinds []string, chosen func(path string)) *Chooser {
	c := &Chooser{f: f, kinds: kinds, chosen: chosen, Path: kit.NewField("")}
	c.Path.Validator = func(path string) error {
		if _, err := os.Stat(path); err != nil {
			return i18n.Errorf("a path that exists")
		}
		return nil
	}
	c.Open = kit.NewButton(open, c.take).Bright()
	c.Path.OnChanged = func(path string) { kit.Enable(c.Open, c.wanted(path)) }
	c.Path.OnSubmitted = func(path string) {
		if len(c.kinds) > 0 && isFolder(path) {
			c.show(path)
			return
		}
		c.take()
	}
	c.List = kit.NewRows(i18n.L("What is in the folder"), func() int { return len(c.entries) }, c.say)
	c.List.OnSelected, c.List.Typed = c.pick, c.typed
	places := kit.NewFlow()
	for _, p := range placesHere() {
		places.Add(kit.NewButton(filepath.Base(p), func() { c.show(p) }))
	}
	top := container.NewVBox(c.Path, places)
	cancel := kit.NewButtonWithIcon(i18n.L("Cancel"), theme.CancelIcon(), nil)
	c.dialog = f.Dialog(title, container.NewBorder(top, nil, nil, nil, c.List), 760, 560, cancel, c.Open)
	for _, at := range append([]string{dir}, placesHere()...) {
		if c.show(at) {
			break
		}
	}
	f.Focus(c.List)
	return c
}

// isFolder reports whether there is a folder at a path.
func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// wanted reports whether what is at a path is what is asked for.
func (c *Chooser) wanted(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir() == (len(c.kinds) == 0)
}

// take takes what the path names.
func (c *Chooser) take() {
	if path := c.Path.Text; c.wanted(path) {
		c.dialog.Hide()
		c.chosen(filepath.Clean(path))
	}
}

// show lists a folder, and reports whether it can.
func (c *Chooser) show(dir string) bool {
	found, err := os.ReadDir(dir)
	if err != nil {
		return false
	}
	var folders, files []string
	for _, e := range found {
		path := filepath.Join(dir, e.Name())
		switch {
		case strings.HasPrefix(e.Name(), "."):
		case isFolder(path): // a link to one counts
			folders = append(folders, e.Name()+"/")
		case slices.ContainsFunc(c.kinds, func(kind string) bool { return strings.EqualFold(kind, filepath.Ext(e.Name())) }):
			files = append(files, e.Name())
		}
	}
	from := c.dir
	c.dir, c.entries = filepath.Clean(dir), append(append([]string{".."}, folders...), files...)
	c.Path.SetText(c.dir)
	c.List.UnselectAll()
	c.List.Refresh()
	c.List.ScrollTo(max(slices.Index(c.entries, filepath.Base(from)+"/"), 0))
	return true
}

// say names an entry.
func (c *Chooser) say(i int) string {
	if i == 0 {
		return i18n.F("up to %s", filepath.Dir(c.dir))
	}
	return c.entries[i]
}

// pick goes into a folder, or names a file; the same one again takes it.
func (c *Chooser) pick(i widget.ListItemID) {
	path := filepath.Join(c.dir, c.entries[i])
	if isFolder(path) {
		if c.List.UnselectAll(); !c.show(path) {
			c.f.Tell(i18n.Errorf("the folder %s cannot be read: choose another one", path))
		}
		return
	}
	again := c.Path.Text == path
	c.Path.SetText(path)
	c.List.UnselectAll()
	if again {
		c.take()
	}
}

// typed goes on with the path by what is typed in the list: below the folder listed, or from
// the root.
func (c *Chooser) typed(r rune) {
	c.f.Focus(c.Path)
	if !os.IsPathSeparator(uint8(min(r, 127))) {
		c.Path.SetText(strings.TrimSuffix(c.dir, string(filepath.Separator)) + string(filepath.Separator))
		c.Path.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEnd})
	}
	c.Path.TypedRune(r)
}

// placesHere are where people keep what they look for: their own folders, and what is
// plugged in.
func placesHere() (all []string) {
	if home, err := os.UserHomeDir(); err == nil {
		all = append(all, home, filepath.Join(home, "Documents"), filepath.Join(home, "Downloads"))
	}
	plugged := []string{"/media/*/*", "/run/media/*/*", "/mnt/*", "/Volumes/*"}
	if runtime.GOOS == "windows" {
		plugged = []string{`[C-Z]:\`}
	}
	for _, at := range plugged {
		found, _ := filepath.Glob(at)
		all = append(all, found...)
	}
	return slices.DeleteFunc(all, func(path string) bool { return !isFolder(path) })
}

// Path asks where to save something, at first under a name in a folder, and hands on the
// path; kinds says which kinds of file it may be. What was there stays until the new one is
// whole.
func Path(f *kit.Frame, title, kinds, dir, name string, save func(path string)) {
	file := kit.NewField(name)
	file.Validator = func(s string) error {
		switch s = strings.TrimSpace(s); {
		case s == "":
			return i18n.Errorf("a name")
		case filepath.Base(s) != s:
			return i18n.Errorf("a name without folders")
		}
		return nil
	}
	folder, choose := FolderField(f, dir)
	f.Form(title, i18n.L("Save"), []*widget.FormItem{
		kit.Item(i18n.L("Name"), kinds, file),
		kit.Item(i18n.L("Folder"), "", container.NewBorder(nil, nil, nil, choose, folder)),
	}, func() {
		path := filepath.Join(folder.Text, strings.TrimSpace(file.Text))
		if filepath.Ext(path) == "" {
			path += filepath.Ext(name)
		}
		f.Overwrite(path, save)
	})
	f.Focus(file) // a name without an ending gets the one it had
}

// FolderField is a field for a folder, and the button that chooses one.
func FolderField(f *kit.Frame, dir string) (folder *kit.Field, choose *kit.Button) {
	folder = kit.NewField(dir)
	return folder, kit.NewIconButton(i18n.L("Choose a folder"), theme.FolderOpenIcon(), func() { Folder(f, folder.Text, folder.SetText) })
}
