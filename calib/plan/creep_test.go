package plan

import (
	"math"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// levels filters readings of a delay that walks at random, and returns what the law has
// after each, and the log of the evidence of all but the first.
func levels(readings []float64, start calib.Belief, walk, read float64) (all []float64, log float64) {
	known := calib.Belief{}
	k := Knowledge{Voices: 1, Prior: calib.Prior{Delay: start, Offset: known, Step: calib.Belief{Mean: 1}}}
	h := k.start(&model{shared: shared{x: vector{1}}, creep: walk})
	for i, y := range readings {
		if i > 0 {
			h.between(&Take{Days: 1})
		}
		var p prediction
		h.lag(&p, 0, 1, Place{})
		if i > 0 {
			log += logNormal(y-p.mean, h.variance(&p)+read)
		}
		h.observe(0, gradient(1, 0, 0), y, read)
		h.lag(&p, 0, 1, Place{})
		all = append(all, p.mean)
	}
	return all, log
}

// The flow of the Nile at Aswan 1871 to 1970 (R's data set Nile; Durbin and Koopman 2012,
// Time Series Analysis by State Space Methods, chapter 2), by R 4.2.2's
// StructTS(Nile, "level"): variances of level and reading, and the last filtered levels.
func TestCreepIsTheLocalLevelModel(t *testing.T) {
	nile := []float64{
		1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020,
		960, 1180, 799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840,
		874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702,
		1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
		781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801,
		1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975, 815,
		1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
	}
	const level, reading = 1469.146619, 15098.577154
	start := calib.Belief{Mean: nile[0], SD: vagueMS}
	all, best := levels(nile, start, level, reading)
	for i, want := range []float64{858.1241163, 819.6350850, 798.3681565} {
		near(t, "level", all[len(all)-3+i], want, 1e-4)
	}
	for _, c := range [][2]float64{{0.8, 1}, {1.25, 1}, {1, 0.9}, {1, 1.1}} {
		if _, log := levels(nile, start, c[0]*level, c[1]*reading); log >= best {
			t.Errorf("%v times the variances are as likely: %g, %g", c, log, best)
		}
	}
}

// NIST/SEMATECH e-Handbook 6.3.2.4, example of an EWMA chart with λ = 0.3 and a start of
// 50 (from memory): what a walk comes to once its gain has settled at λ.
func TestCreepSettlesAtAnEWMA(t *testing.T) {
	data := []float64{52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	const gain, reading = 0.3, 1.0
	start := calib.Belief{Mean: 50, SD: math.Sqrt(reading * gain / (1 - gain))}
	all, _ := levels(data, start, reading*gain*gain/(1-gain), reading)
	for i := range want {
		near(t, "EWMA", all[i], want[i], 0.0051) // two decimals are printed
	}
}

// night are takes of two voices on one day, and one of both after a month.
func night(change [2]float64, changed ...Change) []Take {
	hear := func(voice int, period, lag float64) Observation {
		return Observation{Voice: voice, PeriodMS: period, LagMS: lag, ScatterMS: 0.3, OtherMS: calib.TakeToTakeMS}
	}
	var all []Take
	for i, period := range []float64{800, 500, 800, 500} {
		all = append(all, Take{ID: i, Heard: []Observation{hear(0, period, 150), hear(1, period, 180)}})
	}
	return append(all, Take{ID: 4, Days: creepDays, Changed: changed, Heard: []Observation{hear(0, 600, 150+change[0]), hear(1, 600, 180+change[1])}})
}

func TestMachineAfterAMonth(t *testing.T) {
	k := Knowledge{Voices: 2, Prior: calib.PlatePrior(calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1})}
	step := 600.0 / 60
	for _, c := range []struct {
		name     string
		takes    []Take
		want     [2]float64 // delays
		findings []Kind
	}{
		{"as it was", night([2]float64{}), [2]float64{150, 180}, nil},
		{"one voice crept", night([2]float64{0, 2}), [2]float64{150, 182}, nil},
		{"a gate was changed and told", night([2]float64{0, -30}, Change{Voice: 1}), [2]float64{150, 150}, nil},
		{"the plate stands a step back", night([2]float64{step, step}), [2]float64{150, 180}, []Kind{NotTold}},
	} {
		m := must.Get(Fit(k, c.takes))(t)
		for v, want := range c.want {
			near(t, c.name, m.Law(v).DelayMS, want, 1)
		}
		var kinds []Kind
		for _, f := range m.Findings() {
			kinds = append(kinds, f.Kind)
		}
		if !slices.Equal(kinds, c.findings) {
			t.Errorf("%s: findings %v", c.name, kinds)
		}
	}
}
