package plan

import (
	"math"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// halfHeard is a machine of three voices of which takes at two tempos heard the
// first alone.
func halfHeard(t *testing.T) (trio mill, m Posterior) {
	t.Helper()
	trio = mill{delay: []float64{250, 190, 215}, offset: []float64{0.02, -0.02, 0}, step: 1.0 / 72}
	at := Place{Setting: 24}
	var takes []Take
	for i, bpm := range []float64{84, 120, 84} {
		one := trio.take(i+1, bpm, at, at)
		one.Heard = one.Heard[:1]
		takes = append(takes, one)
	}
	return trio, fitted(t, trio, takes)
}

func fitted(t *testing.T, of mill, takes []Take) Posterior {
	t.Helper()
	m := must.Get(Fit(of.known(calib.Belief{Mean: of.step}), takes))(t)
	return m
}

// A voice that no take has heard moves no setting and makes no song hopeless; the
// song is not sure, and the next take hears such a voice.
func TestUnheardVoicesMoveNoSetting(t *testing.T) {
	_, m := halfHeard(t)
	b := Situation{At: Place{Setting: 24}}
	for _, bpm := range []float64{60, 84, 96, 120, 150} {
		alone := m.Plan([]Song{{TempoBPM: bpm, Voices: []int{0}}}, b).Songs[0]
		for _, all := range []bool{false, true} {
			b.All = all
			p := m.Plan([]Song{{TempoBPM: bpm}}, b)
			s := p.Songs[0]
			if s.Steps != alone.Steps || s.Window != alone.Window || math.Abs(s.Parts[0].LagMS) > s.LimitMS {
				t.Errorf("%g BPM: %+d, %v, %+v; the voice heard alone has %+d, %v", bpm, s.Steps, s.Window, s.Parts, alone.Steps, alone.Window)
			}
			if s.Hopeless || s.Enough || s.Other != alone.Other {
				t.Errorf("%g BPM: %+v", bpm, s)
			}
			if got := unheard([]Setting{s}); len(got) != 2 || got[0] != 1 || got[1] != 2 {
				t.Errorf("%g BPM: unheard %v", bpm, got)
			}
			if p.Next == nil || !all && p.Next.Voice < 1 || all && p.Next.Voice != -1 {
				t.Errorf("%g BPM, hearing all %v: next %+v", bpm, all, p.Next)
			}
		}
	}
}

// The take is at a song that uses the voice, whatever else is not sure; two voices
// that were heard and come together nowhere are not given up before the third was.
func TestNextTakeHearsTheUnheard(t *testing.T) {
	trio, m := halfHeard(t)
	songs := []Song{
		{TempoBPM: 150, Voices: []int{0}, Importance: 9},
		{TempoBPM: 60, Voices: []int{0, 2}},
	}
	if next := m.Plan(songs, Situation{At: Place{Setting: 24}}).Next; next == nil || next.Song != 1 || next.Voice != 2 {
		t.Errorf("next %+v", next)
	}
	apart := trio
	apart.delay = []float64{212, 290, 215}
	takes := apart.machine(someTempos, someSettings)
	for i := range takes {
		takes[i].Heard = takes[i].Heard[:2]
	}
	p := fitted(t, apart, takes).Plan([]Song{{TempoBPM: 90}}, Situation{})
	if p.Songs[0].Hopeless || p.Next == nil || p.Next.Voice != 2 {
		t.Errorf("%+v, next %+v", p.Songs[0], p.Next)
	}
}

// Where no voice of a song has been heard they all count, as they are believed.
func TestSongOfUnheardVoices(t *testing.T) {
	_, m := halfHeard(t)
	p := m.Plan([]Song{{TempoBPM: 100, Voices: []int{1, 2}}}, Situation{})
	if s := p.Songs[0]; s.unheard() || s.Hopeless || s.Enough || p.Next == nil {
		t.Errorf("%+v, next %+v", s, p.Next)
	}
}

// A voice whose only reading the likeliest hypothesis sets aside is as good as unheard.
func TestBadReadingIsNoHearing(t *testing.T) {
	trio, m := halfHeard(t)
	takes := m.takes
	takes = append(takes, trio.take(4, 84, Place{Setting: 24}, Place{Setting: 24}))
	if m = fitted(t, trio, takes); len(unheard(m.Plan([]Song{{TempoBPM: 84}}, Situation{}).Songs)) > 0 {
		t.Error("a take of all voices leaves some unheard")
	}
	w := &m.hypotheses[0]
	w.faults = &fault{kind: Bad, take: 3, voice: 1, before: w.faults}
	m.settle()
	if left := unheard(m.Plan([]Song{{TempoBPM: 84}}, Situation{}).Songs); len(left) != 1 || left[0] != 1 {
		t.Errorf("unheard %v", left)
	}
}
