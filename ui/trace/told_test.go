package trace

import (
	"math"
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/internal/i18ntest"
	"lagwright/ui/trace/picture"
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
	for _, c := range []machine.Channel{machine.ReferenceChannel, machine.VoiceChannel} {
		test.TapAt(tr, place(tr, c, map[machine.Channel]float64{machine.ReferenceChannel: p.ReferenceS, machine.VoiceChannel: p.VoiceS}[c]))
		said()
	}
	tr.OnEdit(machine.StrikeOut(machine.VoiceChannel, p.VoiceS))
	tr.OnEdit(machine.Add(machine.VoiceChannel, p.VoiceS+0.02))
	for _, h := range []machine.Hit{{AtS: 1, FoundS: 1, Struck: true}, {AtS: 1, FoundS: math.NaN()}, {AtS: 1, FoundS: 0.9}} {
		tr.take.Reading.VoiceHitsS = nil
		tr.SetReading(tr.take.Reading, nil, []machine.Hit{h})
		tr.choose(picture.Pin{Channel: machine.VoiceChannel, AtS: 1})
		texts = append(texts, tr.hitText())
	}
	for _, pair := range []calib.Pair{{Used: true, LagMS: 3}, {LagMS: -3, Reason: calib.ReasonBounce}, {}} {
		tr.take.Reading.Pairs = []calib.Pair{pair}
		texts = append(texts, tr.pairText(0))
	}
	i18ntest.All(t, texts)
}
