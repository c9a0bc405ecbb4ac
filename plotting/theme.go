package plotting

import "image/color"

// Theme holds the colours of a figure. Every mark also differs in shape or
// carries a word, so that no meaning rests on colour alone.
type Theme struct {
	Background color.NRGBA
	Ink        color.NRGBA // text and the zero line
	Muted      color.NRGBA // axes, secondary text, what does not count
	Rule       color.NRGBA // grid
	Tolerance  color.NRGBA // the band in which nobody hears the lag
	Current    color.NRGBA // the law at the current setting, the reading's centre
	Law        color.NRGBA // the law at other settings
	Take       color.NRGBA // a take that is not within tolerance yet, a voice hit
	Settled    color.NRGBA // a take within tolerance
}

// The eight-colour palette of Okabe and Ito, "Color Universal Design" (2008),
// values from memory; the ones used here.
var (
	orange     = color.NRGBA{0xE6, 0x9F, 0x00, 0xFF}
	green      = color.NRGBA{0x00, 0x9E, 0x73, 0xFF}
	blue       = color.NRGBA{0x00, 0x72, 0xB2, 0xFF}
	vermillion = color.NRGBA{0xD5, 0x5E, 0x00, 0xFF}
)

// Colours of several voices, on paper and on a dark ground, repeated when they run
// out. Each keeps 3:1 to its ground (WCAG 2.1, 1.4.11), which half of the palette
// does on either; the purple and the brown are our own.
var (
	onLight = []color.NRGBA{blue, vermillion, green, {0x7A, 0x3E, 0x9D, 0xFF}, {0x7A, 0x5A, 0x2B, 0xFF}}
	onDark  = []color.NRGBA{{0x56, 0xB4, 0xE9, 0xFF}, orange, green, {0xCC, 0x79, 0xA7, 0xFF}, {0xF0, 0xE4, 0x42, 0xFF}}
)

// voices returns the colours of voices that suit the theme's background.
func (t Theme) voices() []color.NRGBA {
	if color.GrayModel.Convert(t.Background).(color.Gray).Y < 0x80 {
		return onDark
	}
	return onLight
}

// Light is the theme for paper. A window makes its own of its colours.
func Light() Theme {
	return Theme{
		Background: color.NRGBA{0xFF, 0xFF, 0xFF, 0xFF},
		Ink:        color.NRGBA{0x1B, 0x1D, 0x21, 0xFF},
		Muted:      color.NRGBA{0x5C, 0x62, 0x6B, 0xFF},
		Rule:       color.NRGBA{0xE7, 0xE9, 0xEC, 0xFF},
		Tolerance:  color.NRGBA{0xDD, 0xF1, 0xEA, 0xFF},
		Current:    blue,
		Law:        color.NRGBA{0x86, 0x8E, 0x99, 0xFF},
		Take:       vermillion,
		Settled:    green,
	}
}

// faded returns c with the given opacity, 0 to 1.
func faded(c color.NRGBA, opacity float64) color.NRGBA {
	c.A = uint8(opacity*255 + 0.5)
	return c
}
