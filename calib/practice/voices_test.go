package practice

import (
	"math"
	"testing"
)

// TestVoicesTogether: each voice sounds on its own channel at the hits of its own
// truth, follows its own law, and leaks into every other channel.
func TestVoicesTogether(t *testing.T) {
	m := Default()
	m.JitterMS = 0
	for n := range m.Voices { // whichever is asked for first
		var names []string
		for i := range m.Voices {
			names = append(names, m.Voices[(n+i)%len(m.Voices)].Name)
		}
		p := Play{Voice: names[0], Others: names[1:], TempoBPM: 63, Hits: 4, Every: 4, Setting: 9, Seed: 5, Disturb: Quiet()}
		rec, truth := m.Play(p)
		if rec.Channels() != 1+len(names) || len(truth.Others) != len(names)-1 {
			t.Fatalf("%d channels and %d other voices", rec.Channels(), len(truth.Others))
		}
		checkStarts(t, "reference", rec, 1, truth.ReferenceHitsS)
		for i, of := range append([]Truth{truth}, truth.Others...) {
			checkStarts(t, names[i], rec, 2+i, of.VoiceHitsS)
			if want := m.LagMS(names[i], 60000.0/63, 9); len(of.LagsMS) != 4 || math.Abs(of.MeanLagMS-want) > 1e-5 {
				t.Errorf("%s: %d hits lag %.4f ms on average, the law says %.4f", names[i], len(of.LagsMS), of.MeanLagMS, want)
			}
		}
	}
}

// TestEachHitLeaksEverywhere: with voices that miss all drops only the reference
// sounds, and is heard by every microphone.
func TestEachHitLeaksEverywhere(t *testing.T) {
	m := Default()
	d := quiet(func(d *Disturb) { d.LeakDB, d.MissedShare = -20, 1 })
	rec, truth := m.Play(Play{Others: []string{"elm block", "brass bar"}, Disturb: d})
	for _, at := range truth.ReferenceHitsS {
		own := peakOf(window(rec, 1, at, at+0.02))
		for ch := 2; ch <= 4; ch++ {
			if got := 20 * math.Log10(peakOf(window(rec, ch, at, at+0.02))/own); math.Abs(got+20) > 0.3 {
				t.Errorf("channel %d hears the reference at %.2f dB, want -20", ch, got)
			}
		}
	}
}

// TestBrokenCableOfAnotherVoice: what a further channel did not hear is not in its
// truth, and the other voices keep theirs.
func TestBrokenCableOfAnotherVoice(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{Others: []string{"elm block", "brass bar"}, Disturb: quiet(func(d *Disturb) { d.DropOut = 4 })})
	heard := truth.Heard()
	if len(heard.VoiceHitsS) != len(truth.VoiceHitsS) || len(heard.Others[0].VoiceHitsS) != len(truth.Others[0].VoiceHitsS) {
		t.Error("a cable took hits from another channel")
	}
	all, got := truth.Others[1].VoiceHitsS, heard.Others[1].VoiceHitsS
	if len(got) == 0 || len(got) >= len(all) {
		t.Errorf("%d of %d hits heard through a cable that was broken for a fifth of the take", len(got), len(all))
	}
	f := truth.Faults[0]
	if peak := peakOf(window(rec, 4, f.FromS, f.ToS)); f.Channel != 4 || peak > 1e-3 {
		t.Errorf("fault %+v, while %g is heard", f, peak)
	}
}

// TestLostSamplesMoveEveryVoice: lags stay those of the machine where a recorder
// loses samples.
func TestLostSamplesMoveEveryVoice(t *testing.T) {
	m := Default()
	rec, truth := m.Play(Play{Others: []string{"elm block"}, TempoBPM: 63, Every: 4, Disturb: quiet(func(d *Disturb) { d.LostFrames = 4096 })})
	checkStarts(t, "elm block", rec, 3, truth.Others[0].VoiceHitsS)
}
