package calib

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// take makes a reading of n pairs around a lag with alternating scatter.
func take(bpm, lagMS, scatterMS float64, n int) Reading {
	var lags []float64
	for i := range n {
		lags = append(lags, lagMS+scatterMS*float64(i%2*2-1))
	}
	return Read(train(60/bpm, lags...))
}

func mustPoint(t *testing.T, r Reading, setting int) Point {
	t.Helper()
	p, ok := r.Point(setting)
	if !ok {
		t.Fatal("reading gives no point")
	}
	return p
}

// The table of outcomes. At 100 BPM a step of 1/60 beat is worth 10 ms.
func TestNextOutcomes(t *testing.T) {
	known := Prior{usualDelay, usualOffset, Belief{Mean: 1.0 / 60}, usualElsewhere}
	unknown := PlatePrior(Plate{})
	before := mustPoint(t, take(100, 200, 0.5, 8), 0)
	dead := take(100, 200, 0.5, 8)
	dead.Warnings = append(dead.Warnings, Warning{Code: WarnDeadChannel})
	gone := take(100, 200, 0.5, 8)
	gone.Warnings = append(gone.Warnings, Warning{Code: WarnDropOut})

	doubted := take(100, 200, 0.5, 8)
	doubted.Warnings = append(doubted.Warnings, Warning{Code: WarnDoubtful})

	for _, c := range []struct {
		name      string
		prior     Prior
		setting   int
		points    []Point
		reading   Reading
		want      Outcome
		at, steps int
		why       string
	}{
		{"first take", known, 0, nil, take(100, 200, 0.5, 8), Move, 0, 20, "one step is 10.0 ms"},
		{"early", known, 3, nil, take(100, -61, 0.5, 8), Move, 3, -6, "early"},
		{"tight", known, 20, nil, take(100, 1, 0.5, 8), Converged, 20, 0, "inside ±5.0 ms"},
		{"just outside half a step", known, 20, nil, take(100, 5.6, 0.1, 8), Move, 20, 1, ""},
		{"half a step, as near as it goes", known, 20, nil, take(100, 4.9, 0.3, 8), Converged, 20, 0, "as near as the plate goes"},
		{"on the edge, known to half the limit", known, 20, nil, take(100, 5.2, 2, 8), Converged, 20, 0, "as near as the plate goes"},
		{"on the edge, known to less", known, 20, nil, take(100, 5.2, 3.2, 8), Move, 20, 1, "one step is 10.0 ms"},
		{"tight, but too vague to say so", known, 20, nil, take(100, 1, 5, 8), TooNoisy, 20, 0, "More hits"},
		{"vague, but the direction is clear", known, 0, nil, take(100, 200, 8, 8), Move, 0, 20, ""},
		{"too vague to move", known, 0, nil, take(100, 12, 10, 8), TooNoisy, 0, 0, "More hits"},
		{"two pairs", known, 0, nil, take(100, 200, 0.5, 2), TooFewHits, 0, 0, "2 pairs"},
		{"silence", known, 0, nil, Read(nil, nil, nil, 1), TooFewHits, 0, 0, "0 pairs"},
		{"dead channel", known, 0, nil, dead, CableSuspect, 0, 0, "silent or dropped out"},
		{"drop-out", known, 0, nil, gone, CableSuspect, 0, 0, "silent or dropped out"},
		{"hits in doubt", known, 0, nil, doubted, Doubtful, 0, 0, "nothing is built on it"},
		{"moved as told", known, 10, []Point{before}, take(100, 100, 0.5, 8), Move, 10, 10, ""},
		{"moved back", known, 10, []Point{before}, take(100, 300, 0.5, 8), WrongWay, -10, 30, "stand at −10"},
		{"moved back, heard a beat early", known, 20, []Point{before}, take(100, 400-600, 0.5, 8), WrongWay, -20, 40, "stand at −20"},
		{"plate not engaged", known, 10, []Point{before}, take(100, 200, 0.5, 8), NoChange, 0, 20, "did the plate engage?"},
		{"step unknown: a trial", unknown, 0, nil, take(100, 200, 0.5, 8), Move, 0, TrialSteps, "teaches it"},
		{"step unknown, early: a trial back", unknown, 0, nil, take(100, -60, 0.5, 8), Move, 0, -6, "teaches it"},
		{"early by more than falls allow: a beat is open", known, 0, nil, take(100, -60, 0.5, 8), Move, 0, -6, "whole beat away"},
		{"far off the target tempo", known, 0, nil, take(70, 4, 0.5, 8), TooNoisy, 0, 0, "too far off"},
		{"far off the target tempo, though late enough", known, 0, nil, take(75, 300, 0.5, 8), TooNoisy, 0, 0, "too far off"},
		{"tight, but at another tempo", known, 20, []Point{before, mustPoint(t, take(60, 205, 0.5, 8), 0)}, take(112, 20.5, 0.5, 8), TooNoisy, 20, 0, "too far off"},
		{"channels swapped", known, 10, []Point{before, mustPoint(t, take(60, 205, 0.5, 8), 0)}, take(100, -100, 0.5, 8), CableSuspect, 10, 0, "the other way round"},
		{"nothing explains it", known, 20, []Point{before, mustPoint(t, take(100, 100, 0.5, 8), 10)}, take(100, 47, 0.5, 8), Move, 20, 5, "does not fit the takes before"},
		{"another step than the plate's numbers give", known, 12, []Point{before, mustPoint(t, take(100, 152, 0.5, 8), 12)}, take(100, 152, 0.5, 8), Move, 12, 38, "they give 60 steps a beat, the takes 150"},
		{"step unknown, tight by luck", unknown, 0, nil, take(100, 1, 0.5, 8), Converged, 0, 0, ""},
		{"step learnt", unknown, 10, []Point{before}, take(100, 100, 0.5, 8), Move, 10, 10, "one step is 10.0 ms"},
		{"step unknown, moved back", unknown, 10, []Point{before}, take(100, 300, 0.5, 8), WrongWay, -10, 30, "other way"},
		{"step unknown, not engaged", unknown, 10, []Point{before}, take(100, 200.4, 0.5, 8), NoChange, 0, TrialSteps, "did the plate engage?"},
		{"a beat out, known from before", known, 0, []Point{mustPoint(t, take(60, 330, 0.5, 8), 0)}, take(100, 330-600, 0.5, 8), Move, 0, 33, "330.0 ms late"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := Next(State{TargetBPM: 100, Prior: c.prior, Setting: c.setting, Points: c.points}, c.reading)
			if a.Outcome != c.want || a.At != c.at || a.Steps != c.steps || !strings.Contains(a.Why, c.why) {
				t.Errorf("got %s at %d, %d steps: %s\n%s\nwant %s at %d, %d steps, saying %q",
					a.Outcome, a.At, a.Steps, a.Do, a.Why, c.want, c.at, c.steps, c.why)
			}
			if a.Do == "" || a.Why == "" {
				t.Error("advice without words")
			}
		})
	}
}

// A take played off the target is brought to the target by the law.
func TestNextCorrectsTheTempo(t *testing.T) {
	law := Law{DelayMS: 210, StepBeats: 1.0 / 72}
	lag, _ := law.Lag(PeriodMS(104), 10)
	want, _ := law.Lag(PeriodMS(100), 10)
	a := Next(State{TargetBPM: 100, Prior: Prior{Delay: usualDelay, Step: Belief{Mean: law.StepBeats}}, Setting: 10}, take(104, lag, 0.2, 8))
	near(t, "lag at the target", a.LagMS, want, 1e-6)
}

// machine is a random machine within what builders build (ranges: common
// practice, no published source).
type machine struct {
	law    Law
	jitter float64 // ms, hit to hit
	target float64 // BPM
}

// play returns the reading of a take of twelve hits at the given setting, the
// tempo missed by about 1 %, and lags heard to the nearest reference hit.
func (m machine) play(rng *rand.Rand, setting int) Reading {
	played := m.target * (1 + 0.01*rng.NormFloat64())
	exact, _ := m.law.Lag(PeriodMS(played), float64(setting))
	exact -= PeriodMS(played) * math.Round(exact/PeriodMS(played))
	var lags []float64
	for range 12 {
		lags = append(lags, exact+m.jitter*rng.NormFloat64())
	}
	return Read(train(60/played, lags...))
}

// prior is what the builder knows of the machine's plate.
func (m machine) prior(knows bool) Prior {
	prior := PlatePrior(Plate{})
	if knows {
		prior.Step = Belief{Mean: m.law.StepBeats}
	}
	return prior
}

// loop plays and follows the advice until it says converged; it returns how
// many takes that took, or most+1, the last advice, and the state after it.
func (m machine) loop(rng *rand.Rand, s State, most int) (takes int, last Advice, after State) {
	s.TargetBPM = m.target
	for takes = 1; takes <= most; takes++ {
		r := m.play(rng, s.Setting)
		last = Next(s, r)
		if p, ok := last.Point(r); ok {
			s.Points = append(s.Points, p)
		}
		s.Setting = last.At + last.Steps
		if last.Outcome == Converged {
			break
		}
	}
	return takes, last, s
}

// Whatever the machine, the loop lands, a voice on the edge between two settings
// and a step still to be learnt included, and never calls a voice tight that is
// not.
func TestLoopConverges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := machine{
			law: Law{
				DelayMS:     rapid.Float64Range(120, 330).Draw(t, "D"),
				OffsetBeats: rapid.Float64Range(-0.05, 0.05).Draw(t, "A"),
				StepBeats:   1 / rapid.Float64Range(36, 96).Draw(t, "steps a beat"),
			},
			jitter: rapid.Float64Range(0.3, 2).Draw(t, "jitter"),
			target: rapid.Float64Range(50, 80).Draw(t, "tempo"), // slow enough that no lag is near half a beat
		}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		const most = 10
		takes, last, s := m.loop(rng, State{Prior: m.prior(rapid.Bool().Draw(t, "step known"))}, most)
		if takes > most {
			t.Fatalf("still %s after %d takes: %s", last.Outcome, most, last.Why)
		}
		left, _ := m.law.Lag(PeriodMS(m.target), float64(s.Setting))
		if edge := last.StepMS / 10; math.Abs(left) > last.LimitMS+edge+3*m.jitter {
			t.Fatalf("converged with %.1f ms left, limit %.1f", left, last.LimitMS)
		}
	})
}

// With a known step a take to measure and a take to check are enough for most
// machines; learning the step costs one more.
func TestLoopIsShort(t *testing.T) {
	rng := rand.New(rand.NewPCG(2026, 11))
	machines := deeptest.Of(300, 1000)
	for _, c := range []struct {
		knows bool
		takes int
		share float64
	}{{true, 2, 0.97}, {true, 3, 0.99}, {false, 3, 0.95}, {false, 4, 0.99}} {
		short := 0
		for range machines {
			m := machine{
				law:    Law{DelayMS: 120 + 210*rng.Float64(), OffsetBeats: 0.1*rng.Float64() - 0.05, StepBeats: 1 / (36 + 60*rng.Float64())},
				jitter: 0.5 + 1.5*rng.Float64(),
				target: 50 + 30*rng.Float64(),
			}
			if takes, _, _ := m.loop(rng, State{Prior: m.prior(c.knows)}, c.takes); takes <= c.takes {
				short++
			}
		}
		got := float64(short) / float64(machines)
		t.Logf("step known %v: %.1f %% tight within %d takes", c.knows, 100*got, c.takes)
		if got < c.share {
			t.Errorf("step known %v: only %.3f of machines tight within %d takes, want %g", c.knows, got, c.takes, c.share)
		}
	}
}

// Three tempos in any order, fast first included, where lags pass half a beat:
// whole beats come right, and no move that was made as told is doubted.
func TestTemposInAnyOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(2026, 12))
	const machines, most = 400, 6
	tight, doubted, takesAfter := 0, 0, 0
	for range machines {
		m := machine{
			law:    Law{DelayMS: 120 + 210*rng.Float64(), OffsetBeats: 0.1*rng.Float64() - 0.05, StepBeats: 1 / (36 + 60*rng.Float64())},
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
			var takes int
			takes, last, s = m.loop(rng, s, most)
			if n > 0 {
				takesAfter += takes
			}
			left, _ := m.law.Lag(PeriodMS(m.target), float64(s.Setting))
			all = all && last.Outcome == Converged && math.Abs(left) <= last.LimitMS+last.StepMS/10+3*m.jitter
			if last.Outcome == WrongWay || last.Outcome == NoChange {
				doubted++
			}
		}
		if all {
			tight++
		}
	}
	t.Logf("%d of %d machines tight at all three tempos, whole beats included; %.2f takes a tempo after the first; %d doubted", tight, machines, float64(takesAfter)/(2*machines), doubted)
	if share := float64(tight) / machines; share < 0.97 {
		t.Errorf("only %.3f of machines tight at all three tempos", share)
	}
	if doubted > 0 {
		t.Errorf("%d moves made as told were doubted", doubted)
	}
}

// What was heard a whole beat off at one tempo comes right at the second.
func TestExplainResolvesWholeBeats(t *testing.T) {
	law := Law{DelayMS: 260, OffsetBeats: 0.02, StepBeats: 1.0 / 72}
	heard := func(bpm float64, setting int) Point {
		period := PeriodMS(bpm)
		lag, _ := law.Lag(period, float64(setting))
		return Point{PeriodMS: period, Setting: setting, LagMS: lag - period*math.Round(lag/period), SDMS: 0.5, WrapMS: period}
	}
	points := []Point{heard(140, 0), heard(100, 0), heard(60, 30)}
	if points[0].LagMS > 0 {
		t.Fatal("the first reading should look early")
	}
	ways, err := Explain(points, Prior{usualDelay, usualOffset, Belief{Mean: law.StepBeats}, usualElsewhere})
	if err != nil || BeatOpen(ways) {
		t.Fatalf("a beat is open between %d explanations, %v", len(ways), err)
	}
	near(t, "D", ways[0].Law.DelayMS, 260, 2)
	near(t, "lag at 140 BPM", ways[0].Points[0].LagMS, 260+0.02*PeriodMS(140), 1)
	if points[0].LagMS > 0 {
		t.Error("Explain changed the points given")
	}
	// A voice pinned far ahead really is early: one tempo leaves it open.
	one := []Point{{PeriodMS: 600, LagMS: -60, SDMS: 0.5, WrapMS: 600}}
	if ways, err := Explain(one, PlatePrior(Plate{})); err != nil || !BeatOpen(ways) {
		t.Errorf("%d explanations, %v; want the beat to be open", len(ways), err)
	}
}

// Readings that scatter more than they say make the law less sure of itself.
func TestExplainWidensForScatter(t *testing.T) {
	prior := Prior{Delay: usualDelay, Step: Belief{Mean: 1.0 / 72}}
	sd := func(scatter float64) float64 {
		var points []Point
		for i := range 8 {
			points = append(points, Point{PeriodMS: 500 + 20*float64(i), LagMS: 200 + scatter*float64(i%2*2-1), SDMS: 0.5})
		}
		ways, err := Explain(points, prior)
		if err != nil {
			t.Fatal(err)
		}
		_, sd := ways[0].Law.Lag(600, 0)
		return sd
	}
	if calm, wild := sd(0.2), sd(5); wild < 5*calm {
		t.Errorf("ten times the stated scatter widens the law from %.2f to %.2f ms only", calm, wild)
	}
}

func TestWords(t *testing.T) {
	for steps, want := range map[int]string{6: "Turn the programme 6 steps ahead", -1: "Turn the programme 1 step back", 0: "Leave the plate"} {
		if got := TurnWords(steps); got != want {
			t.Errorf("TurnWords(%d) = %q, want %q", steps, got, want)
		}
	}
	for lag, want := range map[float64]string{12.34: "12.3 ms late", -0.4: "0.4 ms early", 0.01: "0.0 ms", -0.01: "0.0 ms"} {
		if got := LateEarly(lag); got != want {
			t.Errorf("LateEarly(%g) = %q, want %q", lag, got, want)
		}
	}
}
