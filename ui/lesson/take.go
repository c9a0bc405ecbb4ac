package lesson

import (
	"image"
	"image/draw"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look/ink"
)

func takeText() string {
	return i18n.L("The **mirror trace** has the reference above and the voice below, a pin on every hit, and between the pins of a pair a bracket as wide as the lag. A bracket to the right of its beat is late, one to the left early. The **hit fan** lays all pairs over each other with the beat at zero: how far they lie to one side is the lag, how far apart they lie is the jitter.")
}

// How far hits miss their beat, for the look of the pictures only: in beats in the mirror
// trace, in ms in the fan.
var (
	shares = []float64{0.24, -0.2}
	lags   = []float64{12, -10, 7, -3.5, 9.5, 4}
)

// drawTake draws how a lag looks in the mirror trace, and in the hit fan.
func drawTake(s *sheet) {
	t := s.times
	parting := s.w * 0.6
	s.write(s.inks.Text, 2*margin, margin+rowHigh*t/2, sketch.Left, true, parting-3*margin, i18n.L("mirror trace"))
	l := s.lane(2*margin, parting-margin, s.h/2-laneHigh*t/2+6*t, -0.7, 1.6)
	l.beats(1)
	words := []string{i18n.L("late"), i18n.L("early")}
	for i, share := range shares {
		l.bracket(float64(i), float64(i)+share, words[i])
		l.strike(float64(i) + share)
	}
	s.write(s.inks.Reference, l.left, l.top-s.small*0.9, sketch.Left, false, l.x(-0.08)-l.left, i18n.L("reference"))
	s.write(s.inks.Voice, l.left, l.bottom+s.small*0.9, sketch.Left, false, l.x(-0.08)-l.left, i18n.L("voice"))
	s.Upright(s.inks.Grid, parting, margin, s.h-margin, 1)
	s.write(s.inks.Text, parting+margin, margin+rowHigh*t/2, sketch.Left, true, s.w-parting-2*margin, i18n.L("hit fan"))
	s.fan(image.Rect(int((parting+margin)*s.Scale), int((margin+rowHigh*t)*s.Scale), int((s.w-margin)*s.Scale), int((s.h-margin)*s.Scale)))
}

// fan draws what the window's own hit fan has of these hits.
func (s *sheet) fan(at image.Rectangle) {
	var pairs []calib.Pair
	for _, lag := range lags {
		pairs = append(pairs, calib.Pair{LagMS: lag, Used: true})
	}
	pen := ink.On(image.NewRGBA(image.Rect(0, 0, at.Dx(), at.Dy())), s.Scale, s.Theme)
	sketch.FanOf(calib.Read(pairs, nil, nil, 1), 0).Draw(pen.Pen, s.inks, s.small, "")
	draw.Draw(s.Img, at, pen.Img, image.Point{}, draw.Over)
}
