package lesson

import (
	"image"
	"image/draw"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting"
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
