// Package lesson explains the machine in small pictures, each beside a short
// paragraph. What they show is worked out by package calib from one machine
// (facts.go): no number is drawn that the program would not give itself.
//
// The pictures speak as the window does: the reference above with a disc, the
// voice below with a diamond, a bracket between them as wide as the lag, late to
// the right and early to the left, and a word wherever there is a colour.
package lesson

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
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
