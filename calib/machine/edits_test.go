package machine

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// played is a voice heard for three beats whose second voice hit was heard but not used.
func played() Heard {
	return Heard{Reading: calib.Reading{
		ReferenceHitsS: []float64{1, 2, 3}, VoiceHitsS: []float64{1.01, 3.01},
		Pairs: []calib.Pair{
			{ReferenceS: 1, VoiceS: 1.01, LagMS: 10, Used: true},
			{ReferenceS: 2, VoiceS: 2.2, LagMS: 200, Reason: calib.ReasonFar},
			{ReferenceS: 3, VoiceS: 3.01, LagMS: 10, Used: true},
		},
	}}
}

// places returns where the hits are, the struck-out ones as negative times.
func places(hits []Hit) []float64 {
	var s []float64
	for _, h := range hits {
		if h.Struck {
			h.AtS = -h.AtS
		}
		s = append(s, h.AtS)
	}
	return s
}

func TestEditsOfHits(t *testing.T) {
	h, v := played(), VoiceChannel
	for _, c := range []struct {
		what    string
		edit    Edit
		want    []float64
		changed int
	}{
		{"strike out", StrikeOut(v, 2.2), []float64{1.01, -2.2, 3.01}, 1},
		{"add", Add(v, 2.01), []float64{1.01, 2.01, -2.2, 3.01}, 2},
		{"move an added one", MoveHit(v, 2.01, 2.02), []float64{1.01, 2.02, -2.2, 3.01}, 2},
		{"strike out an added one", StrikeOut(v, 2.02), []float64{1.01, -2.2, 3.01}, 1},
		{"put back", Add(v, 2.2), []float64{1.01, 2.2, 3.01}, 0},
		{"move", MoveHit(v, 3.01, 0.5), []float64{0.5, 1.01, 2.2}, 1},
		{"strike out a moved one", StrikeOut(v, 0.5), []float64{1.01, 2.2, -3.01}, 1},
	} {
		if err := h.Edit(c.edit); err != nil {
			t.Fatalf("%s: %v", c.what, err)
		}
		if got := places(h.Hits(v)); !slices.Equal(got, c.want) || h.Changed() != c.changed {
			t.Errorf("%s: hits %v, %d changed, want %v, %d", c.what, got, h.Changed(), c.want, c.changed)
		}
	}
	if got := places(h.Hits(ReferenceChannel)); !slices.Equal(got, []float64{1, 2, 3}) {
		t.Errorf("the reference's hits became %v", got)
	}
	if !reflect.DeepEqual(h.Found(), played().Reading) || len(h.ByHand.Edits) != 7 {
		t.Errorf("%d edits of what was found as %+v", len(h.ByHand.Edits), h.Found())
	}
}

func TestImpossibleEditsAreRefused(t *testing.T) {
	for says, e := range map[string]Edit{
		"no hit at 1.5000":    StrikeOut(VoiceChannel, 1.5),
		"already":             MoveHit(VoiceChannel, 1.01, 3.01),
		"inside the take":     Add(VoiceChannel, -0.001),
		`on channel "bell"`:   Add("bell", 1),
		"neither where it wa": {Channel: VoiceChannel},
	} {
		h := played()
		err := h.Edit(e)
		if err == nil || !strings.Contains(err.Error(), says) || !reflect.DeepEqual(h, played()) {
			t.Errorf("%+v: error %v, want one that says %q and no change", e, err, says)
		}
	}
	h := played()
	must.Do(t, h.Edit(StrikeOut(VoiceChannel, 1.01)))
	if err := h.Edit(StrikeOut(VoiceChannel, 1.01)); err == nil {
		t.Error("one hit was struck out twice")
	}
}

// A file whose edits do not fit its hits is damaged, and says where.
func TestMachineWithBadEditsIsRefused(t *testing.T) {
	for says, edits := range map[string][]Edit{
		"take 1: the drum: change 2 by hand": {StrikeOut(VoiceChannel, 0.79), StrikeOut(VoiceChannel, 0.79)},
		"must be null":                       {},
	} {
		m := sample()
		m.Takes[0].Heard[0].ByHand.Edits = edits
		if err := m.validate(); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("error %v, want one that says %q", err, says)
		}
	}
}
