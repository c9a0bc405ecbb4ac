package plotting

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/plotting/wave"
)

// weirPicture is ten seconds of Weir Lane No. 2: a beat a second, a voice 60 ms
// late, and after every other strike a rebound; one strike is far off.
func weirPicture() Picture {
	p := Picture{Title: "Weir Lane No. 2", Reading: calib.Reading{LagMS: 60}, Whole: Stretch{ToS: 10}, Near: Stretch{FromS: 2.8, ToS: 4.4}}
	for i := range 9 {
		at := 0.5 + float64(i)
		p.Reading.ReferenceHitsS = append(p.Reading.ReferenceHitsS, at)
		pair := calib.Pair{ReferenceS: at, VoiceS: at + 0.06, LagMS: 60, Used: true}
		if i == 8 {
			pair = calib.Pair{ReferenceS: at, VoiceS: at + 0.2, LagMS: 200, Reason: "far from the other pairs"}
		}
		p.Reading.Pairs = append(p.Reading.Pairs, pair)
		if i%2 == 1 {
			p.Reading.Pairs = append(p.Reading.Pairs, calib.Pair{ReferenceS: at, VoiceS: at + 0.3, LagMS: 300, Reason: "bounce or double drop"})
		}
	}
	for _, s := range []*Stretch{&p.Whole, &p.Near} {
		s.Reference.Gain, s.Voice.Gain = 2.8, 2.8
		for i := range 1000 {
			at := s.FromS + (s.ToS-s.FromS)*float64(i)/1000
			s.Reference.Columns = append(s.Reference.Columns, column(at-0.5))
			s.Voice.Columns = append(s.Voice.Columns, column(at-0.56))
		}
	}
	return p
}

// column is the sound that dies away after each whole second.
func column(s float64) wave.Range {
	h := float32(0.3 * math.Exp(-(s-math.Floor(s))/0.02))
	return wave.Range{Min: -h, Max: h}
}

func TestPictureSaysWhatItShows(t *testing.T) {
	f := weirPicture().Figure()
	texts := svgTexts(t, f)
	wantTexts(t, texts, "Weir Lane No. 2", "Reference", "Voice", "60.0 ms late · 8 of 13 voice hits used", "60.0 ms late", "a", "3.5 s")
	all := strings.Join(texts, " ")
	for _, want := range []string{"a  bounce or double drop (4)", "b  far from the other pairs (1)"} {
		if !strings.Contains(all, want) {
			t.Errorf("the legend lacks %q in %q", want, all)
		}
	}
	if slices.Contains(texts, "b") {
		t.Error("a letter stands in the near stretch for a hit beyond it")
	}
}

// Without a near stretch the whole take has letters and lags itself; with every
// hit used the legend says so.
func TestPictureOfTheWholeTake(t *testing.T) {
	p := weirPicture()
	p.Near = Stretch{}
	f := p.Figure()
	if texts := svgTexts(t, f); !slices.Contains(texts, "b") || !slices.Contains(texts, "+60.0") {
		t.Errorf("the whole take says %q", texts)
	}
	p.Reading.Pairs = p.Reading.Pairs[:1]
	f = p.Figure()
	if all := strings.Join(svgTexts(t, f), " "); strings.Contains(all, "not used") || !strings.Contains(all, "1 of 1 voice hits used") {
		t.Errorf("with every hit used: %q", all)
	}
}

func TestPictureInEveryFormat(t *testing.T) {
	f := weirPicture().Figure()
	for format, head := range map[string]string{"png": "\x89PNG", "svg": "<?xml", "pdf": "%PDF"} {
		var buf bytes.Buffer
		if err := f.WriteTo(&buf, format); err != nil || !strings.HasPrefix(buf.String(), head) || buf.Len() < 2000 {
			t.Errorf("%s: %d bytes, %v", format, buf.Len(), err)
		}
	}
}

func TestHostilePictures(t *testing.T) {
	silent := weirPicture()
	silent.Whole.Reference.Columns, silent.Whole.Voice.Columns = make([]wave.Range, 1), make([]wave.Range, 3)
	wild := weirPicture()
	wild.Title = strings.Repeat("a long \x00 name ", 40)
	wild.Reading.ReferenceHitsS = append(wild.Reading.ReferenceHitsS, nan, inf, -5, 1e300)
	wild.Reading.Pairs = append(wild.Reading.Pairs, calib.Pair{VoiceS: nan}, calib.Pair{LagMS: inf, Used: true}, calib.Pair{VoiceS: -1e300, LagMS: 1, Used: true})
	wild.Whole.Voice.Columns[3] = wave.Range{Min: float32(nan), Max: float32(inf)}
	crowd := weirPicture()
	for i := range 3000 {
		at := float64(i) / 300
		crowd.Reading.Pairs = append(crowd.Reading.Pairs, calib.Pair{ReferenceS: at, VoiceS: at, Reason: strings.Repeat("x", i%40)})
	}
	for _, p := range []Picture{silent, wild, crowd} {
		f := p.Figure()
		for _, size := range [][2]int{{1, 1}, {60, 40}, {300, 90}, {1000, 600}} {
			f.Image(size[0], size[1], 1)
		}
	}
	for _, s := range []Stretch{{}, {ToS: 1}, {FromS: nan, ToS: 1, Reference: silent.Whole.Reference, Voice: silent.Whole.Voice}, {FromS: 2, ToS: 1, Reference: silent.Whole.Reference, Voice: silent.Whole.Voice}} {
		p := weirPicture()
		p.Whole = s
		if all := svgTexts(t, p.Figure()); !slices.Contains(all, hitsAlone()) || !slices.Contains(all, "a") {
			t.Errorf("a picture of %g to %g s with %d columns says %q", s.FromS, s.ToS, len(s.Voice.Columns), all)
		}
	}
}
