package plotting

import (
	"math"
	"slices"
	"testing"

	"lagwright/plotting/sketch"
)

// Each song's law is drawn within its tempo window alone, through what the law
// says of the song's tempo; that of the song picked also over all tempos.
func TestSongsLawsStayWithinTheirWindows(t *testing.T) {
	c := weirVoices(12)
	v := c.view(inks)
	want := 0
	for _, song := range c.Songs {
		want += len(song.Laws)
	}
	if len(v.strokes) != want {
		t.Fatalf("%d strokes, want one a voice of each song: %d", len(v.strokes), want)
	}
	for _, s := range v.strokes {
		song := c.Songs[s.song]
		first, last := s.points[0], s.points[len(s.points)-1]
		if first.bpm < song.WindowBPM[0]-1e-9 || last.bpm > song.WindowBPM[1]+1e-9 || last.bpm <= first.bpm {
			t.Errorf("%s: from %g to %g BPM, its window is %v", song.Name, first.bpm, last.bpm, song.WindowBPM)
		}
		lag := weirLag(song.TempoBPM, song.Setting)
		if s.look.name == "elm block" {
			lag += 14
		}
		if s.at.bpm != song.TempoBPM || math.Abs(s.at.lag-lag) > 1e-9 || s.picked != song.Picked {
			t.Errorf("%s: its point is %+v, want %.3f ms", song.Name, s.at, lag)
		}
	}
	if last := v.strokes[len(v.strokes)-1]; !last.picked {
		t.Error("the song picked is not drawn over the others")
	}
	var picked []string
	for _, law := range v.laws {
		if law.picked {
			picked = append(picked, law.label)
			if law.points[0].bpm != v.tempos.Lo || law.points[len(law.points)-1].bpm != v.tempos.Hi {
				t.Errorf("%s does not go over all tempos", law.label)
			}
		}
	}
	if !slices.Equal(picked, []string{"tub drum · at +36", "elm block · at +36"}) {
		t.Errorf("laws of the song picked: %q", picked)
	}
}

// Where the plate stands at the setting of the song picked, its law is drawn once.
func TestPickedLawIsNotDrawnTwice(t *testing.T) {
	c := weirCurve()
	c.Songs = []CurveSong{{Name: "Low Water", TempoBPM: 104, Setting: 27, Picked: true, Laws: []CurveLaw{weirLaw(27, false)}}}
	if v := c.view(inks); len(v.laws) != len(c.Laws) || len(v.strokes) != 1 || v.strokes[0].points[0].bpm >= 104 {
		t.Errorf("%d laws, want %d, strokes %+v", len(v.laws), len(c.Laws), v.strokes)
	}
	c.Songs[0].Setting = 20
	if v := c.view(inks); len(v.laws) != len(c.Laws)+1 {
		t.Errorf("%d laws, want one more than %d", len(v.laws), len(c.Laws))
	}
}

// A click on a song's bar or point means that song, at any size and scale.
func TestSongAt(t *testing.T) {
	c := weirVoices(5)
	f := c.Figure(inks)
	for _, size := range []struct {
		w, h  int
		scale float64
	}{{900, 600, 1}, {1350, 900, 1.5}, {1800, 1200, 2}} {
		painter := painted(t, c, 900, 600)
		for _, bar := range painter.songs {
			x, y := onPage(painter, sketch.Pt{X: painter.x(bar.bpm), Y: painter.laneY(bar)})
			if song := f.Near(size.w, size.h, size.scale, x*size.scale, y*size.scale).Song; song != bar.index {
				t.Errorf("%v: on the bar of song %d is %d", size, bar.index, song)
			}
		}
		for _, s := range painter.strokes {
			at := painter.strokeAt(s)
			x, y := onPage(painter, at)
			song := f.Near(size.w, size.h, size.scale, x*size.scale, y*size.scale).Song
			if song < 0 || distance(at, sketch.Pt{X: painter.x(c.Songs[song].TempoBPM), Y: at.Y}) > 1 {
				t.Errorf("%v: on the point of song %d is %d", size, s.song, song)
			}
		}
	}
	for _, none := range [][2]float64{{0, 0}, {-1e9, nan}, {890, 20}} {
		if song := f.Near(900, 600, 1, none[0], none[1]).Song; song >= 0 {
			t.Errorf("at %v is song %d", none, song)
		}
	}
	card := weirCard(3).Figure(A5)
	for _, f := range []*Figure{f, card} {
		if f.Near(0, 3, 1, 0, 0) != (Near{Song: -1}) {
			t.Error("a song where nothing is drawn")
		}
	}
}
