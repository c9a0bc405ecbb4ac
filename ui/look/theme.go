package look

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/assets"
	"lagwright/calib/i18n"
)

// follow is no variant of Fyne's: it stands for "as the system says".
const follow fyne.ThemeVariant = 0xff

var _ fyne.Theme = (*benchTheme)(nil)

// benchTheme is the theme; icons and most fonts are the toolkit's.
type benchTheme struct {
	variant fyne.ThemeVariant // follow, or the only variant it shows
	text    float32           // how many times the usual size text has
	own     fonts             // of the language in use
}

// fonts are those of a language that the toolkit's fonts lack the letters of; else nil.
type fonts struct{ usual, bold fyne.Resource }

func fontsOf(tag string) (f fonts) {
	if font := assets.Font(tag, false); font != nil {
		f.usual = fyne.NewStaticResource(tag+".ttf", font)
	}
	if font := assets.Font(tag, true); font != nil {
		f.bold = fyne.NewStaticResource(tag+"-bold.ttf", font)
	}
	return f
}

// New returns the theme that follows the system between light and dark.
func New() fyne.Theme { return Forced(follow) }

// Forced returns the theme held in one variant (theme.VariantLight or
// theme.VariantDark) whatever the system says.
func Forced(variant fyne.ThemeVariant) fyne.Theme {
	return &benchTheme{variant: variant, text: 1, own: fontsOf(i18n.Tag())}
}

// Larger returns one of this package's themes with text so many times the usual
// size; another theme stays as it is.
func Larger(th fyne.Theme, times float32) fyne.Theme {
	if t, ours := th.(*benchTheme); ours {
		return &benchTheme{variant: t.variant, text: times, own: t.own}
	}
	return th
}

// Lettered returns one of this package's themes with the letters of another language;
// another theme stays as it is.
func Lettered(th fyne.Theme, tag string) fyne.Theme {
	if t, ours := th.(*benchTheme); ours {
		return &benchTheme{variant: t.variant, text: t.text, own: fontsOf(tag)}
	}
	return th
}

// Times returns how many times the usual size text has under a theme; what has a
// size of its own grows by as much.
func Times(th fyne.Theme) float32 {
	if t, ours := th.(*benchTheme); ours {
		return t.text
	}
	return 1
}

// Color returns the named colour. Names the palette lacks come from the
// toolkit's own theme.
func (t *benchTheme) Color(name fyne.ThemeColorName, variant fyne.ThemeVariant) color.Color {
	if t.variant != follow {
		variant = t.variant
	}
	if _, ok := palette[name]; ok {
		return Color(name, variant)
	}
	return theme.DefaultTheme().Color(name, variant)
}

// Font returns the toolkit's font, or one of our own where that lacks the letters of
// the language in use.
func (t *benchTheme) Font(style fyne.TextStyle) fyne.Resource {
	own := t.own.usual
	if style.Bold {
		own = t.own.bold
	}
	if own != nil && !style.Symbol {
		return own
	}
	return theme.DefaultTheme().Font(style)
}

// Icon returns the toolkit's icon.
func (t *benchTheme) Icon(name fyne.ThemeIconName) fyne.Resource {
	return theme.DefaultTheme().Icon(name)
}

// sizes are a little larger than the toolkit's: the screen is read from a crank's
// length away. Device-independent pixels.
var sizes = map[fyne.ThemeSizeName]float32{
	theme.SizeNameText:           16,
	theme.SizeNameCaptionText:    13,
	theme.SizeNameSubHeadingText: 21,
	theme.SizeNameHeadingText:    30,
	theme.SizeNamePadding:        5,
	theme.SizeNameInnerPadding:   9,
	theme.SizeNameLineSpacing:    5,
	theme.SizeNameInlineIcon:     22,
	theme.SizeNameInputRadius:    4,
	theme.SizeNameButtonRadius:   4,
	theme.SizeNameCardRadius:     6,
	theme.SizeNameScrollBar:      14,
	theme.SizeNameScrollBarSmall: 5,
}

// Size returns the named size in device-independent pixels.
func (t *benchTheme) Size(name fyne.ThemeSizeName) float32 {
	s, ok := sizes[name]
	if !ok {
		s = theme.DefaultTheme().Size(name)
	}
	if grows[name] {
		s *= t.text
	}
	return s
}

// grows are the sizes that go with the text. The room around things stays, so
// that as much as possible is left for words.
var grows = map[fyne.ThemeSizeName]bool{
	theme.SizeNameText:           true,
	theme.SizeNameCaptionText:    true,
	theme.SizeNameSubHeadingText: true,
	theme.SizeNameHeadingText:    true,
	theme.SizeNameLineSpacing:    true,
	theme.SizeNameInlineIcon:     true,
}
