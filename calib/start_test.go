package calib

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// The plate may stand anywhere at the first take: whole beats come right at three
// tempos in any order all the same, no good move is doubted, and no good take is
// said not to fit.
func TestPlateAnywhereAtFirst(t *testing.T) {
	rng := rand.New(rand.NewPCG(2026, 13))
	const machines, most = 400, 6
	tight, doubted, strange, takes := 0, 0, 0, 0
	for range machines {
		m := machine{
			law:    Law{DelayMS: 120 + 210*rng.Float64(), OffsetBeats: rng.Float64() - 0.5, StepBeats: 1 / (36 + 60*rng.Float64())},
			jitter: 0.5 + 1.5*rng.Float64(),
		}
		s, all := State{Prior: m.prior(true)}, true
		for n := range 3 {
			m.target = 50 + 110*rng.Float64()
			if n > 0 {
				ways, err := Explain(s.Points, s.Prior)
				if err != nil {
					t.Fatal(err)
				}
				s.Setting = int(math.Round(ways[0].Law.Setting(PeriodMS(m.target))))
			}
			var last Advice
			var played int
			played, last, s = m.loop(rng, s, most)
			takes += played
			left, _ := m.law.Lag(PeriodMS(m.target), float64(s.Setting))
			left = math.Remainder(left, PeriodMS(m.target))
			all = all && last.Outcome == Converged && math.Abs(left) <= last.LimitMS+last.StepMS/10+3*m.jitter
			if last.Outcome == WrongWay || last.Outcome == NoChange {
				doubted++
			}
			if strings.Contains(last.Why, "does not fit") {
				strange++
			}
		}
		if all {
			tight++
		}
	}
	t.Logf("%d of %d machines tight at all three tempos, %.2f takes a tempo; %d doubted, %d said not to fit", tight, machines, float64(takes)/(3*machines), doubted, strange)
	if share := float64(tight) / machines; share < 0.97 {
		t.Errorf("only %.3f of machines tight at all three tempos", share)
	}
	if doubted > 0 || strange > 0 {
		t.Errorf("%d good moves doubted, %d good takes said not to fit", doubted, strange)
	}
}

// With the plate 20 steps from where the pins belong the explanations say so once
// two tempos were heard, whole beats left out, and no beat is open.
func TestExplainFindsTheStart(t *testing.T) {
	law := Law{DelayMS: 212, OffsetBeats: 0.01 - 20.0/72, StepBeats: 1.0 / 72}
	prior := Prior{Delay: usualDelay, Offset: usualOffset, Step: Belief{Mean: law.StepBeats}, Elsewhere: usualElsewhere}
	var points []Point
	for _, bpm := range []float64{72, 152, 100} {
		period := PeriodMS(bpm)
		lag, _ := law.Lag(period, 0)
		points = append(points, Point{PeriodMS: period, LagMS: math.Remainder(lag, period), SDMS: 0.5, WrapMS: period})
		ways, err := Explain(points, prior)
		if err != nil {
			t.Fatal(err)
		}
		var sum float64
		for _, e := range ways {
			sum += e.Chance
		}
		near(t, "sum of the chances", sum, 1, 1e-9)
		if len(points) == 1 {
			continue
		}
		if !ways[0].Elsewhere || BeatOpen(ways) {
			t.Errorf("after %d readings: elsewhere %v, beat open %v", len(points), ways[0].Elsewhere, BeatOpen(ways))
		}
		near(t, "D", ways[0].Law.DelayMS, 212, 5)
		near(t, "A", math.Remainder(ways[0].Law.OffsetBeats, 1), law.OffsetBeats, 0.01)
	}
	prior.Elsewhere = 0
	if ways, err := Explain(points, prior); err != nil || ways[0].Law.ChiSquared < 25 {
		t.Errorf("a plate that has to stand right explains it with a chi-squared of %.1f, %v", ways[0].Law.ChiSquared, err)
	}
}

// TestDoubtIsEvidence holds −2 log of the evidence against its own definition: the
// differences between priors are those of the joint normal density of the readings.
func TestDoubtIsEvidence(t *testing.T) {
	prior := Prior{Delay: usualDelay, Offset: usualOffset, Step: usualStep, Elsewhere: 0.5}
	points := []Point{{PeriodMS: 600, LagMS: 210, SDMS: 2}, {PeriodMS: 800, Setting: 5, LagMS: 150, SDMS: 3}}
	evidence := func(p Prior) float64 { // −2 log of the density of two readings
		var cov [2][2]float64
		var miss [2]float64
		for i, a := range points {
			g := design(a.PeriodMS, float64(a.Setting))
			miss[i] = a.LagMS - g[0]*p.Delay.Mean - g[1]*p.Offset.Mean - g[2]*p.Step.Mean
			for j, b := range points {
				h := design(b.PeriodMS, float64(b.Setting))
				for k, belief := range p.beliefs() {
					cov[i][j] += g[k] * h[k] * belief.SD * belief.SD
				}
				if i == j {
					cov[i][j] += a.SDMS * a.SDMS
				}
			}
		}
		det := cov[0][0]*cov[1][1] - cov[0][1]*cov[1][0]
		q := (cov[1][1]*miss[0]*miss[0] - 2*cov[0][1]*miss[0]*miss[1] + cov[0][0]*miss[1]*miss[1]) / det
		return math.Log(det) + q
	}
	var got, want [2]float64
	for i, elsewhere := range []bool{false, true} {
		law, err := Fit(points, prior.at(elsewhere))
		if err != nil {
			t.Fatal(err)
		}
		got[i], want[i] = law.ChiSquared+law.logInfo+prior.charge(elsewhere), evidence(prior.at(elsewhere))
	}
	withinABeat := 2 * math.Log(AnywhereBeats*math.Sqrt(2*math.Pi))
	near(t, "difference", got[1]-got[0], want[1]-want[0]-withinABeat, 1e-9)
}
