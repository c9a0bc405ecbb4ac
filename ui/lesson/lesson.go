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

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// Picture is one. All its methods belong to the UI goroutine.
type Picture struct {
	ink.Drawing

	words string
	high  float64      // in device-independent pixels, at the usual text
	draw  func(*sheet) // draws all of it

}

func newPicture(words string, high float64, draw func(*sheet)) *Picture {
	p := &Picture{words: words, high: high, draw: draw}
	p.Begin(p, p.least, func(pen *ink.Pen) { p.draw(sheetOf(pen)) })
	return p
}

// AccessibilityLabel says what the picture shows.
func (p *Picture) AccessibilityLabel() string { return p.words }

// leastWide is the width below which the labels would run into each other.
const leastWide = 300

func (p *Picture) least(times float32) fyne.Size {
	return fyne.NewSize(leastWide*times, float32(p.high)*times)
}

// sheet is what a picture is drawn on: the pen, the theme's colours and the room.
type sheet struct {
	*ink.Pen
	paper, grid, text, quiet, reference, voice, late, early, tight color.Color

	w, h  float64
	times float64 // the usual size of text
	small float64 // size of labels
}

// sheetOf clears a sheet and asks the theme.
func sheetOf(p *ink.Pen) *sheet {
	i, s := look.Inks(p.Theme), &sheet{Pen: p}
	s.paper, s.grid, s.text, s.quiet = i.Paper, i.Grid, i.Text, i.Quiet
	s.reference, s.voice, s.late, s.early, s.tight = i.Reference, i.Voice, i.Late, i.Early, i.Tight
	s.w, s.h = s.Size()
	s.times, s.small = float64(look.Times(s.Theme)), float64(s.Theme.Size(theme.SizeNameCaptionText))
	s.Clear(color.Transparent)
	s.Card(s.paper, 0, 0, s.w, s.h, 6)
	return s
}

// Body returns all lessons, one below the other. units puts lengths in mm within a
// text into the unit the reader prefers.
func Body(units func(string) string) fyne.CanvasObject {
	body := container.NewVBox()
	add := func(title, words string, p *Picture) {
		text := widget.NewRichTextFromMarkdown("## " + title + "\n\n" + words)
		text.Wrapping = fyne.TextWrapWord
		body.Add(text)
		body.Add(p)
	}
	add(i18n.L("Why a faster crank makes the voice later"), units(fallText()), Fall(units))
	add(i18n.L("Turning the plate ahead"), turnText(), Turn())
	add(i18n.L("A setting fits one tempo"), lawText(), Law())
	add(i18n.L("What the take shows"), takeText(), Take())
	add(i18n.L("What one take cannot tell"), halfText(), Half())
	return body
}
