package kit

import (
	"math"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
	"golang.org/x/text/width"

	"lagwright/calib/i18n"
)

// NewNumber makes an entry for a number between two limits; an empty one is
// accepted where it may be left open.
func NewNumber(value string, lo, hi float64, open bool) *Field {
	e := NewField(value)
	e.Validator = func(s string) error {
		if open && strings.TrimSpace(s) == "" {
			return nil
		}
		if v, err := ParseNumber(s); err != nil || !(v >= lo && v <= hi) {
			return i18n.Errorf("a number from %.6g to %.6g", lo, hi)
		}
		return nil
	}
	return e
}

// NewCount makes an entry for a whole number between two limits.
func NewCount(value string, lo, hi float64, open bool) *Field {
	e := NewNumber(value, lo, hi, open)
	inRange := e.Validator
	e.Validator = func(s string) error {
		if v, err := ParseNumber(s); err == nil && v != math.Trunc(v) {
			return i18n.Errorf("a whole number")
		}
		return inRange(s)
	}
	return e
}

// ParseNumber reads a number with a point or a comma, or a fraction such as 5/8, in
// letters of any width.
func ParseNumber(s string) (float64, error) {
	over, under, fraction := strings.Cut(width.Fold.String(s), "/")
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(over), ",", ".", 1), 64)
	if err == nil && fraction {
		var by float64
		by, err = ParseNumber(under)
		v /= by
	}
	return v, err
}

// ValueOf returns the number in an entry that was validated, 0 for an empty one.
func ValueOf(e *Field) float64 {
	v, _ := ParseNumber(e.Text)
	return v
}

// NewName makes an entry for a name, which may not be empty.
func NewName(value string) *Field {
	e := NewField(value)
	e.Validator = func(s string) error {
		if strings.TrimSpace(s) == "" {
			return i18n.Errorf("a name")
		}
		return nil
	}
	return e
}

// Item is a line of a form, with a hint below it.
func Item(label, hint string, o fyne.CanvasObject) *widget.FormItem {
	i := widget.NewFormItem(label, o)
	i.HintText = hint
	return i
}

// Digits writes a number to be typed over; nothing for 0, which is not known.
func Digits(v float64) string {
	if v == 0 {
		return ""
	}
	return i18n.Decimal(strconv.FormatFloat(v, 'g', -1, 64))
}
