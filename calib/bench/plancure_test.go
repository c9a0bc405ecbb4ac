package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
)

// truly is a take as it really was: told counts only in what the session hears.
type truly struct {
	voice      string
	bpm        float64
	stands     int // where the plate really stands
	toldToTurn int // after the take
}

// recorded plays takes on a machine into a session of its own.
func recorded(t *testing.T, machine practice.Machine, songs []session.Song, takes ...truly) bench.Plan {
	t.Helper()
	b := open(t, 3, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(songs)))
	for i, take := range takes {
		ok(t, b.Aim(session.Target{TempoBPM: take.bpm, Voice: take.voice}))
		path := filepath.Join(t.TempDir(), "crank.wav")
		recording, _ := machine.Play(practice.Play{Voice: take.voice, TempoBPM: take.bpm, Setting: take.stands, Seed: uint64(i + 1)})
		ok(t, wav.Write(context.Background(), path, recording, nil))
		_, err := b.Add(context.Background(), path, b.Channels(2), nil)
		ok(t, err)
		if take.toldToTurn != 0 {
			ok(t, b.Moved(take.toldToTurn, ""))
		}
	}
	before := b.Session().Setting()
	p, err := b.Plan()
	ok(t, err)
	if b.Session().Setting() != before {
		t.Error("a plan moved the plate of the session")
	}
	return p
}

// A step that was miscounted is found, with its take and odds.
func TestPlanFindsAMiscount(t *testing.T) {
	tub := func(bpm float64, stands, told int) truly { return truly{"tub drum", bpm, stands, told} }
	p := recorded(t, practice.Default(), evening, tub(84, 0, 10), tub(120, 10, 6), tub(96, 15, 2), tub(72, 17, -4), tub(108, 13, 0))
	if len(p.Findings) != 1 {
		t.Fatalf("found %+v", p.Findings)
	}
	f := p.Findings[0]
	if f.Kind != "miscounted" || f.Take != 3 || f.Voice != "" || !strings.Contains(f.Words, "looks like 5 steps, not 6 steps") || f.Do == "" || f.Odds == "" {
		t.Errorf("found %+v", f)
	}
	right := recorded(t, practice.Default(), evening, tub(84, 0, 10), tub(120, 10, 6), tub(96, 16, 2), tub(72, 18, 0))
	if len(right.Findings) > 0 {
		t.Errorf("found %+v where all was told", right.Findings)
	}
}

// number returns the signed number that a pattern finds in words: negative where
// the word before or after it is the second of the two ways.
func number(t *testing.T, words, pattern, negative string) float64 {
	t.Helper()
	found := regexp.MustCompile(pattern).FindStringSubmatch(words)
	if found == nil {
		t.Fatalf("no %s in %q", pattern, words)
	}
	x, err := strconv.ParseFloat(found[1], 64)
	ok(t, err)
	if strings.Contains(found[0], negative) {
		x = -x
	}
	return x
}

const (
	byDrop = `(?:raise|lower) the voice by ([0-9]+) mm`
	byPins = `move its pins ([0-9.]+)° (?:ahead|back)`
)

// What the cure says is done to the machine that was recorded, and its own law says
// how far apart the two voices are then at other tempos.
func TestCureHoldsOnTheSimulatedMachine(t *testing.T) {
	const bpm = 84
	tub := practice.Default().Voices[0]
	lower, turned, both := tub, tub, tub
	for fall := tub.DelayMS(); lower.DelayMS()-fall < 30; {
		lower.HeightMM += 0.1
	}
	turned.OffsetBeats += 30 / calib.PeriodMS(bpm)
	both.HeightMM, both.OffsetBeats = lower.HeightMM, tub.OffsetBeats-60/calib.PeriodMS(bpm)
	for _, c := range []struct {
		name             string
		block            practice.Voice
		says             string
		dropped, pinned  bool // what is done for every tempo
		onlyHere         bool // the other change, at its own tempo
		changed, standby string
	}{
		{"a longer fall", lower, "another drop holds at every tempo, moved pins at this one only", true, false, true, "elm block", "tub drum"},
		{"later pins", turned, "moved pins hold at every tempo, another drop at this one only", false, true, true, "elm block", "tub drum"},
		{"both", both, "at every tempo both together do", true, true, false, "tub drum", "elm block"},
	} {
		machine := practice.Default()
		c.block.Name, c.block.Sound = "elm block", machine.Voices[1].Sound
		machine.Voices[1] = c.block
		var takes []truly
		for _, bpm := range []float64{66, 84, 108, 150} {
			takes = append(takes, truly{"tub drum", bpm, 0, 0}, truly{"elm block", bpm, 0, 0})
		}
		p := recorded(t, machine, []session.Song{{Name: "Mill Waltz", TempoBPM: bpm, Voices: []string{"tub drum", "elm block"}}, evening[0]}, takes...)
		words := ""
		for _, part := range p.Songs[0].Parts {
			if part.Cure != "" && part.Voice != c.changed || part.Cure == "" && part.Voice == c.changed {
				t.Errorf("%s: cure of the %s: %q", c.name, part.Voice, part.Cure)
			}
			words += part.Cure
		}
		if !strings.Contains(words, c.says) || !strings.Contains(words, "not known") {
			t.Fatalf("%s: %q", c.name, words)
		}
		if got := p.Songs[1].Parts[0].Cure; got != "" {
			t.Errorf("%s: a song that a setting suits is to be cured: %q", c.name, got)
		}
		from := words
		if c.dropped && c.pinned {
			_, from, _ = strings.Cut(words, "both together do")
		}
		drop, pins := number(t, from, byDrop, "lower"), number(t, from, byPins, "back")
		apart := func(machine practice.Machine, drop, pins, bpm float64) float64 {
			for i := range machine.Voices {
				if v := &machine.Voices[i]; v.Name == c.changed {
					v.HeightMM, v.OffsetBeats = v.HeightMM-drop, v.OffsetBeats-pins/360
				}
			}
			return math.Abs(machine.LagMS(c.changed, calib.PeriodMS(bpm), 0) - machine.LagMS(c.standby, calib.PeriodMS(bpm), 0))
		}
		copied := func() practice.Machine {
			m := machine
			m.Voices = append([]practice.Voice(nil), machine.Voices...)
			return m
		}
		use := func(on bool, x float64) float64 {
			if on {
				return x
			}
			return 0
		}
		for _, tempo := range []float64{42, 60, bpm, 120, 168} {
			if left := apart(copied(), use(c.dropped, drop), use(c.pinned, pins), tempo); left > p.Songs[0].LimitMS {
				t.Errorf("%s: cured for every tempo, still %.1f ms apart at %g BPM: %s", c.name, left, tempo, words)
			}
			other := apart(copied(), use(!c.dropped, drop), use(!c.pinned, pins), tempo)
			if far := tempo == 42 || tempo == 168; c.onlyHere && (tempo == bpm && other > 4 || far && other < 10) {
				t.Errorf("%s: the other change leaves %.1f ms at %g BPM", c.name, other, tempo)
			}
		}
		t.Logf("%s: %s", c.name, words)
	}
}

// At one tempo the delay and the offset look the same: the cure does not say which
// of the two holds.
func TestCureIsHonestAtOneTempo(t *testing.T) {
	p := recorded(t, practice.Default(), []session.Song{{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}},
		truly{"tub drum", 84, 0, 0}, truly{"elm block", 84, 0, 0}, truly{"tub drum", 84, 0, 0}, truly{"elm block", 84, 0, 0})
	parts := p.Songs[0].Parts
	if words := parts[0].Cure + parts[1].Cure; !strings.Contains(words, "do not tell yet") {
		t.Errorf("says %q", words)
	}
}
