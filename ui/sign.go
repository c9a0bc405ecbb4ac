package ui

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/ui/look"
)

// sign is text as large as its place allows, up to most, in as many as maxLines
// lines: it is read from the crank, three metres away.
type sign struct {
	widget.BaseWidget
	text     string
	ink      fyne.ThemeColorName
	most     float32 // largest text size
	least    float32 // smallest text size
	maxLines int
	style    fyne.TextStyle
	align    fyne.TextAlign
	width    float32 // the least the sign asks for

	asked struct { // what was answered to the last question for the least height
		text         string
		width, times float32
		height       float32
	}
}

// newSign makes a sign that asks for room for maxLines lines at its smallest size,
// for more where its text needs more at the width it has, and for the given width.
// All sizes grow with the theme's text.
func newSign(most, least float32, maxLines int, style fyne.TextStyle, align fyne.TextAlign, width float32) *sign {
	s := &sign{ink: theme.ColorNameForeground, most: most, least: least, maxLines: maxLines, style: style, align: align, width: width}
	s.ExtendBaseWidget(s)
	return s
}

func (s *sign) set(text string, ink fyne.ThemeColorName) {
	s.text, s.ink = strings.ReplaceAll(text, "−", "–"), ink // Fyne's font has no minus sign
	s.Refresh()
}

// AccessibilityLabel is the text itself.
func (s *sign) AccessibilityLabel() string { return s.text }

// AccessibilityRole is that of text.
func (s *sign) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

var _ fyne.Accessible = (*sign)(nil)

func (s *sign) lineHeight(size float32) float32 { return fyne.MeasureText("X", size, s.style).Height }

// fit returns the largest size up to most, and the lines, with which the text
// fits into the given place; at the smallest size lines may still be too long.
func (s *sign) fit(place fyne.Size) (size float32, lines []string) {
	times := look.Times(s.Theme())
	least := s.least * times
	for size = s.most * times; ; size = max(size-2, least) {
		lines = s.wrapped(size, place.Width)
		high := float32(len(lines)) * s.lineHeight(size)
		wide := false
		for _, line := range lines {
			wide = wide || fyne.MeasureText(line, size, s.style).Width > place.Width
		}
		if size <= least || (!wide && len(lines) <= s.maxLines && high <= place.Height) {
			return size, lines
		}
	}
}

// wrapped returns the text in lines no wider than width at a size.
func (s *sign) wrapped(size, width float32) []string {
	return wrap(s.text, width, func(t string) float32 { return fyne.MeasureText(t, size, s.style).Width })
}

// leastHeight is that of maxLines lines at the smallest size, or of as many as the
// text takes at the width the sign has.
func (s *sign) leastHeight() float32 {
	width, times := s.Size().Width, look.Times(s.Theme())
	if a := &s.asked; a.height == 0 || a.text != s.text || a.width != width || a.times != times {
		lines := s.maxLines
		if width > 0 {
			lines = max(lines, len(s.wrapped(s.least*times, width)))
		}
		a.text, a.width, a.times = s.text, width, times
		a.height = s.lineHeight(s.least*times) * float32(lines)
	}
	return s.asked.height
}

// CreateRenderer makes the sign's canvas objects.
func (s *sign) CreateRenderer() fyne.WidgetRenderer { return &signRenderer{sign: s} }

type signRenderer struct {
	sign  *sign
	texts []fyne.CanvasObject
}

func (r *signRenderer) Layout(place fyne.Size) {
	if place.IsZero() {
		return // it has no place yet
	}
	size, lines := r.sign.fit(place)
	r.texts = r.texts[:0]
	high := r.sign.lineHeight(size)
	y := (place.Height - high*float32(len(lines))) / 2
	for i, line := range lines {
		t := canvas.NewText(line, r.color())
		t.TextSize, t.TextStyle, t.Alignment = size, r.sign.style, r.sign.align
		t.Resize(fyne.NewSize(place.Width, high))
		t.Move(fyne.NewPos(0, y+high*float32(i)))
		r.texts = append(r.texts, t)
	}
}

func (r *signRenderer) color() color.Color {
	return look.Pick(r.sign.Theme(), r.sign.ink, fyne.CurrentApp().Settings().ThemeVariant())
}

func (r *signRenderer) MinSize() fyne.Size {
	return fyne.NewSize(r.sign.width, r.sign.leastHeight())
}

func (r *signRenderer) Refresh() {
	r.Layout(r.sign.Size())
	canvas.Refresh(r.sign)
}

func (r *signRenderer) Objects() []fyne.CanvasObject { return r.texts }
func (r *signRenderer) Destroy()                     {}
