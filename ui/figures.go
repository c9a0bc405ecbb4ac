package ui

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/plotting"
)

// saveCurve asks where to save the curve as a picture.
func (w *Window) saveCurve() { w.saveFigure(i18n.L("Save the curve…"), "curve.png", w.curveFigure) }

func (w *Window) curveFigure() (*plotting.Figure, error) {
	if err := w.view().Err; err != nil {
		return nil, err
	}
	curve := plotting.SetListCurveOf(w.view(), w.songs.at)
	curve.Paper = w.paper()
	return curve.Figure(plotting.Light())
}

// saveFan asks where to save the hit fan of the take in sight as a picture.
func (w *Window) saveFan() {
	if t, ok := w.inSight(); ok {
		w.saveFigure(i18n.L("Save the hit fan…"), fmt.Sprintf("fan-%03d.png", t.Take.ID), w.fanFigure)
	}
}

func (w *Window) fanFigure() (*plotting.Figure, error) {
	t, ok := w.inSight()
	if !ok {
		return nil, errNoTake()
	}
	return plotting.FanOf(t, w.session().ToleranceMS).Figure(plotting.Light())
}

// cardName is what a card is called unless somebody says otherwise.
const cardName = "card.png"

// saveCard asks where to save the setting card as a picture.
func (w *Window) saveCard() { w.saveFigure(i18n.L("Save the card…"), cardName, w.cardFigure) }

func (w *Window) cardFigure() (*plotting.Figure, error) {
	card, err := plotting.CardOf(w.view(), time.Now())
	if err != nil {
		return nil, err
	}
	card.Paper = w.paper()
	return card.Figure()
}

// paper is the sheet that cards, curves and reports are saved for.
func (w *Window) paper() plotting.Paper {
	return plotting.Paper(w.app.Preferences().StringWithFallback(prefPaper, string(plotting.A5)))
}

// paperMenu chooses it.
func (w *Window) paperMenu() *fyne.MenuItem {
	all := entry(i18n.L("Paper of card, curve and report"), nil, true, nil)
	all.ChildMenu = fyne.NewMenu("")
	for _, paper := range []plotting.Paper{plotting.A5, plotting.A4, plotting.Letter} {
		one := entry(string(paper), nil, true, func() {
			w.app.Preferences().SetString(prefPaper, string(paper))
			w.refresh()
		})
		one.Checked = paper == w.paper()
		all.ChildMenu.Items = append(all.ChildMenu.Items, one)
	}
	return all
}

// saveFigure asks for a file, as a command says, and saves a figure into it.
func (w *Window) saveFigure(command, name string, figure func() (*plotting.Figure, error)) {
	kinds := i18n.L("as .png, .svg or .pdf")
	if name == cardName {
		kinds = i18n.L("as .png, .svg, .pdf or .csv")
	}
	w.askFile(command, kinds, name, func(path string) { w.writeFigure(path, figure) })
}

// askFile asks for a file, at first in the session's folder, and hands on its path.
func (w *Window) askFile(command, kinds, name string, save func(path string)) {
	if w.ready() {
		w.askPath(strings.TrimSuffix(command, "…"), kinds, w.bench.Dir(), name, save)
	}
}

// writeFigure draws and saves a figure as a job.
func (w *Window) writeFigure(path string, figure func() (*plotting.Figure, error)) {
	target := path
	if filepath.Ext(path) == "" {
		target += ".png"
	}
	f, err := figure()
	w.saving(target, func() (string, error) {
		if err != nil {
			return "", err
		}
		if err := f.Save(target); err != nil {
			return "", err
		}
		return savedWords(f.Files(target), f.Left(target)), nil
	})
}

// saving saves something as a job and says what was saved.
func (w *Window) saving(target string, save func() (string, error)) {
	start(w.jobs, i18n.F("Saving %s…", filepath.Base(target)), func(context.Context, func(float64)) (string, error) {
		return save()
	}, func(saved string, err error) {
		w.tell(err)
		if err == nil {
			w.notice.say(saved, false)
		}
		w.refresh()
	})
}

// savedWords names all files of a figure that was saved, and those that could be
// taken for more of its pages.
func savedWords(files, left []string) string {
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
		words += " " + i18n.F("Not pages of this figure, and left there: %s.", bases(left))
	}
	return words
}
