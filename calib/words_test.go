package calib

import (
	"strings"
	"testing"

	"lagwright/calib/i18n"
	"lagwright/internal/i18ntest"
)

func TestWords(t *testing.T) {
	for steps, want := range map[int]string{6: "Stop the crank, then turn the plate 6 steps ahead", -1: "Stop the crank, then turn the plate 1 step back", 0: "Leave the plate"} {
		if got := TurnWords(steps); got != want {
			t.Errorf("TurnWords(%d) = %q, want %q", steps, got, want)
		}
	}
	for steps, want := range map[int]string{1: "1 step ahead", 6: "6 steps ahead", -1: "1 step back", -2: "2 steps back"} {
		if got := TurnAtRest(steps); got != "Stop the crank, wait for rest, then turn the plate "+want {
			t.Errorf("TurnAtRest(%d) = %q, want … %q", steps, got, want)
		}
	}
	for lag, want := range map[float64]string{12.34: "12.3 ms late", -0.4: "0.4 ms early", 0.01: "0.0 ms", -0.01: "0.0 ms"} {
		if got := LateEarly(lag); got != want {
			t.Errorf("LateEarly(%g) = %q, want %q", lag, got, want)
		}
		if want == "0.0 ms" {
			want = "to be on the beat"
		}
		if got := Seems(lag); got != want {
			t.Errorf("Seems(%g) = %q, want %q", lag, got, want)
		}
	}
}

func TestWordsAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	for _, x := range []float64{-3, 0.01, 12} {
		texts = append(texts, LateEarly(x), Seems(x), TurnWords(int(x)))
	}
	for _, steps := range []int{-2, -1, 1, 2} {
		texts = append(texts, TurnWords(steps), TurnAtRest(steps))
	}
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
