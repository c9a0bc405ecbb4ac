package plotting

import (
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	speech "lagwright/internal/i18ntest"
)

// ownNames are the invented machine's and its builder's own words.
var ownNames = []string{
	"Weir Lane No. 2", "Lock gate rehearsal", "spring set list", "Mill tune", "tub drum", "elm block", "brass bar", "take-003.wav", "the gate sticks", "The pin stuck", "The", "pin", "stuck;",
	"Heron on the Sluice", "Millwright's Reel", "Low Water", "The Nine Paddles", "Frost on the Leat", "Eel Trap Waltz", "Tailrace", "Grist at Dawn",
	"Slow Wheel", "Two Sacks of Barley", "Sluice Gate Hornpipe", "Lamps Out", "Barge horn", "Sluice", "Towpath", "Heron", "on the", "Millwright's", "Reel", "tub", "drum",
}

// told fails for what a figure says beyond phrases and names; a letter alone points
// from a picture to its legend.
func told(t *testing.T, what string, f *Figure) {
	t.Helper()
	for _, word := range strings.Fields(speech.Bare(strings.Join(svgTexts(t, f), " "), ownNames...)) {
		if len(word) > 1 && speech.Bare(word) != "" {
			t.Errorf("%s: no phrase says %q", what, word)
		}
	}
}

// Whatever figures say is a phrase, and decimals follow the comma of the language.
func TestFiguresAreTold(t *testing.T) {
	speech.Use(t)
	curve := weirVoices(4)
	curve.Takes = append(curve.Takes, CurveTake{})
	for what, c := range map[string]Curve{"curve": weirCurve(), "curve of voices": curve, "empty curve": {ToleranceMS: 5}, "crowded curve": crowdedCurve(500, 8)} {
		told(t, what, c.Figure(inks))
	}
	for _, fan := range []hitFan{weirFan(40), {ToleranceMS: 5}, {Reading: calib.Reading{LagMS: -4, Pairs: []calib.Pair{{LagMS: -3, Used: true}, {LagMS: -4, Used: true}, {LagMS: -5, Used: true}, {LagMS: 1e9, Used: true}}}, ToleranceMS: 2.5}} {
		told(t, "fan", fan.figure())
	}
	for _, n := range []int{0, 3} {
		told(t, "card", weirCard(n).Figure(A5))
	}
	told(t, "picture", weirPicture().Figure())
	r := weirReport()
	r.Do, r.Why = i18n.L("Turn the plate"), i18n.F("The voice is %.1f ms late", 60.0)
	r.Reading.Warnings = []calib.Warning{calib.Warn(calib.WarnClipped, i18n.Say("it was too hot"))}
	first := 5
	r.Take.Moved = &machine.Move{Steps: 4, Note: "the pin stuck", First: &first}
	told(t, "report", r.Figure(A5))
	if words := r.Words(); speech.Bare(words, ownNames...) != "" || !strings.Contains(words, "1,2 ms from hit to hit") {
		t.Errorf("the report says %q", words)
	}
}

// Pieces of cards and reports that the figures above do not show.
func TestWordsOfFiguresAreTold(t *testing.T) {
	speech.Use(t)
	texts := []string{listenFirst(), tooFarApart(), moveWord(0), movedWords(machine.Move{}), movedWords(machine.Move{Steps: -2}), calib.LateEarly(0)}
	for _, window := range [][2]float64{{0, 1e9}, {60, 1e9}, {0, 90}, {60, 90.5}} {
		texts = append(texts, windowWords(window, nan), windowWords([2]float64{60, 70}, 80))
	}
	for _, r := range []Report{{}, {Take: machine.Take{Target: machine.Target{TempoBPM: 60}, LeftOut: true}}, {Reading: calib.Reading{TempoBPM: 60}}} {
		lag, _ := r.lagWords()
		texts = append(texts, lag, r.intervalWords())
		for _, fact := range r.facts() {
			texts = append(texts, fact.what, fact.words)
		}
		for _, s := range r.sections() {
			texts = append(texts, s.head)
			if r.Take.LeftOut {
				texts = append(texts, s.lines...)
			}
		}
	}
	texts = append(texts, PictureOf(loop.Result{Take: &machine.Take{ID: 1}, Heard: &machine.Heard{}}).Title)
	_, unnamed := PaperNamed("B5")
	for _, err := range []error{unnamed, weirFan(3).figure().WriteTo(nil, "bmp"), weirFan(3).figure().Save(t.TempDir())} {
		texts = append(texts, strings.ReplaceAll(err.Error(), "B5", ""))
	}
	speech.All(t, texts)
}
