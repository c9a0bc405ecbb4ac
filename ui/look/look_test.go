package look

import (
	"bytes"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"lagwright/assets"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// variants are both looks by name.
var variants = map[string]fyne.ThemeVariant{"light": theme.VariantLight, "dark": theme.VariantDark}

// linear undoes the sRGB transfer curve of one channel, as WCAG 2.1 defines
// relative luminance.
func linear(v uint8) float64 {
	c := float64(v) / 255
	if c <= 0.03928 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

// luminance is WCAG 2.1's relative luminance.
func luminance(c color.Color) float64 {
	n := color.NRGBAModel.Convert(c).(color.NRGBA)
	return 0.2126*linear(n.R) + 0.7152*linear(n.G) + 0.0722*linear(n.B)
}

// contrast is WCAG 2.1's contrast ratio.
func contrast(a, b color.Color) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// TestContrastFormula holds the ruler itself to published values: black on white
// is 21 to 1 (WCAG 2.1, definition of contrast ratio), and #767676 is the lightest
// grey that passes 4.5 to 1 on white (common practice, from memory).
func TestContrastFormula(t *testing.T) {
	if got := contrast(color.Black, color.White); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white is %v, want 21", got)
	}
	pass := contrast(color.Gray{Y: 0x76}, color.White)
	fail := contrast(color.Gray{Y: 0x77}, color.White)
	if pass < 4.5 || fail >= 4.5 {
		t.Errorf("#767676 and #777777 on white are %.3f and %.3f, want them on either side of 4.5", pass, fail)
	}
}

// TestContrast holds text to WCAG 2.1 success criterion 1.4.3 level AA (4.5 to 1)
// and edges that must be seen to 1.4.11 (3 to 1).
func TestContrast(t *testing.T) {
	const text, edge = 4.5, 3
	pairs := []struct {
		on    fyne.ThemeColorName
		least float64
		names []fyne.ThemeColorName
	}{
		{Paper, text, []fyne.ThemeColorName{Reference, Voice, Late, Early, Tight, Warn, theme.ColorNameForeground, theme.ColorNamePlaceHolder}},
		{theme.ColorNameBackground, text, []fyne.ThemeColorName{
			Reference, Voice, Late, Early, Tight, Warn, theme.ColorNameForeground, theme.ColorNamePlaceHolder,
			theme.ColorNamePrimary, theme.ColorNameHyperlink, theme.ColorNameError, theme.ColorNameWarning, theme.ColorNameSuccess}},
		{theme.ColorNameButton, text, []fyne.ThemeColorName{theme.ColorNameForeground}},
		{theme.ColorNameInputBackground, text, []fyne.ThemeColorName{theme.ColorNameForeground, theme.ColorNamePlaceHolder}},
		{theme.ColorNameMenuBackground, text, []fyne.ThemeColorName{theme.ColorNameForeground}},
		{theme.ColorNameOverlayBackground, text, []fyne.ThemeColorName{theme.ColorNameForeground, theme.ColorNamePrimary}},
		{theme.ColorNameHeaderBackground, text, []fyne.ThemeColorName{theme.ColorNameForeground}},
		{theme.ColorNamePrimary, text, []fyne.ThemeColorName{theme.ColorNameForegroundOnPrimary}},
		{theme.ColorNameError, text, []fyne.ThemeColorName{theme.ColorNameForegroundOnError}},
		{theme.ColorNameSuccess, text, []fyne.ThemeColorName{theme.ColorNameForegroundOnSuccess}},
		{theme.ColorNameWarning, text, []fyne.ThemeColorName{theme.ColorNameForegroundOnWarning}},
		{theme.ColorNameBackground, edge, []fyne.ThemeColorName{theme.ColorNameInputBorder, theme.ColorNameFocus}},
		{Paper, edge, []fyne.ThemeColorName{theme.ColorNameFocus, theme.ColorNamePrimary}},
	}
	for name, v := range variants {
		for _, p := range pairs {
			for _, n := range p.names {
				if got := contrast(Color(n, v), Color(p.on, v)); got < p.least {
					t.Errorf("%s: %s on %s has contrast %.2f, want at least %.1f", name, n, p.on, got, p.least)
				}
			}
		}
	}
}

// over is a colour that is not quite opaque laid on another.
func over(top, on color.Color) color.Color {
	t, o := color.NRGBAModel.Convert(top).(color.NRGBA), color.NRGBAModel.Convert(on).(color.NRGBA)
	share := float64(t.A) / 255
	mix := func(a, b uint8) uint8 { return uint8(math.Round(float64(a)*share + float64(b)*(1-share))) }
	return color.NRGBA{R: mix(t.R, o.R), G: mix(t.G, o.G), B: mix(t.B, o.B), A: 255}
}

// TestFocusContrast holds what has the keyboard to the same criteria: the toolkit
// lays the focus colour over a choice or a button and writes on it.
func TestFocusContrast(t *testing.T) {
	const text, edge = 4.5, 3.0
	for name, v := range variants {
		focus := Color(theme.ColorNameFocus, v)
		for on, written := range map[fyne.ThemeColorName]fyne.ThemeColorName{
			theme.ColorNameBackground:        theme.ColorNameForeground,
			theme.ColorNameOverlayBackground: theme.ColorNameForeground,
			theme.ColorNameInputBackground:   theme.ColorNameForeground,
			theme.ColorNameButton:            theme.ColorNameForeground,
			theme.ColorNamePrimary:           theme.ColorNameForegroundOnPrimary,
		} {
			if got := contrast(over(focus, Color(on, v)), Color(written, v)); got < text {
				t.Errorf("%s: %s on a focused %s has contrast %.2f, want at least %.1f", name, written, on, got, text)
			}
		}
		for _, on := range []fyne.ThemeColorName{theme.ColorNameBackground, theme.ColorNameOverlayBackground, Paper} {
			if got := contrast(over(focus, Color(on, v)), Color(on, v)); got < edge {
				t.Errorf("%s: the focus on %s has contrast %.2f, want at least %.1f", name, on, got, edge)
			}
		}
	}
}

// TestLarger checks that text grows with the theme, and that a foreign theme is
// left alone.
func TestLarger(t *testing.T) {
	test.NewTempApp(t)
	usual, twice := Forced(theme.VariantDark), Larger(Forced(theme.VariantDark), 2)
	for name, s := range sizes {
		if got, want := twice.Size(name), 2*usual.Size(name); s.grows && (got != want || got == 0) {
			t.Errorf("size %s is %v at twice the text, want %v", name, got, want)
		}
	}
	if twice.Size(theme.SizeNamePadding) != usual.Size(theme.SizeNamePadding) {
		t.Error("the room around things grows with the text")
	}
	if twice.Color(Paper, theme.VariantLight) != Color(Paper, theme.VariantDark) {
		t.Error("a larger theme forgets that it is dark")
	}
	if Times(twice) != 2 || Times(New()) != 1 || Times(test.Theme()) != 1 || Larger(test.Theme(), 2) != test.Theme() {
		t.Error("themes do not say how large their text is")
	}
}

// The window has the code of package sketch, where the pairs are held apart.
func TestWindowHasTheCode(t *testing.T) {
	app := test.NewTempApp(t)
	for name, v := range variants {
		app.Settings().SetTheme(Forced(v))
		got := Inks(Forced(v))
		if want := sketch.InksOn(v == theme.VariantDark, got.Paper, got.Grid, got.Text, got.Quiet); got != want {
			t.Errorf("%s: the window draws in %+v, want %+v", name, got, want)
		}
	}
}

// TestVariants checks that the forced themes ignore the system and that the other
// follows it.
func TestVariants(t *testing.T) {
	test.NewTempApp(t)
	light, dark := Color(Paper, theme.VariantLight), Color(Paper, theme.VariantDark)
	if light == dark {
		t.Fatal("both variants have the same paper")
	}
	for _, asked := range variants {
		if got := Forced(theme.VariantDark).Color(Paper, asked); got != dark {
			t.Errorf("forced dark answers %v when asked for variant %d", got, asked)
		}
		if got := New().Color(Paper, asked); got != Color(Paper, asked) {
			t.Errorf("the following theme answers %v when asked for variant %d", got, asked)
		}
	}
}

// TestComplete checks that the theme leaves no colour or size of the toolkit
// invisible.
func TestComplete(t *testing.T) {
	test.NewTempApp(t)
	for name := range palette {
		for _, v := range variants {
			if _, _, _, alpha := New().Color(name, v).RGBA(); alpha == 0 {
				t.Errorf("%s is transparent", name)
			}
		}
	}
	th := New()
	for _, name := range []fyne.ThemeSizeName{theme.SizeNameText, theme.SizeNameCaptionText, theme.SizeNameHeadingText} {
		if got, usual := th.Size(name), theme.DefaultTheme().Size(name); got <= usual {
			t.Errorf("size %s is %v, want more than the usual %v", name, got, usual)
		}
	}
	if th.Size(theme.SizeNameSeparatorThickness) <= 0 || th.Font(fyne.TextStyle{}) == nil || th.Icon(theme.IconNameHome) == nil {
		t.Error("sizes, fonts or icons that are not ours are missing")
	}
}

// TestPick checks that the colours of the trade are there under a foreign theme,
// which keeps its own colours.
func TestPick(t *testing.T) {
	test.NewTempApp(t)
	foreign := test.Theme()
	if got := Pick(foreign, Late, theme.VariantLight); got != Color(Late, theme.VariantLight) {
		t.Errorf("late under a foreign theme is %v", got)
	}
	if got := Pick(foreign, theme.ColorNameForeground, theme.VariantLight); got != foreign.Color(theme.ColorNameForeground, theme.VariantLight) {
		t.Errorf("the foreign theme's foreground became %v", got)
	}
	if got := Pick(Forced(theme.VariantDark), Late, theme.VariantLight); got != Color(Late, theme.VariantDark) {
		t.Errorf("a forced theme is not obeyed: %v", got)
	}
}

func TestWords(t *testing.T) {
	for n, want := range map[int]string{6: "6 ahead", -41: "41 back", 0: "stay"} {
		if got := Move(n); got != want {
			t.Errorf("Move(%d) = %q, want %q", n, got, want)
		}
	}
	for n, want := range map[int]string{14: "+14", -7: "–7", 0: "0"} {
		if got := Setting(n); got != want {
			t.Errorf("Setting(%d) = %q, want %q", n, got, want)
		}
	}
}

// Japanese has letters that the toolkit's fonts lack; symbols stay the toolkit's.
func TestFontsOfJapanese(t *testing.T) {
	usual := New()
	i18n.Use(&i18n.Language{Tag: "ja", Look: func(s string) string { return s }})
	t.Cleanup(func() { i18n.Use(nil) })
	th := Larger(New(), 2)
	for _, style := range []fyne.TextStyle{{}, {Bold: true}, {Italic: true}, {Monospace: true}, {Bold: true, Italic: true}} {
		if got := th.Font(style).Content(); !bytes.Equal(got, assets.Font("ja", style.Bold)) {
			t.Errorf("%+v is not in the Japanese font", style)
		}
		if usual.Font(style) != theme.DefaultTheme().Font(style) {
			t.Errorf("%+v is not in the toolkit's font in English", style)
		}
	}
	if symbol := (fyne.TextStyle{Symbol: true}); th.Font(symbol) != theme.DefaultTheme().Font(symbol) {
		t.Error("symbols are not the toolkit's")
	}
}
