package lesson

import (
	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

func halfText() string {
	return i18n.F("Hits are all alike, so a voice that is %.1f of a beat late looks like one that is %.1f of a beat early. A take at another tempo tells them apart: a long fall keeps its time, pins that stand ahead keep their share of the beat. Until then Lagwright says that a whole beat is in doubt.",
		beatsLate(farLaw(), fastBPM), -beatsLate(aheadLaw(), fastBPM))
}

// drawHalf draws two machines that look alike at one tempo, and not at another.
func drawHalf(s *sheet) {
	far, ahead := beatsLate(farLaw(), fastBPM), beatsLate(aheadLaw(), fastBPM)
	l := s.beatLane(0, i18n.F("%d BPM: which of the two?", fastBPM))
	l.bracket(0, far, i18n.F("%.1f late", far))
	l.bracket(1, 1+ahead, i18n.F("%.1f early", -ahead))
	l.strike(far)
	for i, c := range []struct {
		law   calib.Law
		title string
	}{
		{farLaw(), i18n.F("%d BPM, if the ball falls for long", slowBPM)},
		{aheadLaw(), i18n.F("%d BPM, if the pins stand ahead", slowBPM)},
	} {
		late := beatsLate(c.law, slowBPM)
		l := s.beatLane(i+1, c.title)
		words := i18n.F("%.1f late", late)
		beat := 0.0
		if late < 0 {
			beat, words = 1, i18n.F("%.1f early", -late)
		}
		l.bracket(beat, beat+late, words)
		l.strike(beat + late)
	}
}

// beatLane is the lane of a row of the picture, in beats.
func (s *sheet) beatLane(row int, title string) lane {
	t := s.times
	y := margin + float64(row)*((laneHigh+rowHigh)*t+margin)
	s.write(s.inks.Text, 2*margin, y+rowHigh*t/2, sketch.Left, true, s.w-4*margin, title)
	l := s.lane(2*margin, s.w-2*margin, y+rowHigh*t, -0.15, 1.3)
	l.beats(1)
	return l
}
