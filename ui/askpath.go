package ui

import (
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// askPath asks where to save something, at first under a name in a folder, and hands
// on the path; kinds says which kinds of file it may be. The toolkit's own dialog would empty a file of that name before
// anything was saved; here what was there stays until the new one is whole.
func (w *Window) askPath(title, kinds, dir, name string, save func(path string)) {
	if w.jobs.busy() || w.live != nil {
		return
	}
	file := newField(name)
	file.Validator = func(s string) error {
		switch s = strings.TrimSpace(s); {
		case s == "":
			return i18n.Errorf("a name")
		case filepath.Base(s) != s:
			return i18n.Errorf("a name without folders")
		}
		return nil
	}
	folder := newField(dir)
	choose := newIconButton(i18n.L("Choose the folder"), theme.FolderOpenIcon(), func() {
		d := dialog.NewFolderOpen(func(chosen fyne.ListableURI, err error) {
			w.tell(err)
			if chosen != nil {
				folder.SetText(chosen.Path())
			}
		}, w.win)
		from(d, folder.Text)
		w.showFolders(d)
	})
	w.form(title, i18n.L("Save"), []*widget.FormItem{
		item(i18n.L("Name"), kinds, file),
		item(i18n.L("Folder"), "", container.NewBorder(nil, nil, nil, choose, folder)),
	}, func() {
		path := filepath.Join(folder.Text, strings.TrimSpace(file.Text))
		if filepath.Ext(path) == "" {
			path += filepath.Ext(name)
		}
		w.overwrite(path, save)
	})
	w.win.Canvas().Focus(file)
	file.TypedShortcut(&fyne.ShortcutSelectAll{}) // a name without an ending gets the one it had
}

// overwrite saves to a path, and asks before where something is there already.
func (w *Window) overwrite(path string, save func(path string)) {
	if _, err := os.Lstat(path); err != nil {
		save(path)
		return
	}
	w.confirm(i18n.L("Replace it?"), i18n.F("%s is there already. What is saved now takes its place.", filepath.Base(path)), i18n.L("Replace"), i18n.L("Cancel"),
		func() { save(path) }, func() {})
}
