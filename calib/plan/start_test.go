package plan

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// from returns the mill with the plate standing so many steps ahead of the pins'
// own place when that is called setting 0.
func (m mill) from(steps float64) mill {
	moved := m
	moved.offset = nil
	for _, a := range m.offset {
		moved.offset = append(moved.offset, a-m.step*steps)
	}
	return moved
}

// heardWithin takes whole beats off the lags, as one take alone hears them.
func heardWithin(takes []Take) []Take {
	for _, t := range takes {
		for i := range t.Heard {
			h := &t.Heard[i]
			h.LagMS = math.Remainder(h.LagMS, h.WrapMS)
		}
	}
	return takes
}

// wantBeats checks that every voice of a song strikes on a beat, and all on the same.
func (m mill) wantBeats(t *testing.T, name string, songs []Setting) {
	t.Helper()
	beats := math.Round(m.lag(0, calib.PeriodMS(songs[0].Song.TempoBPM), songs[0].place) / calib.PeriodMS(songs[0].Song.TempoBPM))
	for _, s := range songs {
		period := calib.PeriodMS(s.Song.TempoBPM)
		for _, r := range s.Parts {
			if off := m.lag(r.Voice, period, s.place) - beats*period; math.Abs(off) > s.LimitMS {
				t.Errorf("%s: voice %d is %.1f ms off at %g BPM, setting %d: %s", name, r.Voice, off, s.Song.TempoBPM, s.Steps, s.Why("Reel", trio))
			}
		}
	}
}

var threeVoices = mill{delay: []float64{212, 209, 214}, offset: []float64{0.01, 0.012, 0.008}, step: 1.0 / 72}

// TestPlateAnywhereAtFirst: twelve good takes on a plate that stood far from the
// pins' place at first. None is called bad, and the settings are right.
func TestPlateAnywhereAtFirst(t *testing.T) {
	songs := []Song{{TempoBPM: 72}, {TempoBPM: 110}, {TempoBPM: 152}}
	tempos := []float64{72, 152, 100, 72, 130, 90, 80, 140, 120, 110, 96, 150}
	settings := []int{0, 3, 12, 5, 9, 9, 4, 14, 12, 10, 8, 15}
	for name, m := range map[string]mill{"one voice": oneVoice, "three voices": threeVoices} {
		for _, start := range []float64{20, -20, 36, -36, 8, 0, 72} {
			m := m.from(start)
			for voices, takes := range map[string][]Take{"all": m.machine(tempos, settings), "in turn": inTurn(m.machine(tempos, settings))} {
				fit := must.Get(Fit(m.known(calib.Belief{Mean: m.step}), heardWithin(takes)))(t)
				if found := fit.Findings(); len(found) > 0 {
					t.Errorf("%s heard %s, start %g: found %+v", name, voices, start, found)
				}
				p := fit.Plan(songs, Situation{})
				m.wantBeats(t, name, p.Songs)
				for _, s := range p.Songs {
					if s.Other {
						t.Errorf("%s heard %s, start %g: another beat", name, voices, start)
					}
				}
			}
		}
	}
}

// inTurn keeps of each take one voice only, another each time.
func inTurn(takes []Take) []Take {
	for i := range takes {
		t := &takes[i]
		n := i % len(t.Heard)
		t.Heard = t.Heard[n : n+1]
	}
	return takes
}

// TestOneTakeKnowsLittle: the first take of a plate that may stand anywhere says as
// much for another tempo as its chance to stand there leaves: in between a plate
// that stands right and one of which nothing is known. Another tempo tells.
func TestOneTakeKnowsLittle(t *testing.T) {
	chance := func(elsewhere float64, takes []Take) float64 {
		k := oneVoice.known(calib.Belief{Mean: oneVoice.step})
		k.Prior.Elsewhere = elsewhere
		fit := must.Get(Fit(k, takes))(t)
		return fit.Plan([]Song{{TempoBPM: 82}}, Situation{}).Songs[0].Chance
	}
	one := oneVoice.machine([]float64{72}, []int{0})
	near, both, far := chance(0, one), chance(0.5, one), chance(0.999, one)
	if !(far+0.05 < both && both+0.05 < near) {
		t.Errorf("a chance of %.2f with the plate right, %.2f with it anywhere, %.2f where it is not known", near, far, both)
	}
	more := oneVoice.from(20).machine([]float64{72, 152, 100, 110}, []int{0, 0, 9, 9})
	if got := chance(0.5, more); got < Sure {
		t.Errorf("after four takes the chance is %.3f", got)
	}
}

// TestBeatsBetweenVoices: a voice whose delay is so long that it strikes a beat
// after the others is told from them by a second tempo, wherever the plate stood.
func TestBeatsBetweenVoices(t *testing.T) {
	m := mill{delay: []float64{160, 330}, offset: []float64{0, 0.02}, step: 1.0 / 72}.from(25)
	takes := heardWithin(m.machine([]float64{150, 80, 150}, []int{0, 0, 12}))
	fit := must.Get(Fit(m.known(calib.Belief{Mean: m.step}), takes))(t)
	near(t, "delay of one over the other", fit.Law(1).DelayMS-fit.Law(0).DelayMS, 170, 2)
	near(t, "offset of one over the other", fit.Law(1).OffsetBeats-fit.Law(0).OffsetBeats, 0.02, 0.003)
}

// TestSongsInPlayingOrder: with backlash each song's setting is reached from the
// side of the song before, and the true lag there is what the plan expects; by the
// place where the plate stands now it would be off by the whole play.
func TestSongsInPlayingOrder(t *testing.T) {
	m := oneVoice
	m.backlash = 1.2 / 72
	fit := must.Get(Fit(m.known(calib.Belief{Mean: m.step}), m.machine(append(someTempos, 110, 80, 140, 76), append(someSettings, 34, 18, 38, 14))))(t)
	var songs []Song
	for _, bpm := range []float64{100, 72, 150, 100, 140, 90} {
		songs = append(songs, Song{TempoBPM: bpm})
	}
	at := Place{Setting: 60, Came: 1}
	for _, s := range fit.Plan(songs, Situation{At: at}).Songs {
		at = at.To(s.Steps)
		truly := m.lag(0, calib.PeriodMS(s.Song.TempoBPM), at)
		near(t, "lag", s.Parts[0].LagMS, truly, 1)
		if math.Abs(truly) > s.LimitMS+1 {
			t.Errorf("%g BPM at %d, coming %+d: %.1f ms off", s.Song.TempoBPM, s.Steps, at.Came, truly)
		}
	}
	twice := fit.Plan([]Song{{TempoBPM: 72}, {TempoBPM: 100}, {TempoBPM: 150}, {TempoBPM: 100}}, Situation{}).Songs
	if twice[1].Steps == twice[3].Steps {
		t.Errorf("100 BPM is at %d both from below and from above", twice[1].Steps)
	}
}

// TestHopelessSongsAskForNothing: two voices 60 ms apart never come together. Takes
// go to the other songs until takes of these are enough, and then none is asked for.
func TestHopelessSongsAskForNothing(t *testing.T) {
	two := mill{delay: []float64{212, 272}, offset: []float64{0.01, 0.01}, step: 1.0 / 72}
	songs := []Song{{TempoBPM: 90}, {TempoBPM: 130, Voices: []int{1}}}
	rng := rand.New(rand.NewPCG(3, 4))
	var takes []Take
	var at Place
	for range 12 {
		fit := must.Get(Fit(two.known(calib.Belief{Mean: two.step}), takes))(t)
		p := fit.Plan(songs, Situation{At: at})
		if p.Next == nil {
			if !p.Songs[0].Hopeless || p.Songs[0].Enough || !strings.Contains(p.Songs[0].Why("Reel", trio), "No setting") || p.Songs[1].Hopeless || !p.Songs[1].Enough {
				t.Errorf("%+v", p.Songs)
			}
			return
		}
		if p.Songs[p.Next.Song].Hopeless || p.Songs[0].Hopeless && !strings.Contains(p.Next.Why, "1 of 2 songs") {
			t.Errorf("asks for %+v", p.Next)
		}
		at = at.To(at.Setting + p.Next.Move)
		take := two.take(len(takes), p.Next.TempoBPM, at, at)
		take.Heard = take.Heard[p.Next.Voice : p.Next.Voice+1]
		take.Heard[0].LagMS += 0.5 * rng.NormFloat64()
		takes = append(takes, take)
	}
	t.Error("still asks after 12 takes")
}

// The words of a song say what the plan does: where it asks for no takes it does
// not say that one comes first, however little is known of a voice, and drop or
// pins have to move only where it is sure that no setting does.
func TestWordsFollowTheVerdict(t *testing.T) {
	two := mill{delay: []float64{212, 300}, offset: []float64{0.01, 0.01}, step: 1.0 / 72}
	known := two.known(calib.Belief{Mean: two.step})
	known.Prior.Offset.SD = 0.1
	m := must.Get(Fit(known, two.machine([]float64{84, 84}, []int{20, 26})))(t)
	vague := 0
	for bpm := 40.0; bpm <= 160; bpm += 4 {
		s := m.Plan([]Song{{TempoBPM: bpm}}, Situation{}).Songs[0]
		if s.Hopeless && calib.Half95*s.vaguest().SDMS > s.LimitMS {
			vague++
		}
		if moves := strings.Contains(s.Why("Reel", trio), "change a drop height or move pins"); moves != s.Hopeless {
			t.Errorf("%g BPM: beyond help %t, but it says %q", bpm, s.Hopeless, s.Why("Reel", trio))
		}
	}
	if vague == 0 {
		t.Error("no song is beyond help and vague at once: the test tests nothing")
	}
}
