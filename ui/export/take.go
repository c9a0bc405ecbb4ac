package export

import (
	"fmt"

	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/ui/trace"
)

// savePicture asks where to save the take in sight as a picture.
func (e *Exports) savePicture() {
	if t, ok := e.inSight(); ok {
		e.saveFigure(i18n.L("Save take picture…"), fmt.Sprintf("take-%03d.png", t.Take.ID), e.PictureFigure)
	}
}

// errNoTake says that something of a take was asked for, and there is none.
func errNoTake() error {
	return i18n.Errorf("no take is shown: choose one in the list of takes")
}

// PictureFigure is the take in sight: the whole of it, and the stretch that the
// trace shows where that is less.
func (e *Exports) PictureFigure() (*plotting.Figure, error) {
	t, ok := e.inSight()
	if !ok {
		return nil, errNoTake()
	}
	p := plotting.PictureOf(t)
	if err := e.addSound(&p); err != nil {
		return nil, err
	}
	return p.Figure(plotting.Light())
}

// addSound gives a picture what the trace has: the whole take, and the stretch in
// sight where that is less.
func (e *Exports) addSound(p *plotting.Picture) (err error) {
	from, to := e.trace.View()
	length := e.trace.Length()
	if p.Whole, err = stretch(e.trace, 0, length); err != nil || to-from >= length {
		return err
	}
	p.Near, err = stretch(e.trace, from, to)
	return err
}

// SaveReport asks where to save the report of the take in sight.
func (e *Exports) SaveReport() {
	if t, ok := e.inSight(); ok {
		e.saveFigure(i18n.L("Save a report…"), fmt.Sprintf("report-%03d.pdf", t.Take.ID), e.ReportFigure)
	}
}

// ReportFigure is the report of the take in sight, with the stretch that the trace
// shows from near, or where it shows all, one worth seeing.
func (e *Exports) ReportFigure() (*plotting.Figure, error) {
	t, ok := e.inSight()
	if !ok {
		return nil, errNoTake()
	}
	r := plotting.ReportOf(e.d.View(), t)
	r.Paper = e.d.Prefs.Paper()
	if err := e.addSound(&r.Picture); err != nil {
		return nil, err
	}
	if from, to, ok := r.Picture.NearS(); ok && len(r.Picture.Near.Voice) == 0 {
		var err error
		if r.Picture.Near, err = stretch(e.trace, from, to); err != nil {
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
