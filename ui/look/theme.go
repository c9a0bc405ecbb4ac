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
	fyne.Theme                   // the toolkit's
	variant    fyne.ThemeVariant // follow, or the only variant it shows
	text       float32           // how many times the usual size text has
	own        fonts             // of the language in use
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
	return &benchTheme{Theme: theme.DefaultTheme(), variant: variant, text: 1, own: fontsOf(i18n.Tag())}
}

// Larger returns one of this package's themes with text so many times the usual
// size; another theme stays as it is.
func Larger(th fyne.Theme, times float32) fyne.Theme {
	if t, ours := th.(*benchTheme); ours {
		larger := *t
		larger.text = times
		return &larger
	}
	return th
}

// Lettered returns one of this package's themes with the letters of another language;
// another theme stays as it is.
func Lettered(th fyne.Theme, tag string) fyne.Theme {
	if t, ours := th.(*benchTheme); ours {
		lettered := *t
		lettered.own = fontsOf(tag)
		return &lettered
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
	return t.Theme.Color(name, variant)
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
	return t.Theme.Font(style)
}

// sizes are a little larger than the toolkit's: the screen is read from a crank's
// length away. Device-independent pixels. Some go with the text; the room around things
// stays, so that as much as possible is left for words.
var sizes = map[fyne.ThemeSizeName]struct {
	usual float32
	grows bool
}{
	theme.SizeNameText:           {16, true},
	theme.SizeNameCaptionText:    {13, true},
	theme.SizeNameSubHeadingText: {21, true},
	theme.SizeNameHeadingText:    {30, true},
	theme.SizeNameLineSpacing:    {5, true},
	theme.SizeNameInlineIcon:     {22, true},
	theme.SizeNamePadding:        {5, false},
	theme.SizeNameInnerPadding:   {9, false},
	theme.SizeNameInputRadius:    {4, false},
	theme.SizeNameButtonRadius:   {4, false},
	theme.SizeNameCardRadius:     {6, false},
	theme.SizeNameScrollBar:      {14, false},
	theme.SizeNameScrollBarSmall: {5, false},
}

// Size returns the named size in device-independent pixels.
func (t *benchTheme) Size(name fyne.ThemeSizeName) float32 {
	switch s, ok := sizes[name]; {
	case !ok:
		return t.Theme.Size(name)
	case s.grows:
		return s.usual * t.text
	default:
		return s.usual
	}
}
