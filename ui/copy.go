package ui

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"

	"lagwright/calib/whole"
	"lagwright/plotting"
)

// copyOfSession has what can be copied of the session.
func (w *Window) copyOfSession(ready, taken bool) *fyne.MenuItem {
	return submenu("Copy", ready,
		entry("The curve", nil, ready, func() { w.copyFigure("curve", w.curveFigure) }),
		entry("The card", nil, ready, func() { w.copyFigure("card", w.cardFigure) }),
		entry("All readings as a table", nil, ready && taken, w.copyReadings),
	)
}

// copyOfTake has what can be copied of the take in sight.
func (w *Window) copyOfTake(on bool) *fyne.MenuItem {
	return submenu("Copy", on,
		entry("The reading in words", ctrlShift(fyne.KeyC), on, w.copyWords),
		entry("The report", nil, on, func() { w.copyFigure("report", w.reportFigure) }),
		entry("The take picture", nil, on, func() { w.copyFigure("take picture", w.pictureFigure) }),
		entry("The hit fan", nil, on, func() { w.copyFigure("hit fan", w.fanFigure) }),
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
		w.copyText("the reading in words", plotting.ReportOf(w.session(), t).Words())
	}
}

// copyReadings copies the table of all readings, for a spreadsheet.
func (w *Window) copyReadings() {
	if w.ready() {
		w.copyText("all readings as a table", plotting.ReadingsText(w.session()))
	}
}

func (w *Window) copyText(what, text string) {
	w.app.Clipboard().SetContent(text)
	w.notice.say("Copied "+what+".", false)
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
	start(w.jobs, "Copying the "+what+"…", func(context.Context, func(float64)) (copied, error) {
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
			w.notice.say("Copied the "+what+firstOf(f)+".", false)
		default:
			w.app.Clipboard().SetContent(c.path)
			w.notice.say(fmt.Sprintf("Saved the %s%s as %s and copied that path, for the picture itself cannot be copied here: %v.", what, firstOf(f), c.path, c.why), false)
		}
		w.refresh()
	})
}

// firstOf says which page was copied of several.
func firstOf(f *plotting.Figure) string {
	if n := len(f.Pages()); n > 1 {
		return fmt.Sprintf(", page 1 of %d", n)
	}
	return ""
}

// keepPicture saves a picture in a temporary place of its own.
func keepPicture(png []byte) (path string, err error) {
	dir, err := os.MkdirTemp("", "lagwright-")
	if err != nil {
		return "", err
	}
	path = filepath.Join(dir, "picture.png")
	return path, whole.Write(path, whole.Bytes(png))
}

// saveReadings asks where to save the table of all readings.
func (w *Window) saveReadings() {
	w.askFile("Save as .csv", "readings.csv", w.writeReadings)
}

func (w *Window) writeReadings(path string) {
	target := path
	if filepath.Ext(path) == "" {
		target += ".csv"
	}
	s := w.session()
	w.saving(path, target, func() (string, error) {
		return "Saved " + target + ".", plotting.SaveReadings(target, s)
	})
}
