package plotting

import (
	"strings"

	"gonum.org/v1/plot/vg"

	"lagwright/calib/i18n"
)

// Paper names the sheet a card is printed on.
type Paper string

// A5 and A4 are sizes of ISO 216; Letter is the North American one.
const (
	A5     Paper = "A5"
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// Check returns an error for a paper that is unknown.
func (p Paper) Check() error {
	_, _, err := p.size()
	return err
}

// size returns the short and the long side; no name counts as A5, and upper and
// lower case are alike. Sizes: ISO 216 (A series) and ANSI/ASME Y14.1 (letter,
// 8.5 by 11 inches), values from memory.
func (p Paper) size() (short, long vg.Length, err error) {
	switch {
	case p == "" || strings.EqualFold(string(p), string(A5)):
		return 148 * mm, 210 * mm, nil
	case strings.EqualFold(string(p), string(A4)):
		return 210 * mm, 297 * mm, nil
	case strings.EqualFold(string(p), string(Letter)):
		return 8.5 * vg.Inch, 11 * vg.Inch, nil
	}
	return 0, 0, i18n.Errorf("the paper %q is unknown; use %s, %s or %s", clean(string(p)), A5, A4, Letter)
}
