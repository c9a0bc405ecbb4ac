package lesson

import (
	"image/color"
	"math"
	"strconv"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
)

// songBPM is a slower song beside that at the fast tempo.
const songBPM = 84

func lawText() string {
	slow, fast := settingFor(songBPM), settingFor(fastBPM)
	from, to := window(fast)
	return i18n.F("At each setting the lag follows a line of its own over the tempos, by the machine's **law**, and the line crosses zero at one tempo: setting %s at %.1f BPM, setting %s at %.1f. Near that tempo the voice stays tight, here from %.1f to %.1f BPM; slower it is early, faster it is late. Takes at two tempos tell the law, and the law tells every other setting.",
		look.Setting(slow), crossing(slow), look.Setting(fast), crossing(fast), from, to)
}

// Law shows the lag against the tempo at two settings.
func Law() *Picture {
	slow, fast := settingFor(songBPM), settingFor(fastBPM)
	a, b := window(slow)
	c, d := window(fast)
	words := i18n.F("Lag against tempo. At setting %s the voice is together with the reference at %.1f BPM and tight from %.1f to %.1f; at setting %s at %.1f BPM, tight from %.1f to %.1f. Slower is early, faster is late.",
		look.Setting(slow), crossing(slow), a, b, look.Setting(fast), crossing(fast), c, d)
	return newPicture(words, 230, drawLaw)
}

// What the picture of the law shows.
const (
	leastBPM, mostBPM = 60, 150
	mostLagMS         = 100
)

// plane is where tempo and lag lie.
type plane struct{ left, right, top, bottom float64 }

func (p plane) x(bpm float64) float64 {
	return p.left + (bpm-leastBPM)/(mostBPM-leastBPM)*(p.right-p.left)
}

func (p plane) y(lagMS float64) float64 {
	return (p.top+p.bottom)/2 - lagMS/mostLagMS*(p.bottom-p.top)/2
}

func drawLaw(s *sheet) {
	t := s.times
	var wide float64
	for _, word := range sideWords() {
		wide = max(wide, s.TextWidth(s.small, true, word))
	}
	p := plane{left: min(wide+14*t, s.w/4), right: s.w - 56*t, top: margin, bottom: s.h - margin - 2*rowHigh*t}
	tempos := []float64{songBPM, fastBPM}
	apart := p.x(crossing(settingFor(fastBPM))) - p.x(crossing(settingFor(songBPM)))
	for _, bpm := range tempos {
		s.window(p, settingFor(bpm), apart-8*t)
	}
	s.frame(p)
	for i, bpm := range tempos {
		s.curve(p, settingFor(bpm), i > 0)
	}
}

// window draws the tempos at which a setting is tight, with room for the words.
func (s *sheet) window(p plane, setting int, room float64) {
	from, to := window(setting)
	s.Box(sketch.Mix(s.paper, s.tight, 0.2), p.x(from), p.top, p.x(to), p.bottom)
	for _, edge := range []float64{from, to} {
		s.Upright(sketch.Mix(s.paper, s.tight, 0.6), p.x(edge), p.top, p.bottom, 1)
	}
	s.write(s.tight, p.x(crossing(setting)), p.bottom+1.5*rowHigh*s.times, sketch.Centre, true, room, i18n.F("tight %.0f to %.0f", from, to))
}

// frame draws what does not depend on the law: zero, the sides, the tempos.
func (s *sheet) frame(p plane) {
	t := s.times
	for bpm := float64(leastBPM); bpm <= mostBPM; bpm += 30 {
		s.Upright(s.grid, p.x(bpm), p.top, p.bottom, 1)
		s.write(s.quiet, p.x(bpm), p.bottom+rowHigh*t/2, sketch.Centre, false, 60*t, strconv.Itoa(int(bpm)))
	}
	s.write(s.quiet, s.w-6*t, p.bottom+rowHigh*t/2, sketch.Right, false, 40*t, i18n.L("BPM"))
	s.Level(s.reference, p.left, p.right, p.y(0), 2)
	room := p.left - 10*t
	for i, c := range []color.Color{s.late, s.reference, s.early} {
		s.write(c, p.left-6*t, p.y(mostLagMS*0.6*float64(1-i)), sketch.Right, true, room, sideWords()[i])
	}
}

// sideWords are written beside zero, from top to bottom.
func sideWords() []string {
	return []string{i18n.L("late"), i18n.L("together"), i18n.L("early")}
}

// curve draws the law at one setting, dashed or in one stroke.
func (s *sheet) curve(p plane, setting int, dashed bool) {
	const parts = 96
	var last sketch.Pt
	for i := range parts + 1 {
		bpm := leastBPM + (mostBPM-leastBPM)*float64(i)/parts
		lag := lagAt(bpm, setting)
		at := sketch.Pt{X: p.x(bpm), Y: p.y(lag)}
		if i > 0 && math.Abs(lag) <= mostLagMS && last.Y <= p.bottom && last.Y >= p.top && !(dashed && i%3 == 0) {
			s.Line(s.voice, 2.5, last, at)
		}
		last = at
	}
	x := p.x(crossing(setting))
	s.Disc(s.paper, x, p.y(0), (headRadius+1)*s.times)
	s.Ring(s.tight, x, p.y(0), headRadius*s.times, 2.5)
	bpm := math.Min(mostBPM, calib.TempoBPM(periodOf(setting, mostLagMS*0.8)))
	left := p.x(bpm) + 7*s.times
	below := 0.0 // the curve goes on up where it has not ended
	if bpm < mostBPM {
		below = 9 * s.times
	}
	s.write(s.voice, left, p.y(lagAt(bpm, setting))+below, sketch.Left, true, s.w-left, look.Setting(setting))
}
