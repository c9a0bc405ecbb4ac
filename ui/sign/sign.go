// Package sign shows text as large as its place allows.
//
// The toolkit's labels have one size and break lines at spaces only. Where lines may
// break is calib/i18n's to say, as it is on paper.
package sign

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/plotting/sketch"
	"lagwright/ui/look"
)

// Sign is text as large as its place allows, up to most, in as many as maxLines
// lines: it is read from the crank, three metres away.
type Sign struct {
	widget.BaseWidget
	Text     string
	ink      fyne.ThemeColorName
	most     float32 // largest text size
	least    float32 // smallest text size
	maxLines int
	Style    fyne.TextStyle
	align    fyne.TextAlign
	width    float32 // the least the sign asks for

	asked struct { // what was answered to the last question for the least height
		newName      string
		width, times float32
		height       float32
	}
}

// New makes a sign that asks for room for maxLines lines at its smallest size,
// for more where its text needs more at the width it has, and for the given width.
// All sizes grow with the theme's text.
func New(most, least float32, maxLines int, style fyne.TextStyle, align fyne.TextAlign, width float32) *Sign {
	s := &Sign{ink: theme.ColorNameForeground, most: most, least: least, maxLines: maxLines, Style: style, align: align, width: width}
	s.ExtendBaseWidget(s)
	return s
}

// Set shows a text in a colour of the theme.
func (s *Sign) Set(text string, ink fyne.ThemeColorName) {
	text = strings.ReplaceAll(text, "−", "–") // Fyne's font has no minus sign
	if text != s.Text || ink != s.ink {
		s.Text, s.ink = text, ink
		s.Refresh()
	}
}

// SetAs shows what another sign shows.
func (s *Sign) SetAs(o *Sign) { s.Set(o.Text, o.ink) }

// AccessibilityLabel is the text itself.
func (s *Sign) AccessibilityLabel() string { return s.Text }

// AccessibilityRole is that of text.
func (s *Sign) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

var _ fyne.Accessible = (*Sign)(nil)

// LineHeight is that of a line in letters of a size.
func (s *Sign) LineHeight(size float32) float32 { return fyne.MeasureText("X", size, s.Style).Height }

// Fit returns the largest size up to most, and the lines, with which the text
// fits into the given place; at the smallest size lines may still be too long.
func (s *Sign) Fit(place fyne.Size) (size float32, lines []string) {
	times := look.Times(s.Theme())
	least := s.least * times
	for size = s.most * times; ; size = max(size-2, least) {
		lines = s.wrapped(size, place.Width)
		high := float32(len(lines)) * s.LineHeight(size)
		wide := false
		for _, line := range lines {
			wide = wide || fyne.MeasureText(line, size, s.Style).Width > place.Width
		}
		if size <= least || (!wide && len(lines) <= s.maxLines && high <= place.Height) {
			return size, lines
		}
	}
}

// wrapped returns the text in lines no wider than width at a size.
func (s *Sign) wrapped(size, width float32) []string {
	return sketch.Wrap(s.Text, float64(width), func(t string) float64 { return float64(fyne.MeasureText(t, size, s.Style).Width) })
}

// leastHeight is that of maxLines lines at the smallest size, or of as many as the
// text takes at the width the sign has.
func (s *Sign) leastHeight() float32 {
	width, times := s.Size().Width, look.Times(s.Theme())
	if a := &s.asked; a.height == 0 || a.newName != s.Text || a.width != width || a.times != times {
		lines := s.maxLines
		if width > 0 {
			lines = max(lines, len(s.wrapped(s.least*times, width)))
		}
		a.newName, a.width, a.times = s.Text, width, times
		a.height = s.LineHeight(s.least*times) * float32(lines)
	}
	return s.asked.height
}

// CreateRenderer makes the sign's canvas objects.
func (s *Sign) CreateRenderer() fyne.WidgetRenderer { return &signRenderer{sign: s} }

type signRenderer struct {
	sign  *Sign
	texts []fyne.CanvasObject
	laid  laid // as texts are
}

// laid is what the places of lines follow from.
type laid struct {
	text  string
	place fyne.Size
	times float32
}

func (r *signRenderer) Layout(place fyne.Size) {
	now := laid{r.sign.Text, place, look.Times(r.sign.Theme())}
	if place.IsZero() || now == r.laid {
		return // it has no place yet, or all fits as it does
	}
	r.laid = now
	size, lines := r.sign.Fit(place)
	r.texts = r.texts[:0]
	high := r.sign.LineHeight(size)
	y := (place.Height - high*float32(len(lines))) / 2
	for i, line := range lines {
		t := canvas.NewText(line, r.color())
		t.TextSize, t.TextStyle, t.Alignment = size, r.sign.Style, r.sign.align
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
	for _, t := range r.texts {
		t.(*canvas.Text).Color = r.color()
	}
	canvas.Refresh(r.sign)
}

func (r *signRenderer) Objects() []fyne.CanvasObject { return r.texts }
func (r *signRenderer) Destroy()                     {}
