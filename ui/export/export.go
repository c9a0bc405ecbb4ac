// Package export saves and copies what a session and a take give: figures, the card, a
// report, tables. Each is an entry of OfSession or OfTake, and what it is made by.
package export

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting"
	"lagwright/ui/clip"
	"lagwright/ui/desk"
	"lagwright/ui/trace"
)

// Exports saves and copies what the session and the take in sight give.
type Exports struct {
	d       *desk.Desk
	inSight func() (loop.Result, bool)
	trace   *trace.Trace
	song    func() int
	CopyPNG func(png []byte) error // puts a picture on the clipboard
}

// New exports what is in sight; song is the one in hand.
func New(d *desk.Desk, inSight func() (loop.Result, bool), trace *trace.Trace, song func() int) *Exports {
	return &Exports{d: d, inSight: inSight, trace: trace, song: song, CopyPNG: clip.Picture}
}

// SaveCurve asks where to save the curve as a picture.
func (e *Exports) SaveCurve() { e.saveFigure(i18n.L("Save the curve…"), "curve.png", e.CurveFigure) }

// CurveFigure is the curve, with the set list on it.
func (e *Exports) CurveFigure() (*plotting.Figure, error) {
	if err := e.d.View().Err; err != nil {
		return nil, err
	}
	curve := plotting.SetListCurveOf(e.d.View(), e.song())
	curve.Paper = e.d.Prefs.Paper()
	return curve.Figure(plotting.Light())
}

// SaveFan asks where to save the hit fan of the take in sight as a picture.
func (e *Exports) SaveFan() {
	if t, ok := e.inSight(); ok {
		e.saveFigure(i18n.L("Save the hit fan…"), fmt.Sprintf("fan-%03d.png", t.Take.ID), e.FanFigure)
	}
}

// FanFigure is the hit fan of the take in sight.
func (e *Exports) FanFigure() (*plotting.Figure, error) {
	t, ok := e.inSight()
	if !ok {
		return nil, errNoTake()
	}
	return plotting.FanOf(t, e.d.Session().ToleranceMS).Figure(plotting.Light())
}

// cardName is what a card is called unless somebody says otherwise.
const cardName = "card.png"

// What the figures are called that are tables as well.
const (
	tableName = "table.png"
	creepName = "creep.png"
)

// SaveCard asks where to save the setting card as a picture.
func (e *Exports) SaveCard() { e.saveFigure(i18n.L("Save the card…"), cardName, e.CardFigure) }

// CardFigure is the setting card of today.
func (e *Exports) CardFigure() (*plotting.Figure, error) {
	card, err := plotting.CardOf(e.d.View(), time.Now())
	if err != nil {
		return nil, err
	}
	card.Paper = e.d.Prefs.Paper()
	return card.Figure()
}

// TableFigure is each setting with the tempos at which it stays tight.
func (e *Exports) TableFigure() (*plotting.Figure, error) {
	if err := e.d.View().Err; err != nil {
		return nil, err
	}
	stairs := plotting.StaircaseOf(e.d.View())
	stairs.Paper = e.d.Prefs.Paper()
	return stairs.Figure(plotting.Light())
}

// CreepFigure is how the voices' lags have moved from day to day.
func (e *Exports) CreepFigure() (*plotting.Figure, error) {
	if err := e.d.View().Err; err != nil {
		return nil, err
	}
	days := plotting.DaysOf(e.d.View())
	days.Paper = e.d.Prefs.Paper()
	return days.Figure(plotting.Light())
}

// saveFigure asks for a file, as a command says, and saves a figure into it.
func (e *Exports) saveFigure(command, name string, figure func() (*plotting.Figure, error)) {
	kinds := i18n.L("as .png, .svg or .pdf")
	if name == cardName || name == tableName || name == creepName {
		kinds = i18n.L("as .png, .svg, .pdf or .csv")
	}
	e.askFile(command, kinds, name, func(path string) { e.WriteFigure(path, figure) })
}

// askFile asks for a file, at first in the session's folder, and hands on its path.
func (e *Exports) askFile(command, kinds, name string, save func(path string)) {
	if e.d.Ready() {
		e.d.AskPath(strings.TrimSuffix(command, "…"), kinds, e.d.Bench.Dir(), name, save)
	}
}

// WriteFigure draws and saves a figure as a job.
func (e *Exports) WriteFigure(path string, figure func() (*plotting.Figure, error)) {
	f, err := figure()
	if e.d.Tell(err); err != nil {
		return
	}
	e.saving(path, func() (string, error) {
		if err := f.Save(path); err != nil {
			return "", err
		}
		return SavedWords(f.Files(path), f.Left(path)), nil
	})
}

// saving saves something as a job and says what was saved.
func (e *Exports) saving(path string, save func() (string, error)) {
	desk.Start(e.d, i18n.F("Saving %s…", filepath.Base(path)), func(context.Context, func(float64)) (string, error) { return save() },
		func(saved string) { e.d.Saved(saved, path) })
}

// SavedWords names all files of a figure that was saved, and those that could be
// taken for more of its pages.
func SavedWords(files, left []string) string {
	bases := func(paths []string) string {
		var names []string
		for _, path := range paths {
			names = append(names, filepath.Base(path))
		}
		return strings.Join(names, ", ")
	}
	words := i18n.F("Saved %s.", files[0])
	if len(files) > 1 {
		words = i18n.F("Saved %d pages in %s: %s.", len(files), filepath.Dir(files[0]), bases(files))
	}
	if len(left) > 0 {
		words += " " + i18n.F("Left in place, being no pages of this figure: %s.", bases(left))
	}
	return words
}
