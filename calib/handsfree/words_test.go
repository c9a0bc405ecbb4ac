package handsfree

import (
	"testing"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/internal/i18ntest"
)

// Whatever a take says, in each phase, at each end and of each trouble, is a phrase.
func TestTakesAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	say := func(said []Say) {
		for _, s := range said {
			texts = append(texts, s.Big, s.Small)
			for _, tr := range s.Troubles {
				texts = append(texts, tr.Big, tr.Text)
			}
		}
	}
	for _, wrong := range []func(*Heard){
		nil,
		func(h *Heard) { h.Levels[1] = Level{Silent: true} },
		func(h *Heard) { h.Levels[0].Clipped, h.Levels[0].Peak = 2, 1 },
		func(h *Heard) { h.Gaps = 1 },
		func(h *Heard) { h.Levels = []Level{{Silent: true}, {Silent: true}} },
		func(h *Heard) { h.Event = Lost },
		func(h *Heard) { h.Event = Pressed },
	} {
		if wrong == nil {
			wrong = func(*Heard) {}
		}
		_, said := during(t, 8.1, 99, wrong)
		say(said)
	}
	s, _ := Begin(Plan{TargetBPM: 84, LeastHits: 8})
	for _, s.phase = range []Phase{Waiting, Settling, Counting, Enough, Stopped} {
		for _, s.reason = range []Reason{AsSureAsItGets, ByHand, CrankStopped, ReferenceLost, TooLong, NobodyPlayed, CableSpoilt, DeviceLost} {
			for _, s.tempo = range []Tempo{TempoLow, TempoRight, TempoHigh} {
				for _, s.pace.bpm = range []float64{0, 80} {
					s.progress.mostly = (calib.Budget{ScatterMS: 1}).Largest()
					say([]Say{s.say(Heard{}, nil)})
				}
			}
		}
	}
	for _, code := range cableCodes {
		texts = append(texts, bigFor(code, 0), bigFor(code, 2))
	}
	i18ntest.All(t, texts)
}

// What is said before a take is a phrase too, and a warning's is told from its
// phrase, not from the English that is kept.
func TestChecksAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	for _, g := range []Grade{NoSound, TooQuiet, Good, TooHot, Clipping} {
		if texts = append(texts, g.Words()); g != Good {
			texts = append(texts, g.Do())
		}
	}
	for _, n := range []Noise{{RMS: 1e-5}, {RMS: 0.1}, {RMS: 0.1, Hum: 0.2, HumHz: 50}} {
		texts = append(texts, n.Words())
	}
	for _, taps := range [][]Tap{nil, {{Channel: 2}}} {
		_, err := Roles(taps, 2)
		texts = append(texts, err.Error())
	}
	for _, knocks := range [][2][]float64{{}, {{1}, {3}}, {{1, 2}, {1}}, {{1, 2}, {1, 2.01}}, {{1, 2}, {1.01, 2.01}}} {
		if _, err := Zero(knocks[0], knocks[1], 48000); err != nil {
			texts = append(texts, err.Error())
		}
	}
	warn := func(h *Heard) {
		h.Reading.Warnings = append(h.Reading.Warnings, calib.Warn(calib.WarnCrackle, i18n.Say("channel %d crackles %s: check its cable and plug, then record again", 2, "now")))
	}
	all, _ := during(t, 8.1, 99, warn)
	if len(all) != 1 || all[0].Channel != 2 {
		t.Fatalf("%+v", all)
	}
	i18ntest.All(t, append(texts, all[0].Big, all[0].Text))
}
