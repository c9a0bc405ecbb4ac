// Package lesson explains the machine in small pictures, each beside a short
// paragraph. What they show is worked out by package calib from one machine
// (plate, machineLaw): no number is drawn that the program would not give itself.
//
// The pictures are the window's own: its mirror trace, its hit fan and its curve, with little
// around them.
package lesson

import (
	"image"
	"image/color"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/mirror"
	"lagwright/plotting/sketch"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// lesson is a picture, and what it says in words (Markdown).
type lesson struct {
	title, words string
	high         float64 // of the picture in device-independent pixels, at the usual text
	draw         func(*sheet)
}

// lessons are all of them. units puts lengths in mm within a text into the unit the
// reader prefers.
func lessons(units func(string) string) []lesson {
	return []lesson{
		{i18n.L("Why a faster crank makes the voice later"), units(fallText()), 2*(laneHigh+rowHigh) + 3*margin, func(s *sheet) { drawFall(s, units) }},
		{i18n.L("Turning the plate ahead"), turnText(), 2*laneHigh + 5*rowHigh + 2*margin, drawTurn},
		{i18n.L("A setting fits one tempo"), lawText(), 230, drawLaw},
		{i18n.L("What the take shows"), takeText(), 190, drawTake},
		{i18n.L("What one take cannot tell"), halfText(), 3*(laneHigh+rowHigh) + 4*margin, drawHalf},
	}
}

// Body returns all lessons, one below the other, each in words and as a picture.
func Body(units func(string) string) fyne.CanvasObject {
	body := container.NewVBox()
	for _, l := range lessons(units) {
		text := widget.NewRichTextFromMarkdown("## " + l.title + "\n\n" + l.words)
		text.Wrapping = fyne.TextWrapWord
		body.Add(text)
		body.Add(newPicture(l))
	}
	return body
}

// Picture is that of a lesson. All its methods belong to the UI goroutine.
type Picture struct {
	ink.Drawing
	lesson
}

func newPicture(l lesson) *Picture {
	p := &Picture{lesson: l}
	p.Begin(p, func(times float32) fyne.Size { return fyne.NewSize(leastWide*times, float32(p.high)*times) },
		func(pen *ink.Pen) { p.draw(sheetOf(pen)) })
	return p
}

// AccessibilityLabel says what the picture shows.
func (p *Picture) AccessibilityLabel() string { return strings.ReplaceAll(p.words, "**", "") }

// leastWide is the width below which the labels would run into each other.
const leastWide = 300

// sheet is what a picture is drawn on: the pen, the theme's colours and the room.
type sheet struct {
	*ink.Pen
	inks sketch.Inks

	w, h  float64
	times float64 // the usual size of text
	small float64 // size of labels
}

// sheetOf clears a sheet and asks the theme.
func sheetOf(p *ink.Pen) *sheet {
	s := &sheet{Pen: p, inks: look.Inks(p.Theme)}
	s.w, s.h = s.Size()
	s.times, s.small = float64(look.Times(s.Theme)), float64(s.Theme.Size(theme.SizeNameCaptionText))
	s.Clear(color.Transparent)
	s.Card(s.inks.Paper, 0, 0, s.w, s.h, 6)
	return s
}

// The machine of the lessons: a drop, two tempos and a plate (invented).
const (
	dropMM  = 260
	slowBPM = 60
	fastBPM = 120
)

var plate = calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}

// machineLaw is its law: nothing but the fall, and pins in their own place.
func machineLaw() calib.Law {
	return calib.Law{DelayMS: calib.FallMS(dropMM), StepBeats: plate.StepBeats()}
}

// lagAt is how late the voice sounds, in ms.
func lagAt(bpm float64, setting int) float64 {
	lag, _ := machineLaw().Lag(calib.PeriodMS(bpm), float64(setting))
	return lag
}

// settingFor is the setting, in whole steps, that a tempo takes.
func settingFor(bpm float64) int {
	return int(math.Round(machineLaw().Setting(calib.PeriodMS(bpm))))
}

// crossing is the tempo in BPM at which a setting brings voice and reference
// together.
func crossing(setting int) float64 { return calib.TempoBPM(periodOf(setting, 0)) }

// window is the tempos in BPM between which a setting is tight: within the
// tolerance, or half a step where that is more.
func window(setting int) (from, to float64) {
	limit := math.Max(calib.DefaultToleranceMS, machineLaw().StepMS(periodOf(setting, 0))/2)
	return calib.TempoBPM(periodOf(setting, -limit)), calib.TempoBPM(periodOf(setting, limit))
}

// periodOf is the beat period in ms at which a setting gives a lag: the law solved
// for P, which has no offset here.
func periodOf(setting int, lagMS float64) float64 {
	law := machineLaw()
	return (law.DelayMS - lagMS) / (law.StepBeats * float64(setting))
}

// Two machines that one take cannot tell apart: the ball of one falls for so long
// that its voice is more than half a beat late, the pins of the other stand ahead.
const (
	farBeats   = 0.6 // late, by the fall, at the fast tempo
	aheadBeats = farBeats - 1
)

func farLaw() calib.Law   { return calib.Law{DelayMS: farBeats * calib.PeriodMS(fastBPM)} }
func aheadLaw() calib.Law { return calib.Law{OffsetBeats: aheadBeats} }

// beatsLate is a law's lag at a tempo, in beats.
func beatsLate(l calib.Law, bpm float64) float64 {
	lag, _ := l.Lag(calib.PeriodMS(bpm), 0)
	return lag / calib.PeriodMS(bpm)
}

// Sizes of what is drawn, at the usual text.
const (
	laneHigh = 88.0 // a mirror trace with its axis
	rowHigh  = 20.0 // a line of labels
	margin   = 12.0
)

// write draws words from x on, or centred on it or up to it, in the room there is:
// smaller where they would not fit, as in a language with longer words.
func (s *sheet) write(c color.Color, x, y float64, align sketch.Align, bold bool, room float64, words string) {
	s.Text(c, x, y, align, s.Fit(s.small, bold, words, room), bold, words)
}

// lines breaks words into at most so many lines, at the size at which they fit.
func (s *sheet) lines(words string, room float64, most int) (size float64, lines []string) {
	size = s.small
	for lines = s.Wrap(size, words, room); len(lines) > most && size > s.small*0.6; lines = s.Wrap(size, words, room) {
		size -= 0.25
	}
	return size, lines
}

// part is a stretch of the sheet as a sheet of its own, on which all is drawn as with text of
// the usual size, and grows with it.
func (s *sheet) part(left, top, right, bottom float64) sketch.Pen {
	at := image.Rect(int(left*s.Scale), int(top*s.Scale), int(right*s.Scale), int(bottom*s.Scale))
	on := s.Img.SubImage(at).(*image.RGBA)
	return ink.On(&image.RGBA{Pix: on.Pix, Stride: on.Stride, Rect: image.Rectangle{Max: at.Size()}}, s.Scale*s.times, s.Theme).Pen
}

// trace draws a stretch of time, in ms, as the mirror trace has it, from y down: a beat at 0
// and each period from there, and for each pair its strike.
func (s *sheet) trace(left, right, y, fromMS, toMS, periodMS float64, pairs ...pair) *mirror.Trace {
	var r calib.Reading
	for n := math.Ceil(fromMS / periodMS); n*periodMS <= toMS; n++ {
		r.ReferenceHitsS = append(r.ReferenceHitsS, n*periodMS/1000)
	}
	for _, p := range pairs {
		r.VoiceHitsS = append(r.VoiceHitsS, p.strikeMS/1000)
		r.Pairs = append(r.Pairs, calib.Pair{ReferenceS: p.beatMS / 1000, VoiceS: p.strikeMS / 1000, LagMS: p.strikeMS - p.beatMS, Used: true})
	}
	m := mirror.New(s.part(left, y, right, y+laneHigh*s.times), s.inks, s.small/s.times, laneHigh, sketch.Span{Lo: fromMS / 1000, Hi: toMS / 1000}, r)
	m.Grid()
	m.Pairs()
	return m
}

// pair is a beat and the voice's strike, in ms.
type pair struct{ beatMS, strikeMS float64 }

// release draws the moment the gate lets the ball go, and its fall to the strike.
func (s *sheet) release(m *mirror.Trace, ms, strikeMS float64) {
	x, y := m.X(ms/1000), m.LaneBottom
	m.Dashes(s.inks.Voice, 2, 4, sketch.Pt{X: x, Y: y}, sketch.Pt{X: m.X(strikeMS / 1000), Y: y})
	m.Disc(s.inks.Paper, x, y, sketch.HeadRadius)
	m.Ring(s.inks.Voice, x, y, sketch.HeadRadius-1, 2)
}

// arrow draws one along a line from x0 to x1 at y.
func (s *sheet) arrow(c color.Color, x0, x1, y float64) {
	way, head := math.Copysign(1, x1-x0), 8*s.times
	s.Level(c, min(x0, x1-way*head), max(x0, x1-way*head), y, 2)
	s.Shape(c, []sketch.Pt{{X: x1, Y: y}, {X: x1 - way*head, Y: y - head/2}, {X: x1 - way*head, Y: y + head/2}})
}
