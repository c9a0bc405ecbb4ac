package ui

import (
	"regexp"
	"strconv"
	"strings"

	"lagwright/calib/i18n"
)

// unit is what lengths on the machine are entered and read in. Sessions keep mm.
type unit struct {
	name string
	mm   float64 // in one
}

// units are those to choose from, the usual one first. The inch is 25.4 mm
// (international yard and pound agreement of 1959).
var units = []unit{{"mm", 1}, {"in", 25.4}}

func unitNames() (names []string) {
	for _, u := range units {
		names = append(names, u.name)
	}
	return names
}

// Unit is the one that is preferred.
func (p Prefs) Unit() unit {
	name := p.String(prefUnit)
	for _, u := range units {
		if u.name == name {
			return u
		}
	}
	return units[0]
}

// figure writes a length to be typed over, in so many digits that it comes back as
// it was; nothing for 0, which is not known.
func (u unit) figure(mm float64) string {
	if mm == 0 || u.mm == 1 {
		return figure(mm)
	}
	return i18n.Decimal(strconv.FormatFloat(mm/u.mm, 'g', 6, 64))
}

// length returns in mm what was typed. What was not changed stays as it was to the
// last digit.
func (u unit) length(typed string, was float64) (mm float64, err error) {
	typed = strings.TrimSpace(typed)
	if typed == "" || typed == u.figure(was) {
		if typed == "" {
			was = 0
		}
		return was, nil
	}
	mm, err = parseNumber(typed)
	return mm * u.mm, err
}

var lengthWords = regexp.MustCompile(`([0-9]+(?:[.,][0-9]+)?) mm\b`)

// words returns a text in which lengths in mm are in this unit, in digits that say
// about as much.
func (u unit) words(text string) string {
	if u.mm == 1 {
		return text
	}
	return lengthWords.ReplaceAllStringFunc(text, func(said string) string {
		digits := strings.Replace(strings.TrimSuffix(said, " mm"), ",", ".", 1)
		mm, _ := strconv.ParseFloat(digits, 64)
		_, after, _ := strings.Cut(digits, ".")
		return i18n.F("%.*f %s", len(after)+2, mm/u.mm, u.name)
	})
}
