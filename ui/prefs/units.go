package prefs

import (
	"regexp"
	"strconv"
	"strings"

	"lagwright/calib/i18n"
	"lagwright/ui/kit"
)

// Unit is what lengths on the machine are entered and read in. Machines keep mm.
type Unit struct {
	Name string
	MM   float64 // in one
}

// units are those to choose from, the usual one first. The inch is 25.4 mm
// (international yard and pound agreement of 1959).
var units = []Unit{{"mm", 1}, {"in", 25.4}}

// Unit is the one that is preferred.
func (p Prefs) Unit() Unit {
	name := p.String(KeyUnit)
	for _, u := range units {
		if u.Name == name {
			return u
		}
	}
	return units[0]
}

// Figure writes a length to be typed over, in so many digits that it comes back as
// it was; nothing for 0, which is not known.
func (u Unit) Figure(mm float64) string {
	if mm == 0 || u.MM == 1 {
		return kit.Digits(mm)
	}
	return i18n.Decimal(strconv.FormatFloat(mm/u.MM, 'g', 6, 64))
}

// Length returns in mm what was typed. What was not changed stays as it was to the
// last digit.
func (u Unit) Length(typed string, was float64) (mm float64, err error) {
	typed = strings.TrimSpace(typed)
	if typed == "" || typed == u.Figure(was) {
		if typed == "" {
			was = 0
		}
		return was, nil
	}
	mm, err = kit.ParseNumber(typed)
	return mm * u.MM, err
}

var lengthWords = regexp.MustCompile(`([0-9]+(?:[.,][0-9]+)?) mm\b`)

// Words returns a text in which lengths in mm are in this unit, in digits that say
// about as much.
func (u Unit) Words(text string) string {
	if u.MM == 1 {
		return text
	}
	return lengthWords.ReplaceAllStringFunc(text, func(said string) string {
		digits := strings.Replace(strings.TrimSuffix(said, " mm"), ",", ".", 1)
		mm, _ := strconv.ParseFloat(digits, 64)
		_, after, _ := strings.Cut(digits, ".")
		return i18n.F("%.*f %s", len(after)+2, mm/u.MM, u.Name)
	})
}
