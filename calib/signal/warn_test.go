package signal

import (
	"testing"

	"lagwright/calib"
)

// Pairs that fall into two camps give a wide interval, and the take says so.
func TestCampsAreVague(t *testing.T) {
	var pairs []calib.Pair
	var reference, voice []float64
	for i := range 12 {
		at, lag := 1+float64(i), 77.0
		if i%2 == 0 {
			lag = 44
		}
		reference, voice = append(reference, at), append(voice, at+lag/1000)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	camps := calib.Read(pairs, reference, voice, 1)
	for i := range pairs {
		pairs[i].LagMS = 77 + 0.5*float64(i%2)
	}
	steady := calib.Read(pairs, reference, voice, 1)
	says := func(r calib.Reading) bool {
		for _, w := range takeWarnings(r) {
			if w.Code == WarnVague {
				return true
			}
		}
		return false
	}
	if camps.HalfWidthMS() <= vagueMS || !says(camps) {
		t.Errorf("two camps: ± %.1f ms, said %v", camps.HalfWidthMS(), says(camps))
	}
	if says(steady) {
		t.Errorf("a steady voice is called vague at ± %.2f ms", steady.HalfWidthMS())
	}
}
