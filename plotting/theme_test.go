package plotting

import (
	"bytes"
	"fmt"
	"image/color"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lagwright/internal/must"
	"lagwright/plotting/sketch"
)

var svgColour = regexp.MustCompile(`(?:fill|stroke):#([0-9A-Fa-f]{6})`)

// The figures on paper speak the code of package sketch, as the window's theme does: what
// has a hue is one of its colours, or a shade between one and the paper.
func TestPaperHasTheCode(t *testing.T) {
	inks := sketch.OnPaper()
	hue := map[string]color.NRGBA{"voice": inks.Voice, "late": inks.Late, "early": inks.Early, "tight": inks.Tight,
		"reference": inks.Reference, "warn": inks.Warn, "mark": inks.Mark}
	curve := weirCurve().Figure(inks)
	voices := weirVoices(4).Figure(inks)
	fan := weirFan(60).figure()
	early := weirFan(60)
	for i := range early.Pairs {
		early.Pairs[i].LagMS *= -1
	}
	early.LagMS, early.LagCI95MS = -24.3, [2]float64{-25.5, -23.1}
	left := early.figure()
	card := weirCard(6).Figure(A5)
	report := weirReport().Figure(A5)
	for name, c := range map[string]struct {
		of    *Figure
		shows string
	}{
		"curve": {curve, "late early tight mark"}, "voices": {voices, "voice late early tight"}, "fan": {fan, "reference voice late tight"},
		"early fan": {left, "reference voice early tight"}, "card": {card, "warn mark"}, "report": {report, "reference voice late mark"},
	} {
		var svg bytes.Buffer
		must.Do(t, c.of.WriteTo(&svg, "svg"))
		var seen []string
		for _, m := range svgColour.FindAllStringSubmatch(svg.String(), -1) {
			seen = append(seen, strings.ToUpper(m[1]))
		}
		for _, colour := range strings.Fields(c.shows) {
			if v := hue[colour]; !slices.Contains(seen, fmt.Sprintf("%02X%02X%02X", v.R, v.G, v.B)) {
				t.Errorf("%s: nothing is drawn in the colour of %s", name, colour)
			}
		}
		slices.Sort(seen)
		for _, got := range slices.Compact(seen) {
			if !slices.ContainsFunc(codes(inks), func(c color.NRGBA) bool { return between(c, inks, got) }) {
				t.Errorf("%s: #%s is no colour of the code", name, got)
			}
		}
	}
}

// codes are all colours of the code, and the yellow of warning signs.
func codes(i Theme) []color.NRGBA {
	return append(i.Voices(), i.Paper, i.Grid, i.Text, i.Quiet, i.Reference, i.Voice, i.Late, i.Early, i.Tight, i.Warn, i.Mark, warningYellow)
}

// between reports whether a colour, as RRGGBB, lies on the way from c to the paper or to
// its grid.
func between(c color.NRGBA, i Theme, got string) bool {
	for share := range 101 {
		for _, to := range []color.NRGBA{i.Paper, i.Grid} {
			m := sketch.Mix(c, to, float64(share)/100)
			var r, g, b int
			fmt.Sscanf(got, "%02X%02X%02X", &r, &g, &b)
			if max(r-int(m.R), int(m.R)-r, g-int(m.G), int(m.G)-g, b-int(m.B), int(m.B)-b) <= 2 {
				return true
			}
		}
	}
	return false
}
