package plotting

import (
	"lagwright/calib"
	"strings"
	"testing"
)

func TestFanSaysWhatItShows(t *testing.T) {
	f := weirFan(60).figure()
	texts := svgTexts(t, f)
	wantTexts(t, texts, "reference", "voice", "first pair", "last of 60", "as played: 24.3 ms late ± 1.2 · 57 pairs, 3 left out", "tight", "±6 ms", "early", "late")
}

func TestEmptyFanInvites(t *testing.T) {
	for _, fan := range []hitFan{{}, {Reading: calib.Reading{Pairs: []calib.Pair{{LagMS: nan}, {LagMS: inf}}}}} {
		f := fan.figure()
		if all := strings.Join(svgTexts(t, f), " "); !strings.Contains(all, "No pairs yet: once reference and voice have struck, every pair is laid over the others here.") {
			t.Errorf("the empty fan says %q", all)
		}
	}
}
