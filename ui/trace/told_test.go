package trace

import (
	"math"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/session"
	"lagwright/internal/i18ntest"
)

// What the trace says of pairs and hits, found and changed by hand, is a phrase.
func TestTraceIsTold(t *testing.T) {
	test.NewTempApp(t)
	i18ntest.Use(t)
	texts := []string{New().AccessibilityLabel()}
	tr, _ := window(t, 1000, 300, 60)
	owned(tr)
	tr.ZoomTo(2, 4)
	p := tr.take.Reading.Pairs[3]
	said := func() { texts = append(texts, tr.AccessibilityLabel()) }
	said()
	for _, c := range []session.Channel{session.ReferenceChannel, session.VoiceChannel} {
		test.TapAt(tr, place(tr, c, map[session.Channel]float64{session.ReferenceChannel: p.ReferenceS, session.VoiceChannel: p.VoiceS}[c]))
		said()
	}
	tr.OnEdit(session.StrikeOut(session.VoiceChannel, p.VoiceS))
	tr.OnEdit(session.Add(session.VoiceChannel, p.VoiceS+0.02))
	for _, h := range []session.Hit{{AtS: 1, FoundS: 1, Struck: true}, {AtS: 1, FoundS: math.NaN()}, {AtS: 1, FoundS: 0.9}} {
		tr.take.Reading.VoiceHitsS = nil
		tr.SetReading(tr.take.Reading, nil, []session.Hit{h})
		tr.choose(pin{session.VoiceChannel, 1})
		texts = append(texts, tr.hitText())
	}
	for _, pair := range []calib.Pair{{Used: true, LagMS: 3}, {LagMS: -3, Reason: calib.ReasonBounce}, {}} {
		tr.take.Reading.Pairs = []calib.Pair{pair}
		texts = append(texts, tr.pairText(0))
	}
	for _, step := range []float64{60, 10, 0.5, 0.01} {
		texts = append(texts, label(90, step), label(2.5, step))
	}
	i18ntest.All(t, texts)
	if got := label(2.5, 0.5) + label(1234.5675, 0.0005); got != "⟦2,5 s⟧⟦1 234 567,5 ms⟧" {
		t.Errorf("%q", got)
	}
}
