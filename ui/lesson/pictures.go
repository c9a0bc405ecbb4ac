package lesson

import (
	"fmt"
	"image"
	"image/draw"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
)

func fallText() string {
	fall := machineLaw().DelayMS
	return i18n.F("A pin releases the ball, the ball **falls**, and then it strikes. From %d mm that takes %.0f ms, at every tempo. The faster the crank turns, the further the machine has gone by then: the voice is **late**, by %.2f of a beat at %d BPM and by %.2f of a beat at %d BPM.",
		dropMM, fall, beatsLate(machineLaw(), slowBPM), slowBPM, beatsLate(machineLaw(), fastBPM), fastBPM)
}

// drawFall draws a ball at even moments of its fall, and what share of a beat the same
// fall takes at two tempos.
func drawFall(s *sheet, units func(string) string) {
	wide := min(150*s.times, s.w*0.3)
	s.drop(margin, wide, units)
	t := s.times
	left, right, y := wide+2*margin, s.w-2*margin, margin
	for _, bpm := range []float64{slowBPM, fastBPM} {
		s.write(s.inks.Text, left, y+rowHigh*t/2, sketch.Left, true, right-left, i18n.F("%.0f BPM, a beat is %.0f ms", bpm, calib.PeriodMS(bpm)))
		s.trace(left, right, y+rowHigh*t, -60, 1.08*calib.PeriodMS(slowBPM), calib.PeriodMS(bpm), pair{0, lagAt(bpm, 0)})
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
	before := s.trace(left, right, y+rowHigh*t, from, to, period, pair{0, lag})
	s.release(before, 0, lag)

	y += (2*rowHigh + laneHigh) * t
	ahead, beat := aheadMS(setting), left+before.X(0)*t
	s.arrow(s.inks.Text, beat, left+before.X(-ahead/1000)*t, y-rowHigh*t/2)
	s.write(s.inks.Text, beat+6*t, y-rowHigh*t/2, sketch.Left, true, right-beat-6*t, i18n.F("released %.1f ms earlier", ahead))

	lag = lagAt(fastBPM, setting)
	s.write(s.inks.Text, left, y+rowHigh*t/2, sketch.Left, true, right-left, i18n.F("Setting %s: %s", look.Setting(setting), calib.LateEarly(lag)))
	s.release(s.trace(left, right, y+rowHigh*t, from, to, period, pair{0, lag}), -ahead, lag)
	words := i18n.L("disc: the beat; ring: the gate opens; dashes: the fall; diamond: the strike")
	size, lines := s.lines(words, right-left, 2)
	for i, line := range lines {
		s.Text(s.inks.Quiet, left, y+(rowHigh+laneHigh+(float64(i)+0.6)*rowHigh)*t, sketch.Left, size, false, line)
	}
}

// songBPM is a slower song beside that at the fast tempo.
const songBPM = 84

func lawText() string {
	slow, fast := settingFor(songBPM), settingFor(fastBPM)
	from, to := window(fast)
	return i18n.F("At each setting the lag follows a line of its own over the tempos, by the machine's **law**, and the line crosses zero at one tempo: setting %s at %.1f BPM, setting %s at %.1f. Near that tempo the voice stays tight, here from %.1f to %.1f BPM; slower it is early, faster it is late. Takes at two tempos tell the law, and the law tells every other setting.",
		look.Setting(slow), crossing(slow), look.Setting(fast), crossing(fast), from, to)
}

// drawLaw draws what the window's own curve has of two songs, each at its setting.
func drawLaw(s *sheet) {
	c := plotting.Curve{ToleranceMS: calib.DefaultToleranceMS}
	for _, bpm := range []float64{songBPM, fastBPM} {
		setting := settingFor(bpm)
		from, to := window(setting)
		law := plotting.CurveLaw{Setting: setting, Current: bpm == fastBPM, LagMS: func(periodMS float64) (lag, sd float64) {
			return lagAt(calib.TempoBPM(periodMS), setting), 0
		}}
		c.Laws = append(c.Laws, law)
		c.Takes = append(c.Takes, plotting.CurveTake{TempoBPM: crossing(setting), Setting: setting, Converged: true})
		c.Songs = append(c.Songs, plotting.CurveSong{Name: i18n.F("%.4g BPM", bpm), TempoBPM: bpm, Setting: setting, WindowBPM: [2]float64{from, to}})
	}
	on := s.Img.Rect
	draw.Draw(s.Img, on, c.Figure(look.Inks(s.Theme)).Image(on.Dx(), on.Dy(), s.Scale*s.times), image.Point{}, draw.Src)
}

func takeText() string {
	return i18n.L("The **mirror trace** has the reference above and the voice below, a pin on every hit, and between the pins of a pair a bracket as wide as the lag. A bracket to the right of its beat is late, one to the left early. The **hit fan** lays all pairs over each other with the beat at zero: how far they lie to one side is the lag, how far apart they lie is the jitter.")
}

// How far hits miss their beat in the fan, in ms, for the look of the picture only.
var lags = []float64{12, -10, 7, -3.5, 9.5, 4}

// drawTake draws how a lag looks in the mirror trace, and in the hit fan.
func drawTake(s *sheet) {
	t := s.times
	parting := s.w * 0.6
	s.write(s.inks.Text, 2*margin, margin+rowHigh*t/2, sketch.Left, true, parting-3*margin, i18n.L("mirror trace"))
	s.trace(2*margin, parting-margin, (s.h-laneHigh*t)/2+6*t, -1100, 1600, 1000, pair{0, 240}, pair{1000, 800}).Captions("", "")
	s.Upright(s.inks.Grid, parting, margin, s.h-margin, 1)
	s.write(s.inks.Text, parting+margin, margin+rowHigh*t/2, sketch.Left, true, s.w-parting-2*margin, i18n.L("hit fan"))
	var pairs []calib.Pair
	for _, lag := range lags {
		pairs = append(pairs, calib.Pair{LagMS: lag, Used: true})
	}
	sketch.FanOf(calib.Read(pairs, nil, nil, 1), 0).Draw(s.part(parting+margin, margin+rowHigh*t, s.w-margin, s.h-margin), s.inks, s.small/t, "")
}

func halfText() string {
	return i18n.F("Hits are all alike, so a voice that is %.1f of a beat late looks like one that is %.1f of a beat early. A take at another tempo tells them apart: a long fall keeps its time, pins that stand ahead keep their share of the beat. Until then Lagwright says that a whole beat is in doubt.",
		beatsLate(farLaw(), fastBPM), -beatsLate(aheadLaw(), fastBPM))
}

// drawHalf draws two machines that look alike at one tempo, and not at another.
func drawHalf(s *sheet) {
	fast := calib.PeriodMS(fastBPM)
	strike := beatsLate(farLaw(), fastBPM) * fast
	s.beats(0, fastBPM, i18n.F("%d BPM: which of the two?", fastBPM), pair{0, strike}, pair{fast, strike})
	slow := calib.PeriodMS(slowBPM)
	s.beats(1, slowBPM, i18n.F("%d BPM, if the fall is long", slowBPM), pair{0, beatsLate(farLaw(), slowBPM) * slow})
	s.beats(2, slowBPM, i18n.F("%d BPM, if the pins stand ahead", slowBPM), pair{slow, slow + beatsLate(aheadLaw(), slowBPM)*slow})
}

// beats is the trace of a row of the picture, a little more than a beat of it.
func (s *sheet) beats(row int, bpm float64, title string, pairs ...pair) {
	t, period := s.times, calib.PeriodMS(bpm)
	y := margin + float64(row)*((laneHigh+rowHigh)*t+margin)
	s.write(s.inks.Text, 2*margin, y+rowHigh*t/2, sketch.Left, true, s.w-4*margin, title)
	s.trace(2*margin, s.w-2*margin, y+rowHigh*t, -0.15*period, 1.3*period, period, pairs...)
}
