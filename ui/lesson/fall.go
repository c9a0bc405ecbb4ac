package lesson

import (
	"fmt"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

func fallText() string {
	fall := machineLaw().DelayMS
	return i18n.F("A pin releases the ball, the ball **falls**, and then it strikes. From %d mm that takes %.0f ms, at every tempo. The faster the crank turns, the further the machine has gone by then: the voice is **late**, by %.2f of a beat at %d BPM and by %.2f of a beat at %d BPM.",
		dropMM, fall, beatsLate(machineLaw(), slowBPM), slowBPM, beatsLate(machineLaw(), fastBPM), fastBPM)
}

// rowHigh is the height of a line of labels at the usual text.
const rowHigh = 20.0

// drawFall draws a ball at even moments of its fall, and what share of a beat the same
// fall takes at two tempos.
func drawFall(s *sheet, units func(string) string) {
	wide := min(150*s.times, s.w*0.3)
	s.drop(margin, wide, units)
	t := s.times
	left, right, y := wide+2*margin, s.w-2*margin, margin
	for _, bpm := range []float64{slowBPM, fastBPM} {
		lag := lagAt(bpm, 0)
		s.write(s.inks.Text, left, y+rowHigh*t/2, sketch.Left, true, right-left, i18n.F("%.0f BPM, a beat is %.0f ms", bpm, calib.PeriodMS(bpm)))
		l := s.lane(left, right, y+rowHigh*t, -60, 1.08*calib.PeriodMS(slowBPM))
		l.beats(calib.PeriodMS(bpm))
		l.bracket(0, lag, i18n.F("%.2f beat late", lag/calib.PeriodMS(bpm)))
		l.strike(lag)
		y += (rowHigh+laneHigh)*t + margin
	}
}

// instants is how many even parts of its fall the ball is shown at the ends of.
const instants = 5

// drop draws gate, ball and voice, between left and right.
func (s *sheet) drop(left, right float64, units func(string) string) {
	t := s.times
	x, top, bottom := left+(right-left)*0.3, margin+rowHigh*t, s.h-margin-rowHigh*t-14*t
	r := 6 * t
	// The gate is a shelf with a gap, through which the ball has just dropped.
	s.Level(s.inks.Reference, left, x-r-2, top, 3*t)
	s.Level(s.inks.Reference, x+r+2, x+4*r, top, 3*t)
	s.write(s.inks.Quiet, left, margin+rowHigh*t/2-3*t, sketch.Left, false, right-left, i18n.L("gate"))
	fall := calib.FallMS(dropMM)
	for i := range instants + 1 {
		share := calib.Shot{}.HeightMM(fall*float64(i)/instants) / dropMM
		y := top + (bottom-r-top)*share
		if i == instants {
			s.Disc(s.inks.Voice, x, y, r)
			break
		}
		s.Disc(s.inks.Paper, x, y, r)
		s.Ring(s.inks.Voice, x, y, r-1, 1.5)
	}
	// The voice is a drum: a head and a shell.
	s.Level(s.inks.Voice, x-3*r, x+3*r, bottom+t, 3*t)
	s.Box(sketch.Mix(s.inks.Paper, s.inks.Voice, 0.3), x-2.6*r, bottom+2*t, x+2.6*r, bottom+13*t)
	s.write(s.inks.Quiet, left, s.h-margin-rowHigh*t/2+4*t, sketch.Left, false, right-left, i18n.L("voice"))
	beside := x + 4.6*r
	s.Upright(s.inks.Quiet, beside, top, bottom, 1)
	s.Level(s.inks.Quiet, beside-4, beside+4, top, 1)
	s.Level(s.inks.Quiet, beside-4, beside+4, bottom, 1)
	middle := (top + bottom) / 2
	s.write(s.inks.Text, beside+7, middle-rowHigh*t/2, sketch.Left, false, right+margin-beside-7, units(fmt.Sprintf("%d mm", dropMM)))
	s.write(s.inks.Text, beside+7, middle+rowHigh*t/2, sketch.Left, true, right+margin-beside-7, fmt.Sprintf("%.0f ms", fall))
}
