package session

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
)

func TestBuildThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(m *Machine)
	}{
		{"drop is -1 mm", func(m *Machine) { m.Falls[0].DropMM = -1 }},
		{"drop is NaN mm", func(m *Machine) { m.Falls[0].DropMM = math.NaN() }},
		{"0 to 5000", func(m *Machine) { m.Falls[0].DropMM = 6000 }},
		{"mm across", func(m *Machine) { m.Falls[0].DiameterMM = 201 }},
		{"density", func(m *Machine) { m.Falls[0].KGPerM3 = math.Inf(1) }},
		{"does not have", func(m *Machine) { m.Falls[0].Voice = "bell" }},
		{"given twice", func(m *Machine) { m.Falls[1].Voice = "drum" }},
		{"beats", func(m *Machine) { m.Wheel.BeatsPerTurn = -4 }},
		{"radius", func(m *Machine) { m.Wheel.PinRadiusMM = 1e6 }},
	} {
		s := clone(sample())
		c.spoil(&s.Machine)
		wantSentence(t, s.validate(), c.says)
	}
}

func TestRebuild(t *testing.T) {
	s := clone(sample())
	m := s.Machine
	m.Voices, m.Falls = []string{"gong", block, "tub"}, nil
	if err := s.Rebuild(m, 4, []string{"", block, "drum"}); err != nil {
		t.Fatal(err)
	}
	if s.Machine.Log[1].Voices[0] != "tub" || s.Takes[0].Target.Voice != "tub" || s.Takes[0].Moved.For.Voice != "tub" || s.Target.Voice != "tub" || s.Songs[0].Voices[0] != "tub" || s.ToleranceMS != 4 {
		t.Errorf("renamed: %+v", s)
	}
	m.Voices = []string{"tub", block, "gong"} // two change names at once
	if err := s.Rebuild(m, 4, []string{"gong", block, "tub"}); err != nil || s.Takes[0].Target.Voice != "gong" {
		t.Errorf("names changed with one another: %v, take 1 is of the %s", err, s.Takes[0].Target.Voice)
	}
	for _, c := range []struct {
		says        string
		voices, was []string
	}{
		{"the drum stays: 2 of the takes", []string{block}, []string{block}},
		{"while the song Weir; slow uses it", []string{"drum"}, []string{"drum"}},
		{"are called \"drum\"", []string{"drum", "drum"}, []string{"drum", block}},
		{"has no name", []string{"drum", block, " "}, []string{"drum", block, ""}},
		{"earlier names", []string{"drum"}, nil},
	} {
		s := clone(sample())
		if strings.Contains(c.says, "song") {
			forget(s.Takes, block)
		}
		m := Machine{Voices: c.voices}
		wantSentence(t, s.Rebuild(m, 5, c.was), c.says)
	}
	heard := clone(sample())
	heard.Songs = nil
	wantSentence(t, heard.Rebuild(Machine{Voices: []string{"drum"}}, 5, []string{"drum"}), "the "+block+" stays: 2 of the takes")
	free := clone(sample())
	free.Songs, free.Lists, free.InHand, free.Target.Voice = nil, nil, "", block
	forget(free.Takes, block)
	takes := clone(free.Takes)
	if err := free.Rebuild(Machine{Voices: []string{"drum"}}, 5, []string{"drum"}); err != nil || free.Target.Voice != "drum" {
		t.Errorf("a voice without takes: %v, aimed at %+v", err, free.Target)
	}
	if !reflect.DeepEqual(free.Takes, takes) || free.Machine.PracticeSeed != sample().Machine.PracticeSeed {
		t.Error("a removed voice changed the takes of another, or the machine")
	}
}

// forget takes a voice that is not their own out of takes.
func forget(takes []Take, voice string) {
	for i := range takes {
		takes[i].Heard = slices.DeleteFunc(takes[i].Heard, func(h Heard) bool { return h.Voice == voice })
	}
}
