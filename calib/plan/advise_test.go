package plan

import (
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// A take is scored by all voices that it hears: where one microphone goes to the
// song whose voice matters most, a bench that hears all voices at once plays the
// one that has them all.
func TestAdviceCountsAllVoicesHeard(t *testing.T) {
	trio := mill{delay: []float64{212, 190, 205}, offset: []float64{0.01, -0.02, 0}, step: 1.0 / 72}
	m := must.Get(Fit(trio.known(calib.Belief{Mean: trio.step}), nil))(t)
	songs := []Song{
		{TempoBPM: 84, Voices: []int{0}, Importance: 1.5},
		{TempoBPM: 96},
	}
	one, all := m.Plan(songs, Situation{}).Next, m.Plan(songs, Situation{All: true}).Next
	if one == nil || one.Song != 0 || one.Voice != 0 {
		t.Errorf("with one microphone: %+v, want the solo", one)
	}
	if all == nil || all.Song != 1 || all.Voice != -1 {
		t.Errorf("with all voices heard: %+v, want the trio", all)
	}
}

// However many voices a take hears, none of them is left less sure than by a take
// of one of them alone.
func TestMoreVoicesTellNoLess(t *testing.T) {
	duo := mill{delay: []float64{212, 190}, offset: []float64{0.01, -0.02}, step: 1.0 / 60}
	at := Place{}
	m := must.Get(Fit(duo.known(calib.Belief{Mean: duo.step, SD: 0.002}), []Take{duo.take(1, 72, at, at)}))(t)
	p := m.Plan([]Song{{TempoBPM: 84}, {TempoBPM: 120}}, Situation{})
	goals := m.goals(p.Songs)
	if len(goals) == 0 {
		t.Fatal("after one take every song is sure")
	}
	take := m.steady([]int{0, 1}, p.Songs, 1, at).heard
	left := func(goal int, take []quantity) float64 {
		h, g := m.hypotheses[0].after(take), goals[goal]
		return h.expect(g.voice, g.period, g.place).sd
	}
	for i := range goals {
		both := left(i, take)
		for v := range take {
			if alone := left(i, take[v:v+1]); both > alone+1e-12 {
				t.Errorf("goal %d: %g ms left by both voices, %g by voice %d alone", i, both, alone, v)
			}
		}
		if both >= goals[i].by[0].sd {
			t.Errorf("goal %d: the take leaves %g ms of %g", i, both, goals[i].by[0].sd)
		}
	}
}

// Of a long list only some tempos are looked at; that one of them plays the voice
// that is asked for must not hang on where its song stands in the list.
func TestAdviceFindsTheOnlySongOfAVoice(t *testing.T) {
	duo := mill{delay: []float64{250, 190}, offset: []float64{0.02, -0.02}, step: 1.0 / 72}
	var takes []Take
	for i, bpm := range []float64{60, 84, 120, 150, 60, 84, 120, 150} {
		one := duo.take(i+1, bpm, Place{Setting: 20}, Place{Setting: 20})
		one.Heard = one.Heard[:1]
		takes = append(takes, one)
	}
	m := must.Get(Fit(duo.known(calib.Belief{Mean: duo.step}), takes))(t)
	for only := range adviseTempos + 4 {
		var songs []Song
		for i := range adviseTempos + 4 {
			songs = append(songs, Song{TempoBPM: 60 + 4*float64(i), Voices: []int{0}})
		}
		songs[only].Voices[0] = 1
		for _, all := range []bool{false, true} {
			p := m.Plan(songs, Situation{At: Place{Setting: 20}, All: all})
			if p.Next == nil || p.Next.Song != only {
				t.Errorf("the second voice plays in song %d alone, the next take is %+v", only, p.Next)
			}
		}
	}
}
