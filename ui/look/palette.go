package look

import (
	"image/color"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/plotting/sketch"
)

// Names of the colours with a meaning, which package sketch lays down for the window
// and for paper. Ask the theme in force for them through [Pick], or for all of a
// drawing's through [Inks]; both answer under a foreign theme too.
const (
	Reference fyne.ThemeColorName = "lagwrightReference" // the reference channel and its hits
	Voice     fyne.ThemeColorName = "lagwrightVoice"     // the voice channel and its hits
	Late      fyne.ThemeColorName = "lagwrightLate"      // a voice behind the reference
	Early     fyne.ThemeColorName = "lagwrightEarly"     // a voice before the reference
	Tight     fyne.ThemeColorName = "lagwrightTight"     // within tolerance
	Warn      fyne.ThemeColorName = "lagwrightWarn"      // something to look at before going on
	Grid      fyne.ThemeColorName = "lagwrightGrid"      // ruling, ticks; never text
	Paper     fyne.ThemeColorName = "lagwrightPaper"     // what traces and fans are drawn on
)

type shade sketch.Shade

// palette holds every colour of the theme. Its contrast is held by tests.
var palette = map[fyne.ThemeColorName]shade{
	Reference: shade(sketch.Reference),
	Voice:     shade(sketch.Voice),
	Late:      shade(sketch.Late),
	Early:     shade(sketch.Early),
	Tight:     shade(sketch.Tight),
	Warn:      shade(sketch.Warn),
	Grid:      {0xDED3C1, 0x463F36},
	Paper:     {0xFFFBF3, 0x1B1815},

	theme.ColorNameBackground:                {0xF3ECE0, 0x25211D},
	theme.ColorNameForeground:                {0x1E1913, 0xFAF5EC},
	theme.ColorNamePlaceHolder:               {0x6A6053, 0xB0A594},
	theme.ColorNameDisabled:                  {0x94897A, 0x7F7567},
	theme.ColorNameButton:                    {0xE4D8C5, 0x3A342D},
	theme.ColorNameDisabledButton:            {0xEAE1D3, 0x2E2924},
	theme.ColorNamePrimary:                   shade(sketch.Mark),
	theme.ColorNameHyperlink:                 shade(sketch.Mark),
	theme.ColorNameForegroundOnPrimary:       {0xFFFBF3, 0x1B1815},
	theme.ColorNameFocus:                     {0xE0A46C2A, 0xD898723C},
	theme.ColorNameSelection:                 {0x55C79A5E, 0x55C08F4E},
	theme.ColorNameHover:                     {0x142A241D, 0x18F1E9DC},
	theme.ColorNamePressed:                   {0x2A2A241D, 0x30F1E9DC},
	theme.ColorNameError:                     {0xA3261C, 0xFF9A8D},
	theme.ColorNameForegroundOnError:         {0xFFFBF3, 0x1B1815},
	theme.ColorNameSuccess:                   shade(sketch.Tight),
	theme.ColorNameForegroundOnSuccess:       {0xFFFBF3, 0x1B1815},
	theme.ColorNameWarning:                   shade(sketch.Warn),
	theme.ColorNameForegroundOnWarning:       {0xFFFBF3, 0x1B1815},
	theme.ColorNameInputBackground:           {0xFFFBF3, 0x1B1815},
	theme.ColorNameInputBorder:               {0x8F8371, 0x857A6A},
	theme.ColorNameHeaderBackground:          {0xE9DFCF, 0x2E2924},
	theme.ColorNameMenuBackground:            {0xFBF6EC, 0x2E2924},
	theme.ColorNameOverlayBackground:         {0xFBF6EC, 0x25211D},
	theme.ColorNameInnerWindowBorder:         {0xD6C9B4, 0x3A342D},
	theme.ColorNameInnerWindowBorderInactive: {0xE4D8C5, 0x2E2924},
	theme.ColorNameSeparator:                 {0xD3C6B2, 0x463F36},
	theme.ColorNameScrollBar:                 {0xB0807361, 0xB0A59A88},
	theme.ColorNameScrollBarBackground:       {0x18807361, 0x18A59A88},
	theme.ColorNameShadow:                    {0x382A241D, 0x70000000},
}

// Color returns the colour called name in the given variant, and transparent
// for a name this theme does not know.
func Color(name fyne.ThemeColorName, variant fyne.ThemeVariant) color.Color {
	if s, ok := palette[name]; ok {
		return sketch.Shade(s).On(variant != theme.VariantLight)
	}
	return color.Transparent
}

// Pick returns the colour called name from th. Under a theme that does not know
// the name it returns this package's own, so that widgets stay legible in tests
// and under an override.
func Pick(th fyne.Theme, name fyne.ThemeColorName, variant fyne.ThemeVariant) color.Color {
	if _, ours := th.(*benchTheme); !ours && strings.HasPrefix(string(name), "lagwright") {
		return Color(name, variant)
	}
	return th.Color(name, variant)
}

// Inks returns the colours of a drawing under a theme.
func Inks(th fyne.Theme) sketch.Inks {
	variant := fyne.CurrentApp().Settings().ThemeVariant()
	pick := func(name fyne.ThemeColorName) color.NRGBA {
		return color.NRGBAModel.Convert(Pick(th, name, variant)).(color.NRGBA)
	}
	return sketch.Inks{
		Paper: pick(Paper), Grid: pick(Grid), Text: pick(theme.ColorNameForeground), Quiet: pick(theme.ColorNamePlaceHolder),
		Reference: pick(Reference), Voice: pick(Voice), Late: pick(Late), Early: pick(Early), Tight: pick(Tight),
		Warn: pick(Warn), Mark: pick(theme.ColorNamePrimary),
	}
}
