package plotting

import (
	"bytes"
	"sync"
	"sync/atomic"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"

	"lagwright/calib/i18n"
)

// typeface is what figures are lettered with.
type typeface struct {
	cache   *font.Cache // the package's own, so that nobody else's default face shows up here
	of      font.Font   // the regular face
	family  string      // as the font names it
	further string      // CSS: names of what else serves where it is not installed
	bold    string      // family that the bold face names
}

// usual letters all figures until UseFont says otherwise.
var usual = sync.OnceValue(func() *typeface {
	return &typeface{
		cache: font.NewCache(liberation.Collection()), of: font.Font{Typeface: "Liberation", Variant: "Sans"},
		family: "Liberation Sans", bold: "Liberation Sans", further: "Arial,Helvetica,sans-serif",
	}
})

var chosen atomic.Pointer[typeface]

func faces() *typeface {
	if t := chosen.Load(); t != nil {
		return t
	}
	return usual()
}

// UseFont letters all figures drawn from now on with a font of regular and bold
// weight, each a TrueType or OpenType file, for languages whose characters the
// usual font has not got. Without any it goes back to the usual one. A figure that
// is being drawn meanwhile may come out mixed.
func UseFont(regular, bold []byte) error {
	if len(regular) == 0 && len(bold) == 0 {
		chosen.Store(nil)
		return nil
	}
	t := &typeface{of: font.Font{Typeface: "chosen", Variant: "Sans"}, further: "'Hiragino Sans','Yu Gothic',Meiryo,sans-serif"}
	heavy := t.of
	heavy.Weight = xfont.WeightBold
	var all font.Collection
	for _, one := range []struct {
		data   []byte
		as     font.Font
		family *string
	}{{regular, t.of, &t.family}, {bold, heavy, &t.bold}} {
		face, err := opentype.Parse(one.data)
		if err == nil {
			*one.family, err = face.Name(nil, sfnt.NameIDFamily) // which an SVG asks for
		}
		if err != nil {
			return i18n.Errorf("the font for figures cannot be used, the usual one stays: %w", err)
		}
		all = append(all, font.Face{Font: one.as, Face: face})
	}
	t.cache = font.NewCache(all)
	chosen.Store(t)
	return nil
}

// withFallbackFonts names further faces after the font's own, which viewers
// elsewhere rarely have. Its weight is said beside it.
func (t *typeface) withFallbackFonts(svg []byte) []byte {
	names := []byte("font-family:'" + t.family + "'," + t.further + ";")
	for _, family := range []string{t.family, t.bold} {
		svg = bytes.ReplaceAll(svg, []byte("font-family:"+family+";"), names)
	}
	return svg
}
