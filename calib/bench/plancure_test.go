package bench_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/internal/deeptest"
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
	b := played(t, machine, takes...)
	ok(t, b.EditSongs(session.ReplaceSongs(songs)))
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

// mended is a way in which the elm block is off against the tub drum at 84 BPM.
type mended struct {
	name           string
	heightMM, pins float64 // of the block over those of the drum; pins in beats
	says           string
	drop, turn     bool // what is to be done for every tempo
	changed, still string
}

// machine returns the simulated machine with the block that far off.
func (c mended) machine() practice.Machine {
	m := practice.Default()
	block := m.Voices[0]
	block.Name, block.Sound = "elm block", m.Voices[1].Sound
	block.HeightMM += c.heightMM
	block.OffsetBeats += c.pins
	m.Voices[1] = block
	return m
}

// apart returns how far apart the voices are at a tempo by the machine's own law,
// once the changed one is raised by some mm and its pins moved ahead by degrees of
// a beat.
func (c mended) apart(mm, degrees, bpm float64) float64 {
	m := c.machine()
	for i := range m.Voices {
		if v := &m.Voices[i]; v.Name == c.changed {
			v.HeightMM -= mm
			v.OffsetBeats -= degrees / 360
		}
	}
	period := calib.PeriodMS(bpm)
	return math.Abs(m.LagMS(c.changed, period, 0) - m.LagMS(c.still, period, 0))
}

// cured records the machine at several tempos and returns what the plan says.
func (c mended) cured(t *testing.T) (words string, limitMS float64) {
	t.Helper()
	var takes []truly
	for _, bpm := range []float64{66, 84, 108, 150} {
		takes = append(takes, truly{"tub drum", bpm, 0, 0}, truly{"elm block", bpm, 0, 0})
	}
	both := session.Song{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}
	p := recorded(t, c.machine(), []session.Song{both, evening[0]}, takes...)
	for _, part := range p.Songs[0].Parts {
		if (part.Cure != "") != (part.Voice == c.changed) {
			t.Errorf("%s: cure of the %s: %q", c.name, part.Voice, part.Cure)
		}
		words += part.Cure
	}
	if !strings.Contains(words, c.says) || !strings.Contains(words, "Not known") {
		t.Fatalf("%s: %q", c.name, words)
	}
	if got := p.Songs[1].Parts[0].Cure; got != "" {
		t.Errorf("%s: a song that a setting suits is to be cured: %q", c.name, got)
	}
	return words, p.Songs[0].LimitMS
}

// What the cure says is done to the machine that was recorded, and its own law says
// how far apart the two voices are then: at every tempo inside, where that was
// said, and with the other change inside at the song's tempo alone.
func TestCureHoldsOnTheSimulatedMachine(t *testing.T) {
	period := calib.PeriodMS(84)
	longer := calib.Shot{}.HeightMM(calib.FallMS(285)+30) - 285 // the drum's drop is 285 mm
	for _, c := range deeptest.Some(2, []mended{
		{"a longer fall", longer, 0, "another drop holds at every tempo, moved pins at this one only", true, false, "elm block", "tub drum"},
		{"later pins", 0, 30 / period, "moved pins hold at every tempo, another drop at this one only", false, true, "elm block", "tub drum"},
		{"both", longer, -60 / period, "at every tempo both together do", true, true, "tub drum", "elm block"},
	}) {
		words, limit := c.cured(t)
		from := words
		if c.drop && c.turn {
			_, from, _ = strings.Cut(words, "both together do")
		}
		mm, degrees := number(t, from, byDrop, "lower"), number(t, from, byPins, "back")
		every, here := [2]float64{mm, degrees}, [2]float64{}
		if !c.turn {
			every[1], here[1] = 0, degrees
		}
		if !c.drop {
			every[0], here[0] = 0, mm
		}
		for _, bpm := range []float64{42, 60, 84, 120, 168} {
			if left := c.apart(every[0], every[1], bpm); left > limit {
				t.Errorf("%s: still %.1f ms apart at %g BPM: %s", c.name, left, bpm, words)
			}
			inside := c.apart(here[0], here[1], bpm) <= limit
			if c.drop != c.turn && inside != (bpm == 84) {
				t.Errorf("%s: the change for one tempo leaves %.1f ms at %g BPM", c.name, c.apart(here[0], here[1], bpm), bpm)
			}
		}
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

// With the build given, the cure is in its units: mm of the drop that is there, so
// that the fall is shorter by the gap, with the air's drag where the ball is known
// (see calib.TestShotFalls for that), and mm on the circle of pins. Nothing is
// assumed any more.
func TestCureInTheBuildersUnits(t *testing.T) {
	c := mended{heightMM: calib.Shot{}.HeightMM(calib.FallMS(285)+30) - 285}
	var takes []truly
	for _, bpm := range []float64{66, 84, 108, 150} {
		takes = append(takes, truly{"tub drum", bpm, 0, 0}, truly{"elm block", bpm, 0, 0})
	}
	b := played(t, c.machine(), takes...)
	ok(t, b.EditSongs(session.ReplaceSongs([]session.Song{{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}})))
	cure := func(fall session.Fall, wheel session.Wheel) string {
		m := b.Session().Machine
		fall.Voice = "elm block"
		m.Falls, m.Wheel = []session.Fall{fall}, wheel
		ok(t, b.EditMachine(t.Context(), m, 5, m.Voices))
		p, err := b.Plan()
		ok(t, err)
		return p.Songs[0].Parts[1].Cure
	}
	gap := func(words string) float64 { return number(t, words, `([0-9.]+) ms (?:late|early)`, "early") }
	truth := 285 + c.heightMM
	words := cure(session.Fall{DropMM: truth}, session.Wheel{BeatsPerTurn: 16, PinRadiusMM: 300})
	if mm := number(t, words, byDrop, "lower"); math.Abs(calib.FallMS(truth)-calib.FallMS(truth-mm)-gap(words)) > 0.3 {
		t.Errorf("free fall: %s", words)
	}
	circle := gap(words) / calib.PeriodMS(84) / 16 * 2 * math.Pi * 300
	if mm := number(t, words, `move its pins ([0-9.]+) mm (?:ahead|back) on their circle`, "back"); math.Abs(mm-circle) > 0.06 {
		t.Errorf("%.2f mm on the circle: %s", circle, words)
	}
	if !strings.Contains(words, "Not known: what falls; so the air's drag is left out. Enter it under The machine") {
		t.Errorf("says %q", words)
	}
	light := calib.Shot{DiameterMM: 6, KGPerM3: 700}
	words = cure(session.Fall{DropMM: truth, DiameterMM: 6, KGPerM3: 700}, session.Wheel{BeatsPerTurn: 16, PinRadiusMM: 300})
	if mm := number(t, words, byDrop, "lower"); math.Abs(light.FallMS(truth)-light.FallMS(truth-mm)-gap(words)) > 0.3 || strings.Contains(words, "Not known") {
		t.Errorf("with drag: %s", words)
	}
	words = cure(session.Fall{}, session.Wheel{})
	if !strings.Contains(words, "Not known: the drop height, the beats in a turn of the wheel, the radius of the pins' circle; so mm of drop take all its") {
		t.Errorf("says %q", words)
	}
}
