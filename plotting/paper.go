package plotting

import (
	"strings"

	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// Theme holds the colours of a figure; package sketch says what each means. Every
// mark also differs in shape or carries a word.
type Theme = sketch.Inks

// inks are the colours of what is printed.
var inks = sketch.OnPaper()

// Paper is the sheet that a figure is printed on; none counts as A5.
type Paper string

// A5 and A4 are sizes of ISO 216; Letter is the North American one.
const (
	A5     Paper = "A5"
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// PaperNamed returns the paper of a name, upper and lower case alike, or an error for one
// that is unknown.
func PaperNamed(name string) (Paper, error) {
	for _, p := range []Paper{A5, A4, Letter} {
		if strings.EqualFold(name, string(p)) {
			return p, nil
		}
	}
	return "", i18n.Errorf("the paper %q is unknown; use %s, %s or %s", clean(name), A5, A4, Letter)
}

// size returns the short and the long side: ISO 216 (A series) and ANSI/ASME Y14.1 (letter,
// 8.5 by 11 inches), values from memory.
func (p Paper) size() (short, long vg.Length) {
	switch p {
	case A4:
		return 210 * mm, 297 * mm
	case Letter:
		return 8.5 * vg.Inch, 11 * vg.Inch
	}
	return 148 * mm, 210 * mm
}

// unit is 1 on A5 and larger on larger paper, as its words are.
func (p Paper) unit() vg.Length {
	short, _ := p.size()
	return short / (148 * mm)
}

// upright is a printed figure of upright pages.
func (p Paper) upright(pages ...func(pen)) *Figure {
	short, long := p.size()
	return printed(short, long, pages...)
}

// onSide is one of pages on their side.
func (p Paper) onSide(pages ...func(pen)) *Figure {
	short, long := p.size()
	return printed(long, short, pages...)
}

func printed(width, height vg.Length, pages ...func(pen)) *Figure {
	return &Figure{width: width, height: height, background: inks.Paper, pages: pages}
}
