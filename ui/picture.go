package ui

import (
	"fmt"

	"lagwright/plotting"
	"lagwright/ui/trace"
)

// savePicture asks where to save the take in sight as a picture.
func (w *Window) savePicture() {
	if t, ok := w.inSight(); ok {
		w.saveFigure(fmt.Sprintf("take-%03d.png", t.ID), w.pictureFigure)
	}
}

// pictureFigure is the take in sight: the whole of it, and the stretch that the
// trace shows where that is less.
func (w *Window) pictureFigure() (*plotting.Figure, error) {
	t, ok := w.inSight()
	if !ok {
		return nil, fmt.Errorf("there is no take in sight: choose one in the list of takes")
	}
	p := plotting.PictureOf(t)
	from, to := w.take.trace.View()
	length := w.take.trace.Length()
	var err error
	if p.Whole, err = stretch(w.take.trace, 0, length); err != nil {
		return nil, err
	}
	if to-from < length {
		if p.Near, err = stretch(w.take.trace, from, to); err != nil {
			return nil, err
		}
	}
	return p.Figure(plotting.Light())
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
