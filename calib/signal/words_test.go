package signal

import (
	"testing"

	"lagwright/calib"
	"lagwright/internal/i18ntest"
)

// Warnings are kept in English and told in the language in use.
func TestWarningsAreTold(t *testing.T) {
	five := []stretch{{fromS: 1, toS: 1.5}, {fromS: 2, toS: 2.25}, {fromS: 3, toS: 4}, {fromS: 5, toS: 6}, {fromS: 7, toS: 8}}
	warned := func() []calib.Warning {
		var all []calib.Warning
		for n := 1; n <= len(five); n++ {
			c := channel{number: 2, offs: five[:n], crackles: five[:n], bursts: five[:n]}
			all = append(all, c.cableWarnings()...)
		}
		var pairs []calib.Pair
		var reference []float64
		for i := range 12 {
			at, lag := 1+float64(i), 477.0+100*float64(i%2)
			reference = append(reference, at)
			pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
		}
		all = append(all, takeWarnings(calib.Read(pairs, reference, nil, 1))...)
		all = append(all, takeWarnings(calib.Read(pairs[:1], reference, nil, 1))...)
		hits, opt := make([]Hit, len(pairs)), Options{}.filled()
		all = append(all, doubts(pairs, hits, evenly(0, 1, 300), nil, opt)...)
		for i := range pairs {
			pairs[i].Used = i%2 == 0
		}
		return append(all, doubts(pairs, hits, nil, nil, opt)...)
	}
	english := warned()
	seen := map[string]bool{}
	i18ntest.Use(t)
	var texts []string
	for i, w := range warned() {
		if seen[w.Code] = true; w != english[i] {
			t.Errorf("another language keeps %+v, not %+v", w, english[i])
		}
		texts = append(texts, w.Words())
	}
	for _, code := range []string{calib.WarnDropOut, calib.WarnCrackle, calib.WarnHumBurst, calib.WarnWholeBeat, calib.WarnRival, WarnVague, WarnFewHits} {
		if !seen[code] {
			t.Errorf("no warning %s", code)
		}
	}
	i18ntest.All(t, texts)
}
