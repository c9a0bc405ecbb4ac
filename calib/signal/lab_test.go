//go:build lab

package signal_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
)

type labResult struct {
	err, f, tempo, half, z float64
	covered                bool
	codes                  string
	used, truth            int
}

func labRun(tr practice.Trap, seed uint64) (labResult, string) {
	m, p := tr.Make(seed)
	rec, truth := m.Play(p)
	truth = truth.Heard()
	got, err := signal.Measure(context.Background(), rec, signal.Options{PerBeat: p.PerBeat})
	if err != nil {
		return labResult{err: math.Inf(1)}, err.Error()
	}
	e := got.LagMS - truth.MeanLagMS
	shift := got.ReferencePeriodMS * math.Round(e/got.ReferencePeriodMS)
	if got.ReferencePeriodMS == 0 {
		shift = 0
	}
	e -= shift
	mp := 0.0
	for _, x := range truth.PeriodsMS {
		mp += x / float64(len(truth.PeriodsMS))
	}
	law := m.LagMS(p.Voice, mp, p.Setting) + shift
	f, _ := calib.FMeasure(truth.VoiceHitsS, got.VoiceHitsS, 0.005)
	var codes []string
	for _, w := range got.Warnings {
		codes = append(codes, w.Code)
	}
	res := labResult{err: e, f: f, tempo: got.TempoBPM/truth.TempoBPM - 1, half: got.HalfWidthMS(), codes: strings.Join(codes, ","), used: got.Used(), truth: len(truth.VoiceHitsS)}
	res.covered = got.LagCI95MS[0] <= law && law <= got.LagCI95MS[1]
	text := ""
	if os.Getenv("LAB_V") != "" {
		text = fmt.Sprintf("voice %s every %d perbeat %d rate %g hits %d bpm %.1f setting %d lag true %.2f got %.2f\n ref true %.4f\n ref got  %.4f\n voice true %.4f\n voice got  %.4f\n double %.4f\n", p.Voice, p.Every, p.PerBeat, p.Rate, p.Hits, p.TempoBPM, p.Setting, truth.MeanLagMS, got.LagMS, truth.ReferenceHitsS, got.ReferenceHitsS, truth.VoiceHitsS, got.VoiceHitsS, truth.DoubleHitsS)
		for _, pr := range got.Pairs {
			text += fmt.Sprintf("  %.4f %.3f %v %s\n", pr.VoiceS, pr.LagMS, pr.Used, pr.Reason)
		}
	}
	return res, text
}

func TestLab(t *testing.T) {
	n := 12
	if s := os.Getenv("LAB_N"); s != "" {
		n, _ = strconv.Atoi(s)
	}
	only := os.Getenv("LAB_TRAP")
	seed := os.Getenv("LAB_SEED")
	var allE, allF []float64
	cov, tot, silent := 0, 0, 0
	for _, tr := range practice.Traps() {
		if only != "" && !slices.Contains(strings.Split(only, ","), tr.Name) {
			continue
		}
		var e, f, tp []float64
		c, miss := 0, 0
		codes := map[string]int{}
		for s := range uint64(n) {
			if seed != "" && seed != fmt.Sprint(s) {
				continue
			}
			r, text := labRun(tr, s)
			a := math.Abs(r.err)
			if a != a {
				a = 999
			}
			e, f, tp = append(e, a), append(f, r.f), append(tp, math.Abs(r.tempo))
			if r.covered {
				c++
			}
			for _, k := range strings.Split(r.codes, ",") {
				codes[k]++
			}
			for _, k := range tr.Expect {
				if !strings.Contains(r.codes, k) {
					miss++
				}
			}
			if len(tr.Expect) == 0 && strings.Contains(r.codes, "-") && !strings.Contains(r.codes, "whole") {
				fmt.Print("")
			}
			if a > 3 && r.codes == "" {
				silent++
			}
			if os.Getenv("LAB_V") != "" || only != "" {
				fmt.Printf("%s seed %d err %.3f f %.3f tempo %.5f half %.2f used %d/%d codes %s\n%s", tr.Name, s, r.err, r.f, r.tempo, r.half, r.used, r.truth, r.codes, text)
			}
		}
		cov += c
		tot += len(e)
		allE, allF = append(allE, e...), append(allF, f...)
		mean := 0.0
		for _, x := range f {
			mean += x / float64(len(f))
		}
		w1 := 0
		for _, x := range e {
			if x <= 1 {
				w1++
			}
		}
		fmt.Printf("%-15s med %.3f p95 %8.3f max %8.3f  in1 %3d/%d F %.3f tempo max %.5f cov %d/%d unwarned %d %v\n", tr.Name, quantile(e, .5), quantile(e, .95), quantile(e, 1), w1, len(e), mean, quantile(tp, 1), c, len(e), miss, codes)
	}
	w1, mean := 0, 0.0
	for _, x := range allE {
		if x <= 1 {
			w1++
		}
	}
	for _, x := range allF {
		mean += x / float64(len(allF))
	}
	fmt.Printf("ALL %d med %.3f p95 %.3f max %.3f in1 %.3f F %.4f cov %.3f silent>3 %d\n", tot, quantile(allE, .5), quantile(allE, .95), quantile(allE, 1), float64(w1)/float64(tot), mean, float64(cov)/float64(tot), silent)
}
