package machine

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

func TestVoicesOfATake(t *testing.T) {
	m := sample()
	take := m.Take(2)
	if got := take.Voices(); !slices.Equal(got, []string{"drum", block}) {
		t.Fatalf("voices %q", got)
	}
	h := take.Of(block)
	if h != &take.Heard[1] || h.Changed() != 1 || take.Of("bar") != nil || m.Take(3) != nil {
		t.Errorf("of the block: %+v", h)
	}
}

// Settings are counted as the moves were told, from 0 at the first take.
func TestSettingFollowsTheMoves(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		var m Machine
		plate := 0
		for i := range rapid.IntRange(0, 20).Draw(t, "takes") {
			m.Takes = append(m.Takes, Take{ID: i + 1, Asked: 7, LeftOut: rapid.Bool().Draw(t, "left out")})
			if m.SettingAt(i) != plate || m.Setting() != plate {
				t.Fatalf("take %d at %d, now %d; the plate stands at %d", i+1, m.SettingAt(i), m.Setting(), plate)
			}
			if rapid.Bool().Draw(t, "moved") {
				move := Move{Steps: rapid.IntRange(-20, 20).Draw(t, "steps")}
				m.Takes[i].Moved = &move
				plate += move.Steps
			}
		}
		if m.Setting() != plate {
			t.Fatalf("it stands at %d, and is said to at %d", plate, m.Setting())
		}
	})
}

func TestRefusesVoicesThatCannotBe(t *testing.T) {
	for words, spoil := range map[string]func(*Take){
		"twice":           func(t *Take) { t.Heard[1].Voice = "drum" },
		"without a name":  func(t *Take) { t.Heard[1].Voice = "" },
		"the reference's": func(t *Take) { t.Heard[1].Channel = 1 },
		"the drum's":      func(t *Take) { t.Heard[1].Channel = 2 },
		"below 1":         func(t *Take) { t.Heard[1].Channel = 0 },
		"change 1 by hand": func(t *Take) {
			t.Heard[1].ByHand.Found.VoiceHitsS = nil
			t.Heard[1].ByHand.Found.Pairs = nil
		},
		"lists no change": func(t *Take) { t.Heard[1].ByHand.Edits = nil },
	} {
		m := clone(sample())
		spoil(&m.Takes[1])
		wantSentence(t, m.validate(), "take 2", words)
	}
	if err := sample().validate(); err != nil {
		t.Error(err)
	}
}
