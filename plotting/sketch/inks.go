package sketch

import (
	"image/color"
	"math"
)

// Shade is one colour on a light and on a dark ground, as 0xRRGGBB or, where the top byte
// is set, 0xAARRGGBB.
type Shade struct{ Light, Dark uint32 }

// The colours with a meaning; the package comment says which.
var (
	Reference = Shade{0x473A2B, 0xE9DCC4}
	Voice     = Shade{0x00725C, 0x40B998}
	Late      = Shade{0xB34300, 0xEE7F3D}
	Early     = Shade{0x8A3A78, 0xE3A0CC}
	Tight     = Shade{0x0063A0, 0x6CBDF0}
	Warn      = Shade{0x835A00, 0xF3D84F}
	Mark      = Shade{0x6A4A20, 0xDDA962}
)

// On returns the colour on a light or a dark ground.
func (s Shade) On(dark bool) color.NRGBA {
	c := s.Light
	if dark {
		c = s.Dark
	}
	if c>>24 == 0 { // no shade is fully transparent
		c |= 0xFF << 24
	}
	return color.NRGBA{R: uint8(c >> 16), G: uint8(c >> 8), B: uint8(c), A: uint8(c >> 24)}
}

// Inks are the colours of one drawing.
type Inks struct {
	Paper color.NRGBA // the ground
	Grid  color.NRGBA // ruling; never text
	Text  color.NRGBA // words and the zero line
	Quiet color.NRGBA // axes, secondary words, what does not count

	Reference, Voice, Late, Early, Tight, Warn, Mark color.NRGBA
}

// InksOn returns the colours with a meaning on a light or a dark ground, with the
// ground's own.
func InksOn(dark bool, paper, grid, text, quiet color.NRGBA) Inks {
	return Inks{
		Paper: paper, Grid: grid, Text: text, Quiet: quiet,
		Reference: Reference.On(dark), Voice: Voice.On(dark), Late: Late.On(dark), Early: Early.On(dark),
		Tight: Tight.On(dark), Warn: Warn.On(dark), Mark: Mark.On(dark),
	}
}

// OnPaper are the colours of what is printed.
func OnPaper() Inks {
	grey := func(v uint8) color.NRGBA { return color.NRGBA{v, v, v, 0xFF} }
	return InksOn(false, grey(0xFF), grey(0xE6), grey(0x1B), grey(0x60))
}

// Side is the colour of a lag's side.
func (i Inks) Side(lagMS float64) color.NRGBA {
	if lagMS < 0 {
		return i.Early
	}
	return i.Late
}

// Lag is the colour of a lag: tight within the tolerance, which includes its edge,
// else that of its side.
func (i Inks) Lag(lagMS, toleranceMS float64) color.NRGBA {
	if math.Abs(lagMS) <= toleranceMS {
		return i.Tight
	}
	return i.Side(lagMS)
}

// Zone is the ground within tolerance.
func (i Inks) Zone() color.NRGBA { return Mix(i.Paper, i.Tight, 0.14) }

// Voices are the tones of the lines of several voices: all of them the voice's
// green, lighter and darker.
func (i Inks) Voices() []color.NRGBA {
	return []color.NRGBA{i.Voice, Mix(i.Voice, i.Text, 0.7), Mix(i.Voice, i.Paper, 0.28)}
}

// Mix returns the colour a share of the way from a to b (0 is a, 1 is b), both
// taken as opaque.
func Mix(a, b color.Color, share float64) color.NRGBA {
	ar, ag, ab, _ := a.RGBA()
	br, bg, bb, _ := b.RGBA()
	mix := func(x, y uint32) uint8 {
		return uint8((float64(x)*(1-share) + float64(y)*share) / 257)
	}
	return color.NRGBA{R: mix(ar, br), G: mix(ag, bg), B: mix(ab, bb), A: 0xFF}
}

// Faded returns c with the given opacity, 0 to 1.
func Faded(c color.NRGBA, opacity float64) color.NRGBA {
	c.A = uint8(opacity*255 + 0.5)
	return c
}
