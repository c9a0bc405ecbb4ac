package lesson

import (
	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
)

func turnText() string {
	law, setting := machineLaw(), settingFor(fastBPM)
	return i18n.F("The **index plate** turns the programme ahead, so that the ball is released earlier. One step is a piece of a beat, here 1/%.0f: worth %.1f ms at %d BPM and %.1f ms at %d BPM. %d steps ahead, the ball leaves %.1f ms before the beat, and what is left at %d BPM is less than half a step.",
		1/law.StepBeats, law.StepMS(calib.PeriodMS(slowBPM)), slowBPM, law.StepMS(calib.PeriodMS(fastBPM)), fastBPM,
		setting, aheadMS(setting), fastBPM)
}

// aheadMS is how much earlier a setting releases the ball at the fast tempo.
func aheadMS(setting int) float64 { return lagAt(fastBPM, 0) - lagAt(fastBPM, setting) }

// drawTurn draws a beat before and after the plate was turned.
func drawTurn(s *sheet) {
	const from, to = -430, 640
	t, setting := s.times, settingFor(fastBPM)
	left, right := 2*margin, s.w-2*margin
	period := calib.PeriodMS(fastBPM)

	lag := lagAt(fastBPM, 0)
	y := margin
	s.write(s.inks.Text, left, y+rowHigh*t/2, sketch.Left, true, right-left, i18n.F("Setting %s: %s", look.Setting(0), calib.LateEarly(lag)))
	before := s.lane(left, right, y+rowHigh*t, from, to)
	before.beats(period)
	before.bracket(0, lag, i18n.F("%s ms", sketch.Signed(lag, 0.1)))
	before.release(0, lag)
	before.strike(lag)

	y += (2*rowHigh + laneHigh) * t
	ahead := aheadMS(setting)
	s.arrow(s.inks.Text, before.x(0), before.x(-ahead), y-rowHigh*t/2)
	s.write(s.inks.Text, before.x(0)+6*t, y-rowHigh*t/2, sketch.Left, true, right-before.x(0)-6*t, i18n.F("released %.1f ms earlier", ahead))

	lag = lagAt(fastBPM, setting)
	s.write(s.inks.Text, left, y+rowHigh*t/2, sketch.Left, true, right-left, i18n.F("Setting %s: %s", look.Setting(setting), calib.LateEarly(lag)))
	after := s.lane(left, right, y+rowHigh*t, from, to)
	after.beats(period)
	after.release(-ahead, lag)
	after.strike(lag)
	s.write(s.inks.Tight, after.x(0)+12*t, (after.top+after.bottom)/2, sketch.Left, true, right-after.x(0)-12*t, i18n.L("together"))
	words := i18n.L("disc: the beat; ring: the gate opens; dashes: the fall; diamond: the strike")
	size, lines := s.lines(words, right-left, 2)
	for i, line := range lines {
		s.Text(s.inks.Quiet, left, y+(rowHigh+laneHigh+(float64(i)+0.6)*rowHigh)*t, sketch.Left, size, false, line)
	}
}
