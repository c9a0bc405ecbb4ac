package ui

import (
	"bytes"
	"context"
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
	"lagwright/plotting"
)

// copyOfSession has what can be copied of the session.
func (w *Window) copyOfSession(ready, taken bool) *fyne.MenuItem {
	return submenu(i18n.L("Copy"), ready,
		entry(i18n.L("The curve"), nil, ready, func() { w.copyFigure(i18n.L("the curve"), w.curveFigure) }),
		entry(i18n.L("The card"), nil, ready, func() { w.copyFigure(i18n.L("the card"), w.cardFigure) }),
		entry(i18n.L("All readings as a table"), nil, ready && taken, w.copyReadings),
	)
}

// copyOfTake has what can be copied of the take in sight.
func (w *Window) copyOfTake(on bool) *fyne.MenuItem {
	return submenu(i18n.L("Copy"), on,
		entry(i18n.L("The reading in words"), ctrlShift(fyne.KeyC), on, w.copyWords),
		entry(i18n.L("The report"), nil, on, func() { w.copyFigure(i18n.L("the report"), w.reportFigure) }),
		entry(i18n.L("The take picture"), nil, on, func() { w.copyFigure(i18n.L("the take picture"), w.pictureFigure) }),
		entry(i18n.L("The hit fan"), nil, on, func() { w.copyFigure(i18n.L("the hit fan"), w.fanFigure) }),
	)
}

func submenu(label string, on bool, items ...*fyne.MenuItem) *fyne.MenuItem {
	i := entry(label, nil, on, nil)
	i.ChildMenu = fyne.NewMenu("", items...)
	return i
}

// copyWords copies what the take in sight says, in words.
func (w *Window) copyWords() {
	if t, ok := w.inSight(); ok && w.ready() {
		w.copyText(i18n.L("the reading in words"), plotting.ReportOf(w.view(), t).Words())
	}
}

// copyReadings copies the table of all readings, for a spreadsheet.
func (w *Window) copyReadings() {
	if w.ready() {
		w.copyText(i18n.L("all readings as a table"), plotting.ReadingsText(w.view()))
	}
}

func (w *Window) copyText(what, text string) {
	w.app.Clipboard().SetContent(text)
	w.notice.say(i18n.F("Copied %s.", what), false)
}

// copied is what became of a picture that was to be copied.
type copied struct {
	path string // where it was saved instead; empty = it is on the clipboard
	why  error  // why it is not
}

// copyFigure copies a figure as a picture, the first page where there are several.
// Where pictures cannot be copied it is saved, and what is copied is its path.
func (w *Window) copyFigure(what string, figure func() (*plotting.Figure, error)) {
	if !w.ready() {
		return
	}
	f, err := figure()
	start(w.jobs, i18n.F("Copying %s…", what), func(context.Context, func(float64)) (copied, error) {
		if err != nil {
			return copied{}, err
		}
		var png bytes.Buffer
		if err := f.WriteTo(&png, "png"); err != nil {
			return copied{}, err
		}
		why := w.copyPNG(png.Bytes())
		if why == nil {
			return copied{}, nil
		}
		path, err := keepPicture(png.Bytes())
		return copied{path, why}, err
	}, func(c copied, err error) {
		w.tell(err)
		switch {
		case err != nil:
		case c.path == "":
			w.notice.say(copiedWords(what, len(f.Pages())), false)
		default:
			w.app.Clipboard().SetContent(c.path)
			w.notice.say(keptWords(what, len(f.Pages()), c), false)
		}
		w.refresh()
	})
}

// copiedWords says what was copied, and which page where there are several.
func copiedWords(what string, pages int) string {
	if pages > 1 {
		return i18n.F("Copied %s, page 1 of %d.", what, pages)
	}
	return i18n.F("Copied %s.", what)
}

// keptWords says what was saved instead, and why.
func keptWords(what string, pages int, c copied) string {
	if pages > 1 {
		return i18n.F("Saved %s, page 1 of %d as %s and copied that path, for the picture itself cannot be copied here: %v.", what, pages, c.path, c.why)
	}
	return i18n.F("Saved %s as %s and copied that path, for the picture itself cannot be copied here: %v.", what, c.path, c.why)
}

// keepPicture saves a picture in a temporary place of its own.
func keepPicture(png []byte) (path string, err error) {
	dir, err := os.MkdirTemp("", "lagwright-")
	if err != nil {
		return "", err
	}
	path = filepath.Join(dir, "picture.png")
	return path, atomicfile.Write(path, atomicfile.Bytes(png))
}

// saveReadings asks where to save the table of all readings.
func (w *Window) saveReadings() {
	w.askFile(i18n.L("Save all readings…"), i18n.L("as .csv"), "readings.csv", w.writeReadings)
}

func (w *Window) writeReadings(path string) {
	target := path
	if filepath.Ext(path) == "" {
		target += ".csv"
	}
	v := w.view()
	w.saving(target, func() (string, error) {
		return i18n.F("Saved %s.", target), plotting.SaveReadings(target, v)
	})
}
