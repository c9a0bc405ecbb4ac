package main

import (
	"bytes"
	"context"
	"errors"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// TestStudyIsTheSameEachTime runs a small study twice: the same lines, the last of
// them figures.
func TestStudyIsTheSameEachTime(t *testing.T) {
	var outs []string
	for range 2 {
		h, _ := bare()
		study(t.Context(), h, []string{"-n", "3", "-seed", "5"})
		outs = append(outs, h.stdout.(*bytes.Buffer).String())
	}
	if outs[0] != outs[1] {
		t.Errorf("two runs say\n%s\nand\n%s", outs[0], outs[1])
	}
	lines := strings.Split(strings.TrimSpace(outs[0]), "\n")
	line := regexp.MustCompile(`^[a-z0-9_]+ \S+ \S+ \S+$`)
	for _, f := range lines[1+len(studyWays):] {
		if !line.MatchString(f) {
			t.Errorf("%q is not: name value unit target", f)
		}
	}
}

func TestPlanBeatsTheRule(t *testing.T) {
	most := map[string]float64{"sweep-known": 2.8, "sweep-learnt": 4, "sweep-3-voices": 3, "step-known": 6, "step-learnt": 7}
	for i, w := range studyWays {
		if testing.Short() && i > 0 && w.mean > 0 {
			continue // one way by the plan shows it
		}
		switch takes, _ := someOf(t, studyFlags{seed: 11}, w); {
		case w.mean == 0 && takes < 20:
			t.Errorf("the rule needs only %.1f takes", takes)
		case w.mean > 0 && takes > most[w.name]:
			t.Errorf("%s: %.1f takes", w.name, takes)
		}
	}
}

// TestStudySweepsAreAsMeasured: what a player's sweeps tell of delay and offset is as
// uncertain as they say, and as the best and the worst of what accuracy measures in the
// sound of sweeps and in its trial.
func TestStudySweepsAreAsMeasured(t *testing.T) {
	var delay, offset, stated, told float64
	for i := range uint64(60) {
		m := studyFlags{seed: 5}.machine(i)
		m.badShare = 0
		l := m.sweep(72, 152, i).Law
		if !l.Determined() {
			continue
		}
		told++
		delay += (l.DelayMS - m.delayMS) * (l.DelayMS - m.delayMS)
		off := math.Remainder(l.OffsetBeats-m.offset, 1)
		offset, stated = offset+off*off, stated+l.Cov[0][0]
	}
	delay, offset, stated = math.Sqrt(delay/told), math.Sqrt(offset/told), math.Sqrt(stated/told)
	if told < 58 || delay < 0.9 || delay > 1.6 || offset < 0.0015 || offset > 0.0028 || stated < 0.75*delay || stated > 1.4*delay {
		t.Errorf("delays are off by %.2f ms (said to be %.2f), offsets by %.4f beats, of %g of 60 sweeps", delay, stated, offset, told)
	}
}

// someOf plays 40 machines and returns the takes that a way needs on average, and the share of
// the settings that are inside, %.
func someOf(t *testing.T, f studyFlags, w studyWay) (takes, inside float64) {
	t.Helper()
	trials := must.Get(each(t.Context(), 40, func(i int) played { return w.try(f.record(uint64(i), w.voices)) }))(t)
	return sum{of: "takes", sum: mean}.over(trials), sum{of: "inside", sum: percent}.over(trials)
}

func wayNamed(t *testing.T, name string) *studyWay {
	t.Helper()
	for i := range studyWays {
		if studyWays[i].name == name {
			return &studyWays[i]
		}
	}
	t.Fatalf("no way %s", name)
	return nil
}

// TestStudyFromAnywhere: with the plate anywhere at first the plan needs few more
// takes, and its settings are as right, counted from the nearest beat; nothing but
// the machine's offset is another.
func TestStudyFromAnywhere(t *testing.T) {
	far := 0
	for i := range uint64(40) {
		there, here := studyFlags{seed: 11, anywhere: true}.machine(i), studyFlags{seed: 11}.machine(i)
		if there.delayMS != here.delayMS || there.step != here.step || math.Abs(there.offset-here.offset) > 0.5 {
			t.Errorf("machine %d is %+v anywhere, %+v else", i, there, here)
		}
		if math.Abs(there.offset-here.offset) > 0.1 {
			far++
		}
	}
	if far < 20 {
		t.Errorf("only %d of 40 plates stand far off", far)
	}
	if takes, inside := someOf(t, studyFlags{seed: 11, anywhere: true}, *wayNamed(t, "step-known")); inside < 97 || takes > 6.5 {
		t.Errorf("%.1f %% of the settings inside after %.1f takes", inside, takes)
	}
}

func TestStudyEndsWhenTold(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	h, _ := bare()
	if err := study(ctx, h, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want it cancelled", err)
	}
}

// TestStudyPlaysTheLaw: without scatter and mishaps, a take reads what the true law
// says at the tempo played, up to whole beats.
func TestStudyPlaysTheLaw(t *testing.T) {
	for seed := range uint64(50) {
		m := studyFlags{seed: 3}.machine(seed)
		m.jitterMS = 1e-6
		m.setting = 7
		r := m.strike(100, studyHits)
		period := calib.PeriodMS(r.TempoBPM)
		off := math.Abs(math.Remainder(r.LagMS-m.lag(period, m.setting), period))
		if bad := off >= badLeastMS-2; off > 2 && !bad {
			t.Errorf("seed %d: the lag is off by %.2f ms", seed, off)
		}
		if tempo := math.Abs(r.TempoBPM/100 - 1); tempo > 5*playedOff {
			t.Errorf("seed %d: played at %.1f BPM", seed, r.TempoBPM)
		}
	}
}

// TestStudyJudgesByTheTruth: settings that the true law gives are inside, others are not.
func TestStudyJudgesByTheTruth(t *testing.T) {
	right := func(r *record, tempos []float64) (settings []int, verified bool) {
		for _, bpm := range tempos {
			settings = append(settings, int(math.Round((r.delayMS/calib.PeriodMS(bpm)+r.offset)/r.step)))
		}
		return settings, true
	}
	wrong := func(r *record, tempos []float64) ([]int, bool) {
		settings, _ := right(r, tempos)
		for i := range settings {
			settings[i] += 3
		}
		return settings, false
	}
	for seed := range uint64(20) {
		if got := (studyWay{find: right}).try(studyFlags{seed: 1}.record(seed, 1)); got.scores["whole"][0] != 1 || got.scores["open"][0] != 0 {
			t.Errorf("seed %d: %+v for the true settings", seed, got)
		}
		if got := (studyWay{find: wrong}).try(studyFlags{seed: 1}.record(seed, 1)); slices.Contains(got.scores["inside"], 1) || got.scores["open"][0] != 1 {
			t.Errorf("seed %d: %+v for settings three steps off", seed, got)
		}
	}
}
