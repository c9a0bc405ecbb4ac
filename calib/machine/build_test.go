package machine

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lagwright/internal/must"
)

func TestBuildThatCannotBe(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(b *Build)
	}{
		{"drop is -1 mm", func(b *Build) { b.Falls[0].DropMM = -1 }},
		{"drop is NaN mm", func(b *Build) { b.Falls[0].DropMM = math.NaN() }},
		{"0 to 5000", func(b *Build) { b.Falls[0].DropMM = 6000 }},
		{"mm across", func(b *Build) { b.Falls[0].DiameterMM = 201 }},
		{"density", func(b *Build) { b.Falls[0].KGPerM3 = math.Inf(1) }},
		{"does not have", func(b *Build) { b.Falls[0].Voice = "bell" }},
		{"given twice", func(b *Build) { b.Falls[1].Voice = "drum" }},
		{"beats", func(b *Build) { b.Wheel.BeatsPerTurn = -4 }},
		{"radius", func(b *Build) { b.Wheel.PinRadiusMM = 1e6 }},
	} {
		m := clone(sample())
		c.spoil(&m.Build)
		wantSentence(t, m.validate(), c.says)
	}
}

func TestRebuild(t *testing.T) {
	m := clone(sample())
	b := m.Build
	b.Voices, b.Falls = []string{"gong", block, "tub"}, nil
	must.Do(t, m.Rebuild(b, 4, []string{"", block, "drum"}))
	if m.Build.Log[1].Voices[0] != "tub" || m.Takes[0].Target.Voice != "tub" || m.Takes[0].Moved.For.Voice != "tub" || m.Target.Voice != "tub" || m.Songs[0].Voices[0] != "tub" || m.ToleranceMS != 4 {
		t.Errorf("renamed: %+v", m)
	}
	b.Voices = []string{"tub", block, "gong"} // two change names at once
	if err := m.Rebuild(b, 4, []string{"gong", block, "tub"}); err != nil || m.Takes[0].Target.Voice != "gong" {
		t.Errorf("names changed with one another: %v, take 1 is of the %s", err, m.Takes[0].Target.Voice)
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
		m := clone(sample())
		if strings.Contains(c.says, "song") {
			forget(m.Takes, block)
		}
		b := Build{Voices: c.voices}
		wantSentence(t, m.Rebuild(b, 5, c.was), c.says)
	}
	heard := clone(sample())
	heard.Songs = nil
	wantSentence(t, heard.Rebuild(Build{Voices: []string{"drum"}}, 5, []string{"drum"}), "the "+block+" stays: 2 of the takes")
	free := clone(sample())
	free.Songs, free.Lists, free.CurrentList, free.Target.Voice = nil, nil, "", block
	forget(free.Takes, block)
	takes := clone(free.Takes)
	if err := free.Rebuild(Build{Voices: []string{"drum"}}, 5, []string{"drum"}); err != nil || free.Target.Voice != "drum" {
		t.Errorf("a voice without takes: %v, aimed at %+v", err, free.Target)
	}
	if !reflect.DeepEqual(free.Takes, takes) || free.Build.PracticeSeed != sample().Build.PracticeSeed {
		t.Error("a removed voice changed the takes of another, or the machine")
	}
}

// forget takes a voice that is not their own out of takes.
func forget(takes []Take, voice string) {
	for i := range takes {
		takes[i].Heard = slices.DeleteFunc(takes[i].Heard, func(h Heard) bool { return h.Voice == voice })
	}
}
