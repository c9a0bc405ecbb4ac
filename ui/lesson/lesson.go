// Package lesson explains the machine in small pictures, each beside a short
// paragraph. What they show is worked out by package calib from one machine
// (facts.go): no number is drawn that the program would not give itself.
//
// The pictures speak as the window does: the reference above with a disc, the
// voice below with a diamond, a bracket between them as wide as the lag, late to
// the right and early to the left, and a word wherever there is a colour.
package lesson

import (
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

var (
	_ fyne.Widget     = (*Picture)(nil)
	_ fyne.Accessible = (*Picture)(nil)
)

// Picture is one. All its methods belong to the UI goroutine.
type Picture struct {
	widget.BaseWidget

	words string
	high  float64      // in device-independent pixels, at the usual text
	draw  func(*sheet) // draws all of it

	raster *canvas.Raster
	sheet  sheet
}

func newPicture(words string, high float64, draw func(*sheet)) *Picture {
	p := &Picture{words: words, high: high, draw: draw}
	p.raster = canvas.NewRaster(p.paint)
	p.ExtendBaseWidget(p)
	return p
}

// AccessibilityLabel says what the picture shows.
func (p *Picture) AccessibilityLabel() string { return p.words }

// AccessibilityRole is text: the picture is only read.
func (p *Picture) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// CreateRenderer returns the renderer: one raster.
func (p *Picture) CreateRenderer() fyne.WidgetRenderer { return &renderer{p} }

type renderer struct{ p *Picture }

// leastWide is the width below which the labels would run into each other.
const leastWide = 300

func (r *renderer) Layout(size fyne.Size) { r.p.raster.Resize(size) }
func (r *renderer) MinSize() fyne.Size {
	times := look.Times(r.p.Theme())
	return fyne.NewSize(leastWide*times, float32(r.p.high)*times)
}
func (r *renderer) Refresh()                     { r.p.raster.Refresh() }
func (r *renderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.p.raster} }
func (r *renderer) Destroy()                     {}

// paint is the raster's generator; w and h are device pixels.
func (p *Picture) paint(w, h int) image.Image {
	s := &p.sheet
	if s.Img == nil || s.Img.Rect.Dx() != w || s.Img.Rect.Dy() != h {
		s.Img = image.NewRGBA(image.Rect(0, 0, w, h))
	}
	if w < 1 || h < 1 {
		return s.Img
	}
	s.Scale, s.Theme = 1, p.Theme()
	if wide := p.raster.Size().Width; wide > 0 {
		s.Scale = float64(w) / float64(wide)
	}
	s.prepare()
	p.draw(s)
	return s.Img
}

// sheet is what a picture is drawn on: the pen, the theme's colours and the room.
type sheet struct {
	ink.Pen
	paper, grid, text, quiet, reference, voice, late, early, tight color.Color

	w, h  float64
	times float64 // the usual size of text
	small float64 // size of labels
}

// prepare clears the sheet and asks the theme.
func (s *sheet) prepare() {
	v := fyne.CurrentApp().Settings().ThemeVariant()
	pick := func(name fyne.ThemeColorName) color.Color { return look.Pick(s.Theme, name, v) }
	s.paper, s.grid, s.text, s.quiet = pick(look.Paper), pick(look.Grid), pick(theme.ColorNameForeground), pick(theme.ColorNamePlaceHolder)
	s.reference, s.voice = pick(look.Reference), pick(look.Voice)
	s.late, s.early, s.tight = pick(look.Late), pick(look.Early), pick(look.Tight)
	s.w, s.h = s.Size()
	s.times, s.small = float64(look.Times(s.Theme)), float64(s.Theme.Size(theme.SizeNameCaptionText))
	s.Clear(color.Transparent)
	s.Card(s.paper, 0, 0, s.w, s.h, 6)
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
