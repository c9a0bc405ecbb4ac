package bench_test

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// longEvening is a session of many takes that heard some voices at once, of hits
// that were never sound.
func longEvening(takes, voices int, plate calib.Plate) session.Session {
	rng := rand.New(rand.NewPCG(uint64(takes), uint64(voices)))
	s := session.Session{Name: "Long evening", Machine: session.Machine{Name: "Long bench", Plate: plate}, ToleranceMS: 5}
	var laws []calib.Law
	for v := range voices {
		s.Machine.Voices = append(s.Machine.Voices, fmt.Sprint("voice ", v+1))
		laws = append(laws, calib.Law{DelayMS: 180 + 20*float64(v), OffsetBeats: 0.005 * float64(v), StepBeats: 1.0 / 72})
	}
	s.Target = session.Target{TempoBPM: 100, Voice: "voice 1"}
	for i := range takes {
		bpm, setting := 60+float64(i*7%80), i*5%40
		t := session.Take{
			ID: i + 1, File: fmt.Sprintf("take-%03d.wav", i+1), Origin: "made up", Reference: 1, Voice: 2, Setting: setting,
			Target: session.Target{TempoBPM: bpm, Voice: "voice 1"},
			Moved:  &session.Move{Steps: (i+1)*5%40 - setting},
		}
		for v, law := range laws {
			lag, _ := law.Lag(calib.PeriodMS(bpm), float64(setting))
			reading := strikes(bpm, lag, rng)
			if v == 0 {
				t.Reading = reading
				continue
			}
			t.OtherVoices = append(t.OtherVoices, session.OtherVoice{Voice: s.Machine.Voices[v], Channel: 2 + v, Reading: reading})
		}
		s.Takes = append(s.Takes, t)
	}
	return s
}

// strikes is a reading of twelve strikes about a lag.
func strikes(bpm, lagMS float64, rng *rand.Rand) calib.Reading {
	var pairs []calib.Pair
	var reference, voice []float64
	for i := range 12 {
		at := 1 + float64(i)*60/bpm
		lag := lagMS + rng.NormFloat64()
		reference, voice = append(reference, at), append(voice, at+lag/1000)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	return calib.Read(pairs, reference, voice, 1)
}

// BenchmarkLeaveOut leaves take 1 of 100 out, or counts it again, after which all
// others get their advice anew.
func BenchmarkLeaveOut(b *testing.B) {
	for _, voices := range []int{1, 6} {
		for _, plate := range []calib.Plate{{NotchesPerTurn: 72, TurnsPerBeat: 1}, {}} {
			b.Run(fmt.Sprintf("%d voices, %d notches", voices, plate.NotchesPerTurn), func(b *testing.B) {
				on, err := bench.Create(filepath.Join(b.TempDir(), "session"), longEvening(100, voices, plate))
				if err != nil {
					b.Fatal(err)
				}
				defer on.Close()
				for out := true; b.Loop(); out = !out {
					if err := on.LeaveOut(1, out); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
