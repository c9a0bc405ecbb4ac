package export

import (
	"fmt"

	"lagwright/calib/i18n"
	"lagwright/plotting"
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
	if err := e.addSound(&p, false); err != nil {
		return nil, err
	}
	return p.Figure(plotting.Light())
}

// addSound gives a picture what the trace has: the whole take, and the stretch in
// sight where that is less.
func (e *Exports) addSound(p *plotting.Picture, near bool) error {
	reference, voice := e.trace.Sound()
	from, to := e.trace.View()
	return p.AddSound(reference, voice, from, to, near)
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
	if err := e.addSound(&r.Picture, true); err != nil {
		return nil, err
	}
	return r.Figure()
}
