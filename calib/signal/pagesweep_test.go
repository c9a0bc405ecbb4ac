package signal_test

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/must"
	"lagwright/internal/pagetest"
)

// TestSweepOfThePage holds what MEASURING.md shows of a sweep.
func TestSweepOfThePage(t *testing.T) {
	m := practice.Default()
	p := practice.Play{Voice: m.Voices[0].Name, TempoBPM: 62, Setting: 26, Seed: 5, Rate: 22050,
		Sweep: practice.Sweep{ToBPM: 138, Seconds: 45, Uneven: 0.5}, Disturb: practice.Disturb{ClunkDB: -14, LeakDB: -14, MissedShare: 0.06, WowPct: 1}}
	sound, _ := m.Play(p)
	r := must.Get(signal.Measure(t.Context(), sound, signal.Options{}))(t)
	l := r.Law
	if !l.Determined() || l.WholeBeatsOpen {
		t.Fatalf("law %+v", l)
	}
	delay, one := m.LagMS(p.Voice, 0, p.Setting), m.LagMS(p.Voice, 1, p.Setting)
	rows := [][]string{{"", "the take says", "95 %", "the machine was built with"},
		{"D (ms)", fmt.Sprintf("%.2f", l.DelayMS), fmt.Sprintf("± %.2f", l.Coverage()*math.Sqrt(l.Cov[0][0])), fmt.Sprintf("%.2f", delay)},
		{"c = A − f·s (beats)", fmt.Sprintf("%.4f", l.OffsetBeats), fmt.Sprintf("± %.4f", l.Coverage()*math.Sqrt(l.Cov[1][1])), fmt.Sprintf("%.4f", one-delay)}}
	for _, bpm := range []float64{70, 90, 110, 130} {
		lag, sd := l.Lag(calib.PeriodMS(bpm))
		rows = append(rows, []string{fmt.Sprintf("a song at %.0f BPM (ms)", bpm), fmt.Sprintf("%.2f", lag), fmt.Sprintf("± %.2f", l.Coverage()*sd),
			fmt.Sprintf("%.2f", m.LagMS(p.Voice, calib.PeriodMS(bpm), p.Setting))})
	}
	pagetest.Piece(t, "MEASURING.md", "sweep", fmt.Sprintf("The simulated machine at setting %s, cranked unevenly from %.0f to %.0f BPM in %.0f s, with leak, clunk, misses and 1 %% of wow; %d of %d voice hits used, %d left out without a reference hit near: the clunks. The reading is %s at %.2f BPM, jitter %.2f ms.\n\n",
		calib.SettingWords(p.Setting), p.TempoBPM, p.Sweep.ToBPM, p.Sweep.Seconds, r.Used(), len(r.Pairs), r.Rejected()[calib.ReasonNoReference], calib.LateEarly(r.LagMS), r.TempoBPM, r.JitterMS)+pagetest.Table(rows...)+
		fmt.Sprintf("\nD and c have a correlation of %.3f.\n", l.Correlation()))
}

// TestSplineOfThePage holds what MEASURING.md says of ways to interpolate the crank:
// the one that is used is the best of them on every smooth sweep of which the hits
// show enough.
func TestSplineOfThePage(t *testing.T) {
	ways := []struct {
		name string
		make func() interp.FittablePredictor
	}{
		{"natural cubic", func() interp.FittablePredictor { return &interp.NaturalCubic{} }},
		{"Akima", func() interp.FittablePredictor { return &interp.AkimaSpline{} }},
		{"Fritsch and Butland", func() interp.FittablePredictor { return &interp.FritschButland{} }},
		{"straight lines", func() interp.FittablePredictor { return &interp.PiecewiseLinear{} }},
	}
	rows := [][]string{{"crank"}}
	for _, w := range ways {
		rows[0] = append(rows[0], w.name)
	}
	for _, c := range []struct {
		crank      string
		wow, turns float64
		stages     int
		smooth     bool
	}{
		{"even", practice.None, 0.5, 0, true}, {"1 % of wow, 4 beats a turn", 1, 0.25, 0, true}, {"1 % of wow, 2 beats a turn", 1, 0.5, 0, false}, {"even, in six stages", practice.None, 0.5, 6, false},
	} {
		row := []string{c.crank}
		var rms []float64
		for _, w := range ways {
			rms = append(rms, missedBy(t, w.make, c.wow, c.turns, c.stages))
			row = append(row, fmt.Sprintf("%.2f", rms[len(rms)-1]))
		}
		for _, x := range rms {
			if c.smooth && x < rms[0] {
				t.Errorf("%s: %.2f ms by a spline that is not used, %.2f by the one that is", c.crank, x, rms[0])
			}
		}
		rows = append(rows, row)
	}
	pagetest.Piece(t, "MEASURING.md", "spline", pagetest.Table(rows...))
}

// missedBy returns how far from the truth, in ms, an interpolation lies halfway between
// hits, root mean square over some sweeps.
func missedBy(t *testing.T, make func() interp.FittablePredictor, wow, turns float64, stages int) float64 {
	m := practice.Default()
	m.CrankTurnsPerBeat = turns
	var squares []float64
	for seed := range uint64(6) {
		truth := m.Hits(practice.Play{TempoBPM: 60, PerBeat: 2, Seed: seed, Sweep: practice.Sweep{ToBPM: 140, Stages: stages, Uneven: 0.6}, Disturb: practice.Disturb{WowPct: wow}})
		var x, y []float64
		for i := 0; i < len(truth.ReferenceHitsS); i += 2 {
			x, y = append(x, float64(i)/2), append(y, 1000*truth.ReferenceHitsS[i]+0.05*math.Sin(float64(7*i*i)))
		}
		way := make()
		must.Do(t, way.Fit(x, y))
		for i := 1; i+1 < len(truth.ReferenceHitsS); i += 2 {
			off := way.Predict(float64(i)/2) - 1000*truth.ReferenceHitsS[i]
			squares = append(squares, off*off)
		}
	}
	return math.Sqrt(stat.Mean(squares, nil))
}
