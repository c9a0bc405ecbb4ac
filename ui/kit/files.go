package kit

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// AskPath asks where to save something, at first under a name in a folder, and hands
// on the path; kinds says which kinds of file it may be. The toolkit's own dialog would
// empty a file of that name before anything was saved; here what was there stays until
// the new one is whole.
func (f *Frame) AskPath(title, kinds, dir, name string, save func(path string)) {
	file := NewField(name)
	file.Validator = func(s string) error {
		switch s = strings.TrimSpace(s); {
		case s == "":
			return i18n.Errorf("a name")
		case filepath.Base(s) != s:
			return i18n.Errorf("a name without folders")
		}
		return nil
	}
	folder, choose := f.FolderField(dir)
	f.Form(title, i18n.L("Save"), []*widget.FormItem{
		Item(i18n.L("Name"), kinds, file),
		Item(i18n.L("Folder"), "", container.NewBorder(nil, nil, nil, choose, folder)),
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
func (f *Frame) FolderField(dir string) (folder *Field, choose *Button) {
	folder = NewField(dir)
	return folder, NewIconButton(i18n.L("Choose the folder"), theme.FolderOpenIcon(), func() { f.ChooseFolder(folder.Text, folder.SetText) })
}

// Show has another program open a file or a folder.
func (f *Frame) Show(path string) {
	if err := f.OpenFile(&url.URL{Scheme: "file", Path: path}); err != nil {
		f.Tell(i18n.Errorf("nothing here opens %s (%w): open it yourself, in your file manager", path, err))
	}
}

// Saved says what was saved, with buttons that open it and show its folder.
func (f *Frame) Saved(words, path string) {
	f.Notice.Say(words, false, NewButton(i18n.L("Open"), func() { f.Show(path) }), NewButton(i18n.L("Show in folder"), func() { f.Show(filepath.Dir(path)) }))
}

// Overwrite saves to a path, and asks before where something is there already.
func (f *Frame) Overwrite(path string, save func(path string)) {
	if _, err := os.Lstat(path); err != nil {
		save(path)
		return
	}
	f.Confirm(i18n.L("Replace it?"), i18n.F("%s exists already. Saving now replaces it.", filepath.Base(path)), i18n.L("Replace"), i18n.L("Cancel"), true,
		func() { save(path) }, func() {})
}
