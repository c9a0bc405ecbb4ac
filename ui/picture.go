package ui

import (
	"fmt"

	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/trace"
)

// savePicture asks where to save the take in sight as a picture.
func (w *Window) savePicture() {
	if t, ok := w.inSight(); ok {
		w.saveFigure(i18n.L("Save take picture…"), fmt.Sprintf("take-%03d.png", t.Take.ID), w.pictureFigure)
	}
}

// errNoTake says that something of a take was asked for, and there is none.
func errNoTake() error {
	return i18n.Errorf("there is no take in sight: choose one in the list of takes")
}

// pictureFigure is the take in sight: the whole of it, and the stretch that the
// trace shows where that is less.
func (w *Window) pictureFigure() (*plotting.Figure, error) {
	t, ok := w.inSight()
	if !ok {
		return nil, errNoTake()
	}
	p := plotting.PictureOf(t)
	if err := w.addSound(&p); err != nil {
		return nil, err
	}
	return p.Figure(plotting.Light())
}

// addSound gives a picture what the trace has: the whole take, and the stretch in
// sight where that is less.
func (w *Window) addSound(p *plotting.Picture) (err error) {
	from, to := w.take.trace.View()
	length := w.take.trace.Length()
	if p.Whole, err = stretch(w.take.trace, 0, length); err != nil || to-from >= length {
		return err
	}
	p.Near, err = stretch(w.take.trace, from, to)
	return err
}

// saveReport asks where to save the report of the take in sight.
func (w *Window) saveReport() {
	if t, ok := w.inSight(); ok {
		w.saveFigure(i18n.L("Save a report…"), fmt.Sprintf("report-%03d.pdf", t.Take.ID), w.reportFigure)
	}
}

// reportFigure is the report of the take in sight, with the stretch that the trace
// shows from near, or where it shows all, one worth seeing.
func (w *Window) reportFigure() (*plotting.Figure, error) {
	t, ok := w.inSight()
	if !ok {
		return nil, errNoTake()
	}
	r := plotting.ReportOf(w.view(), t)
	r.Paper = w.paper()
	if err := w.addSound(&r.Picture); err != nil {
		return nil, err
	}
	if from, to, ok := r.Picture.NearS(); ok && len(r.Picture.Near.Voice) == 0 {
		var err error
		if r.Picture.Near, err = stretch(w.take.trace, from, to); err != nil {
			return nil, err
		}
	}
	return r.Figure()
}

// pictureColumns is how finely a take is drawn on paper.
const pictureColumns = 1400

// stretch returns what the trace has between two moments, for paper.
func stretch(t *trace.Trace, fromS, toS float64) (plotting.Stretch, error) {
	reference, voice, err := t.Extremes(fromS, toS, pictureColumns)
	columns := func(ranges []trace.Range) (c []plotting.Column) {
		for _, r := range ranges {
			c = append(c, plotting.Column(r))
		}
		return c
	}
	return plotting.Stretch{FromS: fromS, ToS: toS, Reference: columns(reference), Voice: columns(voice)}, err
}
