package export

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/desk"
)

// printed is what became of a page that was to be printed.
type printed struct {
	path string // of the PDF
	why  error  // why it was not sent to the printer; nil = it was
}

// print sends a figure to the usual printer. Where there is none it opens the page, for
// whatever shows PDFs can print.
func (e *Exports) print(what string, figure func() (*plotting.Figure, error)) {
	if !e.d.Ready() {
		return
	}
	f, err := figure()
	if e.d.Tell(err); err != nil {
		return
	}
	paper := e.d.Prefs.Paper()
	desk.Start(e.d, i18n.F("Printing %s…", what), func(ctx context.Context, _ func(float64)) (printed, error) {
		dir, err := os.MkdirTemp("", "lagwright-")
		if err != nil {
			return printed{}, err
		}
		path := filepath.Join(dir, "page.pdf")
		if err := f.Save(path); err != nil {
			return printed{}, err
		}
		why := lp(ctx, paper, path)
		if why == nil {
			os.RemoveAll(dir) // the printer has its own copy
		}
		return printed{path, why}, nil
	}, func(p printed) {
		if p.why == nil {
			e.d.Notice.Say(i18n.F("Sent %s to the printer.", what), false)
			return
		}
		e.d.Saved(i18n.F("Not printed (%v). The page is opened instead, to print it from there: %s.", p.why, p.path), p.path)
		e.d.Show(p.path)
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
