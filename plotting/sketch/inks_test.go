package sketch

import (
	"image/color"
	"math"
	"testing"
)

// grounds are what is drawn on: white paper, and the window's paper and ground in
// both variants.
var grounds = map[string]Inks{
	"paper":      OnPaper(),
	"light":      InksOn(false, hex(0xFFFBF3), hex(0xDED3C1), hex(0x1E1913), hex(0x6A6053)),
	"light pane": InksOn(false, hex(0xF3ECE0), hex(0xDED3C1), hex(0x1E1913), hex(0x6A6053)),
	"dark":       InksOn(true, hex(0x1B1815), hex(0x463F36), hex(0xFAF5EC), hex(0xB0A594)),
	"dark pane":  InksOn(true, hex(0x25211D), hex(0x463F36), hex(0xFAF5EC), hex(0xB0A594)),
}

func hex(c uint32) color.NRGBA { return Shade{Light: c}.On(false) }

// named lists the colours with a meaning.
func (i Inks) named() map[string]color.NRGBA {
	return map[string]color.NRGBA{"reference": i.Reference, "voice": i.Voice, "late": i.Late, "early": i.Early,
		"tight": i.Tight, "warn": i.Warn, "mark": i.Mark}
}

// linear undoes the transfer curve of sRGB (IEC 61966-2-1), as WCAG 2.2 has it under
// "relative luminance".
func linear(v uint8) float64 {
	c := float64(v) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

// contrast is the contrast ratio of WCAG 2.2 (W3C Recommendation, 2023, "contrast
// ratio" and "relative luminance").
func contrast(a, b color.NRGBA) float64 {
	luminance := func(c color.NRGBA) float64 {
		return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
	}
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// Text needs 4.5 to 1 (WCAG 2.2, 1.4.3 AA), marks and lines 3 to 1 (1.4.11).
func TestInksAreLegible(t *testing.T) {
	if got := contrast(hex(0), hex(0xFFFFFF)); math.Abs(got-21) > 1e-9 { // WCAG 2.2: the ratio ranges from 1 to 21
		t.Fatalf("black on white is %v, want 21", got)
	}
	for ground, inks := range grounds {
		words := inks.named()
		words["text"], words["quiet"] = inks.Text, inks.Quiet
		for name, c := range words {
			if got := contrast(c, inks.Paper); got < 4.5 {
				t.Errorf("%s: %s has contrast %.2f, want 4.5 or more", ground, name, got)
			}
		}
		for _, name := range []string{"late", "early", "tight", "voice", "quiet"} { // they lie on the zone, as marks
			if got := contrast(words[name], inks.Zone()); got < 3 {
				t.Errorf("%s: %s within the zone has contrast %.2f, want 3 or more", ground, name, got)
			}
		}
		for i, c := range inks.Voices() {
			if got := contrast(c, inks.Paper); got < 3 {
				t.Errorf("%s: voice %d has contrast %.2f, want 3 or more", ground, i, got)
			}
		}
	}
}

// sights turn linear RGB into what is seen with full sight and without one kind of
// cones: G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, "A Physiologically-based
// Model for Simulation of Color Vision Deficiency", IEEE Transactions on Visualization
// and Computer Graphics 15(6), 2009, doi 10.1109/TVCG.2009.113, severity 1.0.
var sights = map[string][3][3]float64{
	"full sight": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia": {
		{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {
		{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia": {
		{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// seen returns CIE L*a*b* of a colour as somebody with such sight sees it. The
// matrix from linear sRGB to XYZ is that of IEC 61966-2-1, the white is D65.
func seen(c color.NRGBA, m [3][3]float64) (lab [3]float64) {
	in := [3]float64{linear(c.R), linear(c.G), linear(c.B)}
	var rgb [3]float64
	for i := range rgb {
		rgb[i] = min(1, max(0, m[i][0]*in[0]+m[i][1]*in[1]+m[i][2]*in[2]))
	}
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124*rgb[0] + 0.3576*rgb[1] + 0.1805*rgb[2]) / 0.9505)
	y := f(0.2126*rgb[0] + 0.7152*rgb[1] + 0.0722*rgb[2])
	z := f((0.0193*rgb[0] + 0.1192*rgb[1] + 0.9505*rgb[2]) / 1.0890)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

// apart is the difference of two colours in CIE 1976 L*a*b* (ISO/CIE 11664-4).
func apart(a, b color.NRGBA, m [3][3]float64) float64 {
	p, q := seen(a, m), seen(b, m)
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

// White and the corners of L*a*b*: a grey has no hue (ISO/CIE 11664-4), and red has
// L* 53.2, a* 80.1, b* 67.2 (common practice, from memory).
func TestSeenIsLab(t *testing.T) {
	full := sights["full sight"]
	for c, want := range map[uint32][3]float64{0xFFFFFF: {100, 0, 0}, 0: {0, 0, 0}, 0xFF0000: {53.2, 80.1, 67.2}} {
		for i, v := range seen(hex(c), full) {
			if math.Abs(v-want[i]) > 0.15 {
				t.Errorf("%06x is %v, want %v", c, seen(hex(c), full), want)
			}
		}
	}
}

// Colours that can stand side by side keep apart whatever the reader's cones. A
// difference of 2.3 is just noticed (M. Mahy, L. Van Eycken and A. Oosterlinck,
// "Evaluation of uniform color spaces", Color Research and Application 19, 1994, from
// memory); four of them are plain.
func TestInksKeepApart(t *testing.T) {
	const plain = 4 * 2.3
	figure := []string{"reference", "voice", "late", "early", "tight", "mark"}
	for ground, inks := range grounds {
		c := inks.named()
		for sight, m := range sights {
			for i, a := range figure {
				for _, b := range figure[:i] {
					if d := apart(c[a], c[b], m); d < plain {
						t.Errorf("%s, %s: %s and %s differ by %.1f, want %.1f", ground, sight, a, b, d, plain)
					}
				}
			}
			for _, other := range []string{"tight", "voice", "reference"} { // beside which a warning is written
				if d := apart(c["warn"], c[other], m); d < plain {
					t.Errorf("%s, %s: warn and %s differ by %.1f, want %.1f", ground, sight, other, d, plain)
				}
			}
			tones := inks.Voices()
			for i, a := range tones {
				for _, b := range tones[:i] {
					if d := apart(a, b, m); d < plain {
						t.Errorf("%s, %s: tones of voices %v and %v differ by %.1f, want %.1f", ground, sight, a, b, d, plain)
					}
				}
			}
		}
	}
}

func TestLagHasOneColour(t *testing.T) {
	inks := OnPaper()
	for _, c := range []struct {
		lag, tolerance float64
		want           color.NRGBA
	}{{6, 6, inks.Tight}, {-6, 6, inks.Tight}, {6.1, 6, inks.Late}, {-6.1, 6, inks.Early}, {0, 0, inks.Tight}, {1, 0, inks.Late}} {
		if got := inks.Lag(c.lag, c.tolerance); got != c.want {
			t.Errorf("%v within %v is %v, want %v", c.lag, c.tolerance, got, c.want)
		}
	}
}

func TestMix(t *testing.T) {
	if Mix(color.White, color.Black, 0) != hex(0xFFFFFF) || Mix(color.White, color.Black, 1) != hex(0) {
		t.Error("the ends of a mix are not its colours")
	}
	if got := Mix(color.White, color.Black, 0.5).R; got < 126 || got > 128 {
		t.Errorf("the middle is %d", got)
	}
}
