package bench

import (
	"bytes"
	"context"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
)

// ExportSongs writes the set list as CSV to the file at path, whole or not at all.
func (b *Bench) ExportSongs(path string) error {
	var text bytes.Buffer
	err := machine.WriteSongs(&text, b.Machine().SetList())
	if err == nil {
		err = atomicfile.Write(path, atomicfile.Bytes(text.Bytes()))
	}
	if err != nil {
		return i18n.Errorf("the set list was not exported to %s: %w", path, err)
	}
	return nil
}

// Export writes the machine and its takes into one zip; see machine.Folder.Export.
func (b *Bench) Export(ctx context.Context, path string, progress func(float64)) (missing []string, err error) {
	return b.folder.Export(ctx, path, progress)
}

// Duplicate copies the machine and its takes into a new folder; see
// machine.Folder.Duplicate.
func (b *Bench) Duplicate(ctx context.Context, progress func(float64)) (dir string, err error) {
	return b.folder.Duplicate(ctx, progress)
}
