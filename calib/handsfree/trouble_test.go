package handsfree

import (
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/calib/playback"
	"lagwright/internal/deeptest"
)

// during runs a steady take of 30 hits with something wrong between two times of
// the recording, and returns what troubles began.
func during(t *testing.T, fromS, toS float64, wrong func(*Heard)) ([]Trouble, []Say) {
	t.Helper()
	var p player
	p.crank(random(11), 2, 40, 84, 84, 12, 1)
	said := p.run(Plan{TargetBPM: 84, LeastHits: 20}, 60, func(h *Heard) {
		if h.RecordedS >= fromS && h.RecordedS < toS {
			wrong(h)
		}
	})
	var all []Trouble
	for _, s := range said {
		all = append(all, s.Troubles...)
	}
	return all, said
}

// Every trouble is told once, with its channel, near its moment, in big letters
// and with the tone; and a take without any is told nothing.
func TestTroublesAreTold(t *testing.T) {
	if all, _ := during(t, 0, 0, nil); len(all) > 0 {
		t.Fatalf("out of nothing: %+v", all)
	}
	warn := func(text string, code string) func(*Heard) {
		return func(h *Heard) {
			h.Reading.Warnings = append(h.Reading.Warnings, calib.Warning{Code: code, Text: text})
		}
	}
	for _, c := range []struct {
		what    string
		toS     float64
		wrong   func(*Heard)
		code    string
		channel int
	}{
		{"cable out", 10, func(h *Heard) { h.Levels[1] = Level{Silent: true} }, calib.WarnDropOut, 2},
		{"cable open", 10, func(h *Heard) { h.Levels[0] = Level{Peak: 4e-5, RMS: 1e-5} }, calib.WarnDropOut, 1},
		{"clipped", 8.4, func(h *Heard) { h.Levels[0].Clipped, h.Levels[0].Peak = 2, 1 }, calib.WarnClipped, 1},
		{"hum", 99, warn("channel 2 hums at 8.20 s: check its cable and plug, then record again", calib.WarnHumBurst), calib.WarnHumBurst, 2},
		{"lost buffer", 99, func(h *Heard) { h.Gaps = 1 }, TroubleGap, 0},
		{"crackle", 99, warn("channel 2 crackles at 8.20-8.21 s: check its cable and plug, then record again", calib.WarnCrackle), calib.WarnCrackle, 2},
		{"no device", 99, func(h *Heard) { h.Levels = []Level{{Silent: true}, {Silent: true}} }, TroubleNoSound, 0},
	} {
		all, said := during(t, 8.1, c.toS, c.wrong)
		if len(all) != 1 || all[0].Code != c.code || all[0].Channel != c.channel {
			t.Errorf("%s: %+v", c.what, all)
			continue
		}
		if x := all[0]; x.FromS > 8.4 || x.FromS < 5.5 || x.ToS < x.FromS || x.Big == "" || !strings.HasSuffix(x.Text, ".") {
			t.Errorf("%s: %+v", c.what, x)
		}
		for _, s := range said {
			if len(s.Troubles) > 0 && s.Phase.recording() && (s.Big != all[0].Big || s.Tone != playback.Trouble) {
				t.Errorf("%s: said %q with tone %q", c.what, s.Big, s.Tone)
			}
		}
	}
}

// What lasts for a moment only is no trouble.
func TestNoTrouble(t *testing.T) {
	for _, c := range []struct {
		what string
		toS  float64
		bad  func(*Heard)
	}{
		{"silent for a tick", 8.3, func(h *Heard) { h.Levels[1] = Level{Silent: true} }},
		{"a warning that goes", 8.3, func(h *Heard) {
			h.Reading.Warnings = append(h.Reading.Warnings, calib.Warning{Code: calib.WarnCrackle, Text: "channel 1 crackles"})
		}},
	} {
		if all, _ := during(t, 8.1, c.toS, c.bad); len(all) > 0 {
			t.Errorf("%s: %+v", c.what, all)
		}
	}
}

// Hits that come softly are said to be too quiet while there is time to turn the
// input up.
func TestTooQuietIsTold(t *testing.T) {
	all, _ := during(t, 0, 99, func(h *Heard) { h.Levels[1] = Level{Peak: 0.004, RMS: 0.0001} })
	if len(all) != 1 || all[0].Code != TroubleQuiet || all[0].Channel != 2 {
		t.Errorf("%+v", all)
	}
}

// A take with a drop-out ends when it would have been enough, and says why it is
// worth nothing.
func TestSpoiltTake(t *testing.T) {
	_, said := during(t, 8.1, 99, func(h *Heard) {
		h.Reading.Warnings = append(h.Reading.Warnings, calib.Warning{Code: calib.WarnDropOut, Text: "channel 1 goes silent"})
	})
	if end := last(said); end.Phase != Stopped || end.Reason != CableSpoilt || end.Good != 20 {
		t.Errorf("%+v", end)
	}
}

// Whatever is heard, a take stops once, nothing is counted that
// is not there, and the state given stays as it was.
func TestNextOnAnything(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		s, _ := Begin(Plan{TargetBPM: rapid.SampledFrom([]float64{60, 84}).Draw(t, "target"), ToBPM: rapid.SampledFrom([]float64{0, 120}).Draw(t, "to")})
		var p player
		p.crank(random(rapid.Uint64().Draw(t, "seed")), rapid.Float64Range(0.1, 3).Draw(t, "rest"), rapid.IntRange(0, 30).Draw(t, "beats"),
			rapid.Float64Range(40, 160).Draw(t, "from"), rapid.Float64Range(40, 160).Draw(t, "to"), rapid.Float64Range(-100, 100).Draw(t, "lag"), rapid.Float64Range(0, 20).Draw(t, "jitter"))
		recording := true
		for i := range 60 {
			h := Heard{AtS: float64(i) * tickS, RecordedS: float64(i) * tickS, MeasuredS: float64(i) * tickS}
			h.Event = Event(max(rapid.IntRange(-20, 2).Draw(t, "event"), 0))
			h.Gaps = rapid.IntRange(0, 1).Draw(t, "gaps")
			if rapid.Bool().Draw(t, "measured") {
				h.Reading = p.reading(h.RecordedS)
			}
			for range rapid.IntRange(0, 3).Draw(t, "channels") {
				h.Levels = append(h.Levels, Level{Peak: rapid.Float64Range(0, 1).Draw(t, "peak"), RMS: rapid.Float64Range(0, 1).Draw(t, "rms"), Silent: rapid.Bool().Draw(t, "silent")})
			}
			kept := s
			next, say := Next(s, h)
			if again, said := Next(kept, h); !reflect.DeepEqual(again, next) || said.Big != say.Big {
				t.Fatalf("the same state said %q, then %q", say.Big, said.Big)
			}
			if say.Stop && !recording {
				t.Fatal("it stops again")
			}
			recording = recording && !say.Stop
			if recording != next.phase.recording() || say.Big == "" || say.Small == "" {
				t.Fatalf("%+v", say)
			}
			if say.Good > len(p.voice) || say.FromS > h.RecordedS {
				t.Fatalf("%d of %d hits from %.1f s at %.1f s", say.Good, len(p.voice), say.FromS, h.RecordedS)
			}
			s = next
		}
	})
}

// A cable that stays out stays on the large letters, so that nobody cranks on for
// nothing; one that is mended goes.
func TestSilentCableStaysTold(t *testing.T) {
	const atS = 14.7
	for untilS, want := range map[float64]bool{99: true, 9.3: false} {
		_, said := during(t, 8.1, untilS, func(h *Heard) { h.Levels[1] = Level{Silent: true} })
		if say := said[int(atS/tickS)]; (say.Big == "Stop the crank, then check cable 2") != want {
			t.Errorf("out until %g s, after %g s it says %q, %q", untilS, atS, say.Big, say.Small)
		}
	}
}

// Leaving ends a take at once, where a press would be taken for a bouncing switch.
func TestLeave(t *testing.T) {
	s, _ := Begin(Plan{})
	if _, say := Next(s, Heard{AtS: 0.1, Event: Pressed}); say.Stop {
		t.Error("a bounce stopped it")
	}
	if _, say := Next(s, Heard{AtS: 0.1, Event: Left}); !say.Stop || say.Reason != ByHand || say.Keep {
		t.Errorf("left: %+v", say)
	}
}
