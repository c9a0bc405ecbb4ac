package plan

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// swept is what a sweep reads of one voice whose law is known to some covariance of delay
// and offset, its lag being taken at any period.
func swept(voice int, law calib.TakeLaw, periodMS, wrapMS float64) Observation {
	law.PeriodMS = periodMS
	lag, sd := law.Lag(periodMS)
	h := Observation{Voice: voice, PeriodMS: periodMS, LagMS: lag, WrapMS: wrapMS, ScatterMS: sd, Slope: law.OffsetBeats}
	h.SlopeSD, h.SlopeCov = law.Growth()
	return h
}

// sweep is a sweep of all voices with the plate said to stand at told.
func (m mill) sweep(id int, told, truly Place) Take {
	t := Take{ID: id, Setting: told.Setting, Came: told.Came}
	for v := range m.delay {
		law := calib.TakeLaw{DelayMS: m.delay[v], OffsetBeats: m.lag(v, 1, truly) - m.delay[v], DOF: 60, Cov: [2][2]float64{{1.5, -0.0024}, {-0.0024, 4e-6}}}
		t.Heard = append(t.Heard, swept(v, law, 600, 600))
	}
	return t
}

// A sweep tells the plan delay and offset with just their covariance, wherever the mean
// tempo of its hits lay.
func TestSweepIsItsLaw(t *testing.T) {
	wide := straight
	wide.Prior.Delay, wide.Prior.Offset = calib.Belief{Mean: 200, SD: 1000}, calib.Belief{SD: 1}
	deeptest.Check(t, func(t *rapid.T) {
		sd := [2]float64{rapid.Float64Range(0.3, 5).Draw(t, "sd of the delay"), 0}
		sd[1] = sd[0] / rapid.Float64Range(300, 1000).Draw(t, "period of their quotient")
		cov := -rapid.Float64Range(0, 0.99).Draw(t, "correlation") * sd[0] * sd[1]
		law := calib.TakeLaw{DelayMS: 212, OffsetBeats: -0.2, DOF: 1e5, Cov: [2][2]float64{{sd[0] * sd[0], cov}, {cov, sd[1] * sd[1]}}}
		period := rapid.Float64Range(400, 1000).Draw(t, "mean period")
		m := must.Get(Fit(wide, []Take{{Heard: []Observation{swept(0, law, period, 0)}}}))(t)
		got := m.Law(0)
		fitted := mat.NewDense(2, 2, []float64{got.Cov[0][0], got.Cov[0][1], got.Cov[1][0], got.Cov[1][1]})
		want := mat.NewDense(2, 2, []float64{law.Cov[0][0], cov, cov, law.Cov[1][1]})
		for i, scale := range [2]float64{1 / sd[0], 1 / sd[1]} {
			for j, other := range [2]float64{1 / sd[0], 1 / sd[1]} {
				if off := (fitted.At(i, j) - want.At(i, j)) * scale * other; math.Abs(off) > 1e-2 {
					t.Fatalf("covariance %v, want %v", mat.Formatted(fitted), mat.Formatted(want))
				}
			}
		}
		if math.Abs(got.DelayMS-212) > 1e-2*sd[0] || math.Abs(got.OffsetBeats+0.2) > 1e-2*sd[1] {
			t.Fatalf("delay %g, offset %g", got.DelayMS, got.OffsetBeats)
		}
	})
}

// Songs of several tempos are asked for by a sweep with the plate left alone, and then by
// a check at one of them; those of one tempo, or of a crank that keeps its tempo, are not.
func TestSweepComesFirst(t *testing.T) {
	songs := []Song{{TempoBPM: 90}, {TempoBPM: 132}, {TempoBPM: 65}}
	known := oneVoice.known(calib.Belief{Mean: oneVoice.step})
	none := must.Get(Fit(known, nil))(t)
	if n := none.Plan(songs, Situation{}).Next; n == nil || n.Song != 2 || n.TempoBPM != 65 || n.ToBPM != 132 || n.Move != 0 || n.Why == "" {
		t.Errorf("first %+v", n)
	}
	if n := none.Plan(songs, Situation{Steady: true}).Next; n == nil || n.ToBPM != 0 {
		t.Errorf("where the crank keeps its tempo %+v", n)
	}
	if n := none.Plan([]Song{{TempoBPM: 90}, {TempoBPM: 100}}, Situation{}).Next; n == nil || n.ToBPM != 0 {
		t.Errorf("for tempos near each other %+v", n)
	}
	one := fitted(t, oneVoice, []Take{oneVoice.sweep(1, Place{}, Place{})})
	n := one.Plan(songs, Situation{}).Next
	if n == nil || n.ToBPM != 0 {
		t.Fatalf("after a sweep %+v", n)
	}
	at := Place{}.To(n.Move)
	both := fitted(t, oneVoice, []Take{oneVoice.sweep(1, Place{}, Place{}), oneVoice.take(2, n.TempoBPM, at, at)})
	p := both.Plan(songs, Situation{At: at})
	for _, s := range p.Songs {
		if !s.Enough {
			t.Errorf("at %g BPM: %s", s.Song.TempoBPM, s.Why("Reel", []string{"drum"}))
		}
	}
	if p.Next != nil {
		t.Errorf("after a sweep and a check %+v", p.Next)
	}
}

// A sweep is for songs of several tempos that are not sure yet: for one of them a steady take,
// which is a quarter as long, is enough.
func TestSweepIsForSongsThatAreOpen(t *testing.T) {
	m := fitted(t, oneVoice, nil)
	for open, want := range map[[3]bool][2]float64{{true, true, true}: {65, 132}, {true, false, true}: {65, 132}, {false, true, false}: {132, 0}} {
		songs := m.Plan([]Song{{TempoBPM: 90}, {TempoBPM: 132}, {TempoBPM: 65}}, Situation{}).Songs
		for i := range songs {
			songs[i].Enough = !open[i]
		}
		if n := m.advise(songs, Situation{}); n == nil || n.ToBPM != want[1] || want[1] > 0 && n.TempoBPM != want[0] {
			t.Errorf("of 90, 132 and 65 BPM open %v: %+v, want %v", open, n, want)
		}
	}
}

// What goes wrong between sweeps is found as it is between steady takes.
func TestMistakesBetweenSweeps(t *testing.T) {
	at := Place{}.To(20)
	for _, c := range []struct {
		kind  Kind
		truly Place
		steps int
	}{{Fine, at, 0}, {Miscounted, Place{Setting: 23}, 3}, {NotMoved, Place{}, -20}} {
		takes := []Take{oneVoice.sweep(1, Place{}, Place{}), oneVoice.sweep(2, at, c.truly)}
		found := fitted(t, oneVoice, takes).Findings()
		if c.kind == Fine {
			if len(found) > 0 {
				t.Errorf("found %+v where nothing is wrong", found)
			}
		} else if len(found) != 1 || found[0].Kind != c.kind || found[0].Steps != c.steps {
			t.Errorf("%s: found %+v", c.kind, found)
		}
	}
	gate := oneVoice
	gate.delay = []float64{oneVoice.delay[0] + 40}
	takes := []Take{oneVoice.sweep(1, Place{}, Place{}), oneVoice.sweep(2, Place{}, Place{}), gate.sweep(3, Place{}, Place{}), gate.sweep(4, Place{}, Place{})}
	if found := fitted(t, oneVoice, takes).Findings(); len(found) != 1 || found[0].Kind != FallChanged || found[0].Take != 2 {
		t.Errorf("a gate that was changed: %+v", found)
	}
}

// Once a take is set aside it says nothing, whether it was a sweep or not: where a sweep's
// slope is as the law has it, its lag is suspected as much as that of a steady take.
func TestBadSweepIsSuspectedAsABadTakeIs(t *testing.T) {
	odds := func(last Take, offMS float64) float64 {
		last.Heard[0].LagMS += offMS
		last.ID = 7
		m := fitted(t, oneVoice, append(oneVoice.machine(someTempos, someSettings), last))
		bad := m.probability(func(h *hypothesis) bool { return h.faults != nil && h.faults.kind == Bad && h.faults.take == 6 })
		return bad / (1 - bad)
	}
	at := Place{Setting: someSettings[5], Came: -1}
	sweep := func() Take { return oneVoice.sweep(7, at, at) }
	for _, off := range []float64{0, 4, 8} {
		steady := oneVoice.take(7, 100, at, at)
		steady.Heard[0].ScatterMS = sweep().Heard[0].ScatterMS
		if one, other := odds(sweep(), off), odds(steady, off); !(one > other/4 && one < other*4) {
			t.Errorf("off by %g ms a sweep is bad by odds of %.3g, a steady take by %.3g", off, one, other)
		}
	}
}

// A sweep is followed from end to end, so that it has to tell once which beat it is: its fast
// end costs no more for that, as a take by itself would.
func TestSweepTellsTheBeatOnce(t *testing.T) {
	m := fitted(t, oneVoice, nil)
	songs := m.Plan([]Song{{TempoBPM: 65}, {TempoBPM: 132}}, Situation{}).Songs
	ends := m.sweep([]int{0}, songs, 0, 1, Place{}).heard
	if alone := m.steady([]int{0}, songs, 1, Place{}).heard[0]; len(ends) != 2 || alone.noise < 100*ends[1].noise {
		t.Errorf("variances of %.3g and %.3g ms² at its ends, of %.3g by a take at the fast one", ends[0].noise, ends[1].noise, alone.noise)
	}
}
