package export

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"lagwright/calib/i18n"
	"lagwright/plotting"
)

// print sends a figure to the usual printer. Where there is none it opens the page, for
// whatever shows PDFs can print.
func (e *Exports) print(f figure) {
	if !e.d.Ready() {
		return
	}
	paper := e.d.Prefs.Paper()
	e.start(i18n.F("Printing %s…", f.what), f.drawing(), func(ctx context.Context, drawn *plotting.Figure) (came, error) {
		dir, err := os.MkdirTemp("", "lagwright-")
		if err != nil {
			return came{}, err
		}
		path := filepath.Join(dir, "page.pdf")
		if err := drawn.Save(path); err != nil {
			return came{}, err
		}
		if why := lp(ctx, paper, path); why != nil {
			said := i18n.F("Not printed (%v). The page is opened instead, to print it from there: %s.", why, path)
			return came{said, path, func() { e.d.Show(path) }}, nil
		}
		os.RemoveAll(dir) // the printer has its own copy
		return came{said: i18n.F("Sent %s to the printer.", f.what)}, nil
	})
}

// copy copies a figure as a picture.
func (e *Exports) copy(f figure) {
	if !e.d.Ready() {
		return
	}
	e.start(i18n.F("Copying %s…", f.what), f.drawing(), func(_ context.Context, drawn *plotting.Figure) (came, error) {
		var png bytes.Buffer
		if err := drawn.WriteTo(&png, "png"); err != nil {
			return came{}, err
		}
		if err := e.CopyPNG(png.Bytes()); err != nil {
			return came{}, i18n.Errorf("%s cannot be copied here (%w): save it instead", f.what, err)
		}
		return came{said: i18n.F("Copied %s.", f.what)}, nil
	})
}

// lp prints a PDF by the system's own command (POSIX; the options are those of CUPS).
func lp(ctx context.Context, paper plotting.Paper, path string) error {
	program, err := exec.LookPath("lp")
	if err != nil {
		return i18n.Errorf("there is no program lp here")
	}
	said, err := exec.CommandContext(ctx, program, "-o", "media="+string(paper), "-o", "fit-to-page", "--", path).CombinedOutput()
	if err != nil {
		return i18n.Errorf("lp says: %s", strings.TrimSpace(string(said)))
	}
	return nil
}
