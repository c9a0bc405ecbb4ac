package main

import (
	"fmt"
	"math"
	"strconv"

	"lagwright/calib"
	"lagwright/calib/practice"
)

// lawPieces are those of calib/LAW.md.
var lawPieces = map[string]piece{
	"takes":  takesPiece,
	"law":    lawPiece,
	"budget": budgetPiece,
	"beats":  beatsPiece,
	"advice": advicePiece,
	"faults": faultsPiece,
}

func takesPiece(w *worked) (string, error) {
	rows := [][]string{{"take", "played at (BPM)", "period P (ms)", "setting s", "lag (ms)", "standard uncertainty (ms)", "what the law leaves (ms)"}}
	for _, t := range w.session.Takes {
		p, ok := t.Point()
		if !ok {
			continue
		}
		expected, _ := w.law.Lag(p.PeriodMS, float64(p.Setting))
		rows = append(rows, []string{fmt.Sprint(t.ID), fmt.Sprintf("%.2f", calib.TempoBPM(p.PeriodMS)), fmt.Sprintf("%.2f", p.PeriodMS),
			calib.SettingWords(p.Setting), fmt.Sprintf("%.2f", p.LagMS), fmt.Sprintf("%.2f", p.SDMS), fmt.Sprintf("%.2f", p.LagMS-expected)})
	}
	return table(rows...), nil
}

func lawPiece(w *worked) (string, error) {
	m := practice.Default()
	v := m.Voices[0]
	period := calib.PeriodMS(workAsked)
	setting := w.law.Setting(period)
	nearest := math.Round(setting)
	rest, sd := w.law.Lag(period, nearest)
	return table(
		[]string{"", "the takes say", "standard uncertainty", "the machine was built with"},
		[]string{"D (ms)", fmt.Sprintf("%.2f", w.law.DelayMS), fmt.Sprintf("%.2f", math.Sqrt(w.law.Cov[0][0])), fmt.Sprintf("%.2f", v.DelayMS())},
		[]string{"A (beats)", fmt.Sprintf("%.4f", w.law.OffsetBeats), fmt.Sprintf("%.4f", math.Sqrt(w.law.Cov[1][1])), fmt.Sprintf("%.4f", v.OffsetBeats)},
		[]string{"f (beats a step)", fmt.Sprintf("%.5f", w.law.StepBeats), "known: the plate's numbers", fmt.Sprintf("%.5f", m.Plate.StepBeats())},
	) + fmt.Sprintf("\nD and A are told apart badly, with a correlation of %.3f, but what they say together is sure. "+
		"For %d BPM, which was not played: s* = (D/P + A)/f = %.2f, so %s, where the law expects %s with a standard uncertainty of %.2f ms. The machine's own lag there is %s.\n",
		w.law.Cov[0][1]/math.Sqrt(w.law.Cov[0][0]*w.law.Cov[1][1]), workAsked, setting, calib.SettingWords(int(nearest)),
		calib.LateEarly(rest), sd, calib.LateEarly(m.LagMS(v.Name, period, int(nearest)))), nil
}

func budgetPiece(w *worked) (string, error) {
	r := w.session.Takes[0].Reading
	rows := [][]string{{"source", "standard uncertainty (ms)", "share of the variance", "smaller by"}}
	for _, t := range r.Budget.Terms() {
		rows = append(rows, []string{t.What, fmt.Sprintf("%.3f", t.MS), fmt.Sprintf("%.1f %%", 100*t.Share), t.Shrink})
	}
	rows = append(rows, []string{"combined", fmt.Sprintf("%.3f", r.Budget.CombinedMS), "100 %", ""})
	return table(rows...) + fmt.Sprintf("\nTake 1: %d pairs, %.1f effective degrees of freedom, coverage factor %.2f, so %.1f ms ± %.2f ms.\n",
		r.Used(), r.Budget.DOF, r.Coverage(), r.LagMS, r.HalfWidthMS()), nil
}

// beatsExample is a voice that is 0.6 of a beat late at 120 BPM, by its fall, and a
// second take of it at 60.
var beatsExample = []calib.Point{
	{PeriodMS: 500, LagMS: 300 - 500, SDMS: 0.5, WrapMS: 500},
	{PeriodMS: 1000, LagMS: 300, SDMS: 0.5, WrapMS: 1000},
}

// beatsPiece shows what is thought of it with one take and with both, where the
// plate stands near the pins' place.
func beatsPiece(*worked) (string, error) {
	prior := calib.PlatePrior(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1})
	prior.Elsewhere, prior.Delay.SD, prior.Offset.SD = 0, 300, 0.3
	rows := [][]string{{"takes", "lag at 120 BPM taken as", "D (ms)", "A (beats)", "chance"}}
	for n := range beatsExample {
		ways, err := calib.Explain(beatsExample[:n+1], prior)
		if err != nil {
			return "", err
		}
		for _, e := range ways {
			rows = append(rows, []string{fmt.Sprint(n + 1), calib.LateEarly(e.Points[0].LagMS), fmt.Sprintf("%.0f", e.Law.DelayMS),
				fmt.Sprintf("%.2f", e.Law.OffsetBeats), fmt.Sprintf("%.1f %%", 100*e.Chance)})
		}
	}
	return table(rows...), nil
}

func advicePiece(w *worked) (string, error) {
	rows := [][]string{{"take", "advice", "why"}}
	for _, t := range w.session.Takes {
		rows = append(rows, []string{fmt.Sprint(t.ID), t.Advice.Do, t.Advice.Why})
	}
	return table(rows...), nil
}

// faultsPiece is the table of mistakes that the plan supposes, as its source has it.
func faultsPiece(*worked) (string, error) {
	const file = "calib/plan/fault.go"
	rates, err := keyedIn(file, "rates")
	if err != nil {
		return "", err
	}
	kinds, err := constantsIn(file)
	if err != nil {
		return "", err
	}
	rows := [][]string{{"mistake", "chance before any take", "what it is"}}
	for _, r := range rates[1:] { // the first is none
		name, err := strconv.Unquote(kinds[r[0]].value)
		if err != nil {
			return "", fmt.Errorf("%s: %s is no text: %w", file, r[0], err)
		}
		rows = append(rows, []string{name, r[1], kinds[r[0]].words})
	}
	return table(rows...), nil
}
