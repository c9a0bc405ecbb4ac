package main

import (
	"errors"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/signal"
)

func TestJudgeLaid(t *testing.T) {
	few := reading(10, signal.WarnFewHits)
	few.Pairs = few.Pairs[:2]
	cable := reading(13, calib.WarnCrackle)
	takes := []played{judgeLaid(reading(10.4), 10, false), judgeLaid(reading(8.5), 10, false), judgeLaid(cable, 10, false), judgeLaid(reading(13), 10, false),
		judgeLaid(few, 10, false), judgeLaid(reading(10, calib.WarnDoubtful), 10, true), judgeLaid(reading(10), 10, true)}
	want := map[string]float64{"takes": 7, "error_median": 3, "within_1_ms": 20, "within_2_ms_or_doubted": 80, "silently_wrong": 20,
		"interval_covers": 25, "doubted_though_readable": 40, "doubted_where_no_answer": 50, "false_alarms_of_cables": 100.0 / 7}
	for _, s := range laidTakes().sums {
		if w, ok := want[s.figure.Name]; !ok || !alike(s.over(takes), w) {
			t.Errorf("%s is %g, want %g", s.figure.Name, s.over(takes), w)
		}
		delete(want, s.figure.Name)
	}
	if len(want) > 0 {
		t.Errorf("missing figures: %v", want)
	}
}

func TestAccuracyRefusesUnknownRealTraps(t *testing.T) {
	h, _ := bare()
	err := accuracy(t.Context(), h, []string{"-real", "-trap", "moon"})
	if _, ok := errors.AsType[usageError](err); !ok || !strings.Contains(err.Error(), "moon") {
		t.Errorf("%v, want a usage error", err)
	}
}
