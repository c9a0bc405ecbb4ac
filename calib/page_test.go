package calib_test

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/calib/practice"
	"lagwright/internal/must"
	"lagwright/internal/pagetest"
)

// TestLawPage holds what LAW.md shows of the machine that lagwright demo plays.
func TestLawPage(t *testing.T) {
	m := demoMachine(t)
	var takes []plan.Take
	for i, take := range m.Takes {
		h, ok := plan.Hear(0, &take.Heard[0].Reading)
		if !ok {
			t.Fatalf("take %d cannot be read", take.ID)
		}
		takes = append(takes, plan.Take{ID: take.ID, Setting: m.SettingAt(i), Heard: []plan.Observation{h}})
	}
	law := fit(t, plan.Knowledge{Voices: 1, Prior: calib.PlatePrior(m.Build.Plate)}, takes).Law(0)
	for name, want := range map[string]string{
		"takes": takesPiece(m, law), "law": lawPiece(law), "budget": budgetPiece(m), "beats": beatsPiece(t), "advice": advicePiece(m),
	} {
		pagetest.Piece(t, "LAW.md", name, want)
	}
}

func fit(t *testing.T, k plan.Knowledge, takes []plan.Take) plan.Posterior {
	t.Helper()
	m := must.Get(plan.Fit(k, takes))(t)
	return m
}

// demoMachine plays it.
func demoMachine(t *testing.T) machine.Machine {
	t.Helper()
	tempos := []float64{72, 96, 120}
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "machine"), bench.Practice(1, tempos[0])))(t)
	defer b.Close()
	for _, tempo := range tempos {
		must.Do(t, b.Aim(machine.Target{TempoBPM: tempo, Voice: b.Machine().Target.Voice}))
		for takes := 0; b.View().Stage != loop.Tight; {
			if v := b.View(); v.Stage == loop.AwaitMove {
				must.Do(t, b.Moved(v.Steps, ""))
			} else if takes++; takes > 6 {
				t.Fatalf("the simulated machine is not tight at %g BPM", tempo)
			} else {
				must.Get(b.Play(t.Context(), nil))(t)
			}
		}
	}
	return b.Machine()
}

func takesPiece(m machine.Machine, law calib.Law) string {
	rows := [][]string{{"take", "played at (BPM)", "period P (ms)", "setting s", "lag (ms)", "its own standard uncertainty (ms)", "what the law leaves (ms)"}}
	for i, t := range m.Takes {
		p, _ := t.Heard[0].Reading.Point(t.Target.TempoBPM)
		expected, _ := law.Lag(p.PeriodMS, float64(m.SettingAt(i)))
		rows = append(rows, []string{fmt.Sprint(t.ID), fmt.Sprintf("%.2f", calib.TempoBPM(p.PeriodMS)), fmt.Sprintf("%.2f", p.PeriodMS),
			calib.SettingWords(m.SettingAt(i)), fmt.Sprintf("%.2f", p.LagMS), fmt.Sprintf("%.2f", p.SDMS), fmt.Sprintf("%.2f", p.LagMS-expected)})
	}
	return pagetest.Table(rows...)
}

// asked is a tempo that was not played, BPM.
const asked = 132

func lawPiece(law calib.Law) string {
	m := practice.Default()
	v := m.Voices[0]
	period := calib.PeriodMS(asked)
	setting := law.Setting(period)
	nearest := math.Round(setting)
	rest, sd := law.Lag(period, nearest)
	return pagetest.Table(
		[]string{"", "the takes say", "standard uncertainty", "the machine was built with"},
		[]string{"D (ms)", fmt.Sprintf("%.2f", law.DelayMS), fmt.Sprintf("%.2f", math.Sqrt(law.Cov[0][0])), fmt.Sprintf("%.2f", v.DelayMS())},
		[]string{"A (beats)", fmt.Sprintf("%.4f", law.OffsetBeats), fmt.Sprintf("%.4f", math.Sqrt(law.Cov[1][1])), fmt.Sprintf("%.4f", v.OffsetBeats)},
		[]string{"f (beats a step)", fmt.Sprintf("%.5f", law.StepBeats), "known: the plate's numbers", fmt.Sprintf("%.5f", m.Plate.StepBeats())},
	) + fmt.Sprintf("\nD and A are told apart badly, with a correlation of %.3f, but what they say together is sure. "+
		"For %d BPM, which was not played: s* = (D/P + A)/f = %.2f, so %s, where the law expects %s with a standard uncertainty of %.2f ms. The machine's own lag there is %s.\n",
		law.Cov[0][1]/math.Sqrt(law.Cov[0][0]*law.Cov[1][1]), asked, setting, calib.SettingWords(int(nearest)),
		calib.LateEarly(rest), sd, calib.LateEarly(m.LagMS(v.Name, period, int(nearest))))
}

func budgetPiece(m machine.Machine) string {
	r := m.Takes[0].Heard[0].Reading
	rows := [][]string{{"source", "standard uncertainty (ms)", "share of the variance", "smaller by"}}
	for _, t := range r.Budget.Terms() {
		rows = append(rows, []string{t.What, fmt.Sprintf("%.3f", t.MS), fmt.Sprintf("%.1f %%", 100*t.Share), t.Shrink})
	}
	rows = append(rows, []string{"combined", fmt.Sprintf("%.3f", r.Budget.CombinedMS()), "100 %", ""})
	return pagetest.Table(rows...) + fmt.Sprintf("\nTake 1: %d pairs, %.1f effective degrees of freedom, coverage factor %.2f, so %.1f ms ± %.2f ms.\n",
		r.Used(), r.Budget.DOF(), r.HalfWidthMS()/r.Budget.CombinedMS(), r.LagMS, r.HalfWidthMS())
}

// beatsPiece shows what is thought of a voice that is 0.6 of a beat late at 120 BPM,
// by its fall, with that take and with a second one at 60, where the plate stands near
// the pins' place.
func beatsPiece(t *testing.T) string {
	k := plan.Knowledge{Voices: 1, Prior: calib.PlatePrior(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1})}
	k.Prior.Elsewhere, k.Prior.Delay.SD, k.Prior.Offset.SD = 0, 300, 0.3
	var takes []plan.Take
	rows := [][]string{{"takes", "lag at 120 BPM taken as", "D (ms)", "A (beats)", "then expected at 90 BPM", "chance of a tight setting for it"}}
	for i, p := range []calib.Point{{PeriodMS: 500, LagMS: 300 - 500, SDMS: 0.5, WrapMS: 500}, {PeriodMS: 1000, LagMS: 300, SDMS: 0.5, WrapMS: 1000}} {
		takes = append(takes, plan.Take{ID: i + 1, Heard: []plan.Observation{{PeriodMS: p.PeriodMS, LagMS: p.LagMS, WrapMS: p.WrapMS, ScatterMS: p.SDMS}}})
		m := fit(t, k, takes)
		law := m.Law(0)
		heard, _ := law.Lag(500, 0)
		at90, sd := m.Expect(0, plan.Place{}, calib.PeriodMS(90))
		chance := m.Plan([]plan.Song{{TempoBPM: 90}}, plan.Situation{}).Songs[0].Near
		rows = append(rows, []string{fmt.Sprint(i + 1), calib.LateEarly(heard), fmt.Sprintf("%.0f", law.DelayMS), fmt.Sprintf("%.2f", law.OffsetBeats),
			fmt.Sprintf("%s (± %.1f)", calib.LateEarly(at90), 1.96*sd), fmt.Sprintf("%.1f %%", 100*chance)})
	}
	return pagetest.Table(rows...)
}

// advicePiece shows what was said after each take.
func advicePiece(m machine.Machine) string {
	rows := [][]string{{"take", "advice", "why"}}
	for i, t := range m.Takes {
		then := m
		then.Takes = append([]machine.Take(nil), m.Takes[:i+1]...)
		then.Takes[i].Moved, then.Target = nil, t.Target
		v := loop.Look(then)
		rows = append(rows, []string{fmt.Sprint(t.ID), v.Do, v.Why})
	}
	return pagetest.Table(rows...)
}
