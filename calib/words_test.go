package calib

import (
	"encoding/json"
	"strings"
	"testing"

	"lagwright/calib/i18n"
	"lagwright/internal/i18ntest"
)

// everyAdvice gives advice of each outcome, and with each of the things that may be
// said beside it.
func everyAdvice(t *testing.T) []Advice {
	t.Helper()
	known := Prior{usualDelay, usualOffset, Belief{Mean: 1.0 / 60}, usualElsewhere}
	before, slow := mustPoint(t, take(100, 200, 0.5, 8), 0), mustPoint(t, take(60, 205, 0.5, 8), 0)
	warned := func(code string) Reading {
		r := take(100, 200, 0.5, 8)
		r.Warnings = append(r.Warnings, Warning{Code: code})
		return r
	}
	var all []Advice
	for _, c := range []struct {
		setting int
		points  []Point
		reading Reading
	}{
		{0, nil, take(100, 200, 0.5, 8)}, {3, nil, take(100, -61, 0.5, 8)}, {20, nil, take(100, 1, 0.5, 8)},
		{20, nil, take(100, 4.9, 0.3, 8)}, {20, nil, take(100, 1, 5, 8)}, {0, nil, take(100, 200, 0.5, 2)}, {0, nil, take(100, 200, 0.5, 1)},
		{0, nil, warned(WarnDeadChannel)}, {0, nil, warned(WarnDoubtful)},
		{10, []Point{before}, take(100, 300, 0.5, 8)}, {10, []Point{before}, take(100, 200, 0.5, 8)}, {0, nil, take(70, 4, 0.5, 8)},
		{10, []Point{before, slow}, take(100, -100, 0.5, 8)},
		{20, []Point{before, mustPoint(t, take(100, 100, 0.5, 8), 10)}, take(100, 47, 0.5, 8)},
		{12, []Point{before, mustPoint(t, take(100, 152, 0.5, 8), 12)}, take(100, 152, 0.5, 8)},
		{10, []Point{before, slow}, take(90, 105, 0.5, 8)},
	} {
		all = append(all, Next(State{TargetBPM: 100, Prior: known, Setting: c.setting, Points: c.points}, c.reading))
	}
	trial := Next(State{TargetBPM: 100, Prior: PlatePrior(Plate{})}, take(100, 200, 0.5, 8))
	return append(all, trial)
}

// Advice is kept in English whatever the language, and told again in the one in use
// after a journey through JSON.
func TestAdviceIsToldInAnyLanguage(t *testing.T) {
	english := everyAdvice(t)
	seen := map[Outcome]bool{}
	for _, a := range english {
		seen[a.Outcome] = true
	}
	for o := range outcomes {
		if !seen[o] {
			t.Errorf("no advice of the outcome %s", o)
		}
	}
	i18ntest.Use(t)
	for i, a := range everyAdvice(t) {
		if a != english[i] {
			t.Errorf("another language gives %+v, not %+v", a, english[i])
		}
		b, err := json.Marshal(a)
		var read Advice
		if err != nil || json.Unmarshal(b, &read) != nil || read != a {
			t.Fatalf("%v: %s", err, b)
		}
		i18ntest.All(t, []string{read.DoWords(), read.WhyWords()})
	}
	kept := Advice{Do: "Leave it", Why: "The plate's numbers do not fit: they give 60 steps a beat, the takes 150."}
	if kept.DoWords() != kept.Do || kept.WhyWords() != kept.Why || !kept.DoubtsPlate() {
		t.Errorf("an earlier Lagwright's advice is told as %q, %q", kept.DoWords(), kept.WhyWords())
	}
}

func TestWordsAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	for _, x := range []float64{-3, 0.01, 12} {
		texts = append(texts, LateEarly(x), TurnWords(int(x)))
	}
	texts = append(texts, TurnWords(1), TurnWords(-1), Budget{DOF: 300}.Free(), Budget{DOF: 7.5}.Free(), ErrNoPoints.Error(), ErrUndetermined.Error(), ErrBadPoint.Error())
	for _, reason := range []string{ReasonFar, ReasonBounce, ReasonNoReference, ReasonAway, ReasonOffBeat, ReasonBefore} {
		texts = append(texts, ReasonWords(reason))
	}
	for _, term := range (Budget{}).Terms() {
		texts = append(texts, term.What, term.Shrink)
	}
	i18ntest.All(t, texts)
	if got := LateEarly(12.25); !strings.Contains(got, "12,2 ms late") {
		t.Errorf("no decimal comma: %q", got)
	}
	if ReasonWords("of a later Lagwright") != "of a later Lagwright" {
		t.Error("a reason that is not known is lost")
	}
	w := Warn(WarnClipped, i18n.Say("channel %d is clipped", 2))
	if i18ntest.Bare(w.Words()) != "" || w.Text != "channel 2 is clipped" || (Warning{Text: "kept"}).Words() != "kept" {
		t.Errorf("%+v is told as %q", w, w.Words())
	}
}
