package export

import (
	"bytes"
	"context"
	"os"
	"path/filepath"

	"fyne.io/fyne/v2"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// OfSession are the commands that save and copy what is of the session.
func (e *Exports) OfSession(ready bool) []*fyne.MenuItem {
	taken := ready && len(e.d.Session().Takes) > 0
	return kit.Apart(
		kit.Entry(i18n.L("Save the curve…"), kit.Ctrl(fyne.KeyE), ready, e.SaveCurve),
		kit.Entry(i18n.L("Save the card…"), kit.CtrlShift(fyne.KeyE), ready, e.SaveCard),
		kit.Entry(i18n.L("Save the tempo table…"), nil, taken, func() { e.saveFigure(i18n.L("Save the tempo table…"), tableName, e.TableFigure) }),
		kit.Entry(i18n.L("Save the days…"), nil, taken, func() { e.saveFigure(i18n.L("Save the days…"), creepName, e.CreepFigure) }),
		kit.Entry(i18n.L("Print the card"), kit.CtrlShift(fyne.KeyP), ready, func() { e.print(i18n.L("the card"), e.CardFigure) }),
		kit.Entry(i18n.L("Save all readings…"), nil, taken, e.saveReadings),
		kit.Submenu(i18n.L("Copy"), ready,
			kit.Entry(i18n.L("The curve"), nil, ready, func() { e.copyFigure(i18n.L("the curve"), e.CurveFigure) }),
			kit.Entry(i18n.L("The card"), nil, ready, func() { e.copyFigure(i18n.L("the card"), e.CardFigure) }),
			kit.Entry(i18n.L("All readings as a table"), nil, taken, e.CopyReadings),
		),
		e.d.Prefs.PaperMenu(e.d.Refresh),
	)
}

// OfTake are those of the take in sight.
func (e *Exports) OfTake(on bool) []*fyne.MenuItem {
	return kit.Apart(
		kit.Entry(i18n.L("Save a report…"), kit.Ctrl(fyne.KeyD), on, e.SaveReport),
		kit.Entry(i18n.L("Print the report"), nil, on, func() { e.print(i18n.L("the report"), e.ReportFigure) }),
		kit.Entry(i18n.L("Save take picture…"), nil, on, e.savePicture),
		kit.Entry(i18n.L("Save the hit fan…"), nil, on, e.SaveFan),
		kit.Submenu(i18n.L("Copy"), on,
			kit.Entry(i18n.L("The reading in words"), kit.CtrlShift(fyne.KeyC), on, e.copyWords),
			kit.Entry(i18n.L("The report"), nil, on, func() { e.copyFigure(i18n.L("the report"), e.ReportFigure) }),
			kit.Entry(i18n.L("The take picture"), nil, on, func() { e.copyFigure(i18n.L("the take picture"), e.PictureFigure) }),
			kit.Entry(i18n.L("The hit fan"), nil, on, func() { e.copyFigure(i18n.L("the hit fan"), e.FanFigure) }),
		),
	)
}

// copyWords copies what the take in sight says, in words.
func (e *Exports) copyWords() {
	if t, ok := e.inSight(); ok && e.d.Ready() {
		e.d.Copy(i18n.L("the reading in words"), plotting.ReportOf(e.d.View(), t).Words())
	}
}

// CopyReadings copies the table of all readings, for a spreadsheet.
func (e *Exports) CopyReadings() {
	if e.d.Ready() {
		e.d.Copy(i18n.L("all readings as a table"), plotting.ReadingsText(e.d.View()))
	}
}

// copied is what became of a picture that was to be copied.
type copied struct {
	path string // where it was saved instead; empty = it is on the clipboard
	why  error  // why it is not
}

// copyFigure copies a figure as a picture, the first page where there are several.
// Where pictures cannot be copied it is saved, and what is copied is its path.
func (e *Exports) copyFigure(what string, figure func() (*plotting.Figure, error)) {
	if !e.d.Ready() {
		return
	}
	f, err := figure()
	if e.d.Tell(err); err != nil {
		return
	}
	desk.Start(e.d, i18n.F("Copying %s…", what), func(context.Context, func(float64)) (copied, error) {
		var png bytes.Buffer
		if err := f.WriteTo(&png, "png"); err != nil {
			return copied{}, err
		}
		why := e.CopyPNG(png.Bytes())
		if why == nil {
			return copied{}, nil
		}
		path, err := keepPicture(png.Bytes())
		return copied{path, why}, err
	}, func(c copied) {
		if c.path == "" {
			e.d.Notice.Say(copiedWords(what, len(f.Pages())), false)
			return
		}
		fyne.CurrentApp().Clipboard().SetContent(c.path)
		e.d.Saved(keptWords(what, len(f.Pages()), c), c.path)
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
func (e *Exports) saveReadings() {
	e.askFile(i18n.L("Save all readings…"), i18n.L("as .csv"), "readings.csv", e.WriteReadings)
}

// WriteReadings saves the table of all readings at path, as a job.
func (e *Exports) WriteReadings(path string) {
	v := e.d.View()
	e.saving(path, func() (string, error) {
		return i18n.F("Saved %s.", path), plotting.SaveReadings(path, v)
	})
}
