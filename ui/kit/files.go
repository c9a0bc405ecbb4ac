package kit

import (
	"net/url"
	"os"
	"path/filepath"

	"lagwright/calib/i18n"
)

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
	f.Ask(i18n.L("Replace it?"), i18n.F("%s exists already. Saving now replaces it.", filepath.Base(path)), 0, Answer{i18n.L("Cancel"), nil}, Answer{i18n.L("Replace"), func() { save(path) }})
}
