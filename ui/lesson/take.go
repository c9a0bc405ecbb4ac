package lesson

import (
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

func takeText() string {
	return i18n.L("The **mirror trace** has the reference above and the voice below, a pin on every hit, and between the pins of a pair a bracket as wide as the lag. A bracket to the right of its beat is late, one to the left early. The **hit fan** lays all pairs over each other with the beat at zero: how far they lie to one side is the lag, how far apart they lie is the jitter.")
}

// Take shows how a lag looks in the mirror trace, and in the hit fan.
func Take() *Picture {
	return newPicture(i18n.L("Left, the mirror trace: the reference above, the voice below; a voice hit right of its beat is late, one left of it early. Right, the hit fan: the beat at zero, late hits to the right, early ones to the left, and below them the lag with its interval."),
		170, drawTake)
}

// shares of a beat by which the hits of the picture miss theirs, for its look only.
var shares = []float64{0.24, -0.2, 0.14, -0.07, 0.19, 0.08}

func drawTake(s *sheet) {
	t := s.times
	parting := s.w * 0.62
	s.write(s.text, 2*margin, margin+rowHigh*t/2, sketch.Left, true, parting-3*margin, i18n.L("mirror trace"))
	l := s.lane(2*margin, parting-margin, s.h/2-laneHigh*t/2+6*t, -0.7, 1.6)
	l.beats(1)
	words := []string{i18n.L("late"), i18n.L("early")}
	for i, share := range shares[:2] {
		l.bracket(float64(i), float64(i)+share, words[i])
		l.strike(float64(i) + share)
	}
	s.write(s.reference, l.left, l.top-s.small*0.9, sketch.Left, false, l.x(-0.08)-l.left, i18n.L("reference"))
	s.write(s.voice, l.left, l.bottom+s.small*0.9, sketch.Left, false, l.x(-0.08)-l.left, i18n.L("voice"))
	s.Upright(s.grid, parting, margin, s.h-margin, 1)
	s.fan(parting+margin, s.w-margin)
}

// fan draws the hit fan between left and right.
func (s *sheet) fan(left, right float64) {
	t := s.times
	zero, half := (left+right)/2, (right-left)/2
	s.write(s.text, left, margin+rowHigh*t/2, sketch.Left, true, right-left, i18n.L("hit fan"))
	top := margin + 1.5*rowHigh*t
	s.sides(left, right, top)
	bottom := s.h - margin - 16*t
	s.Upright(s.reference, zero, top, s.h-margin, 1.5)
	var sum float64
	for i, share := range shares {
		at := sketch.Pt{X: zero + share/0.3*half*0.9, Y: top + (bottom-top)*(0.45+0.5*float64(i)/float64(len(shares)))}
		s.Line(sketch.Mix(s.paper, s.voice, 0.6), 1.2, sketch.Pt{X: zero, Y: top}, at)
		s.Diamond(s.voice, at.X, at.Y, headRadius*t)
		sum += share
	}
	s.Disc(s.reference, zero, top, headRadius*t)
	mean, wide, y := zero+sum/float64(len(shares))/0.3*half*0.9, half*0.28, s.h-margin-5*t
	s.Level(s.late, mean-wide, mean+wide, y, 3)
	for _, x := range []float64{mean - wide, mean + wide} {
		s.Upright(s.late, x, y-5*t, y+5*t, 2)
	}
	s.Disc(s.paper, mean, y, headRadius*t)
	s.Ring(s.late, mean, y, (headRadius-1)*t, 2)
}
