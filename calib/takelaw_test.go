package calib

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// sweep makes a take of a voice that is released an angle after its beat, in beats,
// and falls for a time in ms, on a crank whose turning is given.
func sweep(at func(beat float64) float64, beats, every int, angle, delayMS, jitterMS float64, r *rand.Rand) (pairs []Pair, reference []float64) {
	for beat := -2; beat <= beats+2; beat++ {
		reference = append(reference, 3+at(float64(beat)))
	}
	for beat := 0; beat <= beats; beat += every {
		ref := reference[beat+2]
		v := 3 + at(float64(beat)+angle) + (delayMS+jitterMS*r.NormFloat64())/1000
		pairs = append(pairs, Pair{ReferenceS: ref, VoiceS: v, LagMS: 1000 * (v - ref), Used: true})
	}
	return pairs, reference
}

// A sweep tells delay and offset, whichever way and however far the tempo goes, and
// its lag at the mean period is that of the law.
func TestSweepTellsTheLaw(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(50, 70).Draw(t, "from")
		to := from * rapid.Float64Range(1.5, 2.7).Draw(t, "times")
		if rapid.Bool().Draw(t, "down") {
			from, to = to, from
		}
		delay, offset := rapid.Float64Range(60, 450).Draw(t, "delay"), rapid.Float64Range(-0.6, 0.1).Draw(t, "offset")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		beats := int(50 * (from + to) / 120)
		pairs, reference := sweep(ramp(from, to, 50), beats, 1, offset, delay, 0.5, r)
		for i := range pairs { // some strike wild
			if i%17 == 5 {
				pairs[i].VoiceS += 0.06
				pairs[i].LagMS += 60
			}
		}
		got := Read(pairs, reference, nil, 1)
		l := got.Law
		if !l.Determined() {
			t.Fatalf("no law is told: %+v", l)
		}
		sd := [2]float64{math.Sqrt(l.Cov[0][0]), math.Sqrt(l.Cov[1][1])}
		if math.Abs(l.DelayMS-delay) > 5*sd[0] || math.Abs(math.Remainder(l.OffsetBeats-offset, 1)) > 5*sd[1] || sd[0] > 1.5 {
			t.Fatalf("delay %.2f ± %.2f of %.2f ms, offset %.4f ± %.4f of %.4f", l.DelayMS, sd[0], delay, l.OffsetBeats, sd[1], offset)
		}
		at, _ := l.Lag(PeriodMS(got.TempoBPM))
		off := math.Remainder(at-got.LagMS, PeriodMS(got.TempoBPM))
		if math.Abs(off) > 0.2 || math.Abs(got.TempoBPM-TempoBPM(l.PeriodMS)) > 1e-9 {
			t.Fatalf("the lag of %.3f ms at %.2f BPM is not that of the law, %.3f ms", got.LagMS, got.TempoBPM, at)
		}
		if got.JitterMS > 1.5 {
			t.Fatalf("jitter %.2f ms: the law's own change is in it", got.JitterMS)
		}
	})
}

// JCGM 100:2008, H.3, Table H.6: a thermometer's corrections are a straight line of
// the temperature. As takes they are stretches of a steady crank, each with one
// strike, always at the same place of the crank. Digits are from the GTC documentation (docs/API/GUM_H3); u(y1) = 0.0029 and
// r(y1, y2) = -0.930 as the GUM prints them, from memory.
func TestTakeLawIsTheStraightLineOfGUM(t *testing.T) {
	x := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	y := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	const scale = 1000 // a degree is so many ms of the period and of the lag
	var hits []float64
	var pairs []Pair
	at := 0.0
	for i := range x {
		for n := range 9 {
			if hits = append(hits, at); n == 4 {
				lag := scale * y[i]
				pairs = append(pairs, Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
			}
			at += scale * x[i] / 1000
		}
		at += 7 * scale * x[i] / 1000 // nobody knows what the crank does, but that it comes round
	}
	crank := NewCrank(hits)
	turn := fittedTake{crank: crank, known: true, release: Release{DelayMS: -scale * 0.2}}
	turn.strikes, turn.of = crank.usable(pairs)
	if len(turn.strikes) != len(x) {
		t.Fatalf("%d strikes of %d", len(turn.strikes), len(x))
	}
	for _, s := range turn.strikes {
		turn.angleMS = append(turn.angleMS, crank.turnMS(0, s.number))
	}
	l := turn.law(1)
	wide := math.Sqrt(inflation(crank.left(turn.strikes, Release{DelayMS: l.DelayMS, Angle: l.OffsetBeats}))) // of neighbours alike, which H.3 leaves out
	at20, sd20 := l.Lag(20 * scale)
	at30, sd30 := l.Lag(30 * scale)
	near(t, "y1", at20/scale, -0.17120379013135, 1e-6)
	near(t, "u(y1)", sd20/scale/wide, 0.0029, 0.00005)
	near(t, "y2", l.OffsetBeats, 0.00218269773988730, 1e-7)
	near(t, "u(y2)", math.Sqrt(l.Cov[1][1])/wide, 0.000667938773227823, 1e-7)
	near(t, "r(y1, y2)", (l.Cov[0][1]+20*scale*l.Cov[1][1])/sd20/math.Sqrt(l.Cov[1][1]), -0.930, 0.0005)
	near(t, "b(30)", at30/scale, -0.149376812732477, 1e-6)
	near(t, "u(b(30))", sd30/scale/wide, 0.00413859575285495, 1e-6)
}

// A crank that swings between its hits, unseen, moves the strikes at each of its places alike
// and widens nothing: over a whole turn it adds up to nothing.
func TestSwingIsNoScatter(t *testing.T) {
	law := func(swingMS float64) TakeLaw {
		even := ramp(60, 120, 60)
		at := func(beat float64) float64 { return even(beat) + swingMS/1000*math.Sin(math.Pi*beat) }
		pairs, reference := sweep(at, 88, 1, -0.3, 220, 1, rand.New(rand.NewPCG(3, 4)))
		return Read(pairs, reference, nil, 1).Law
	}
	still, swings := law(0), law(3)
	for name, of := range map[string]func(TakeLaw) float64{
		"u(D)":       func(l TakeLaw) float64 { return math.Sqrt(l.Cov[0][0]) },
		"u(c)":       func(l TakeLaw) float64 { return math.Sqrt(l.Cov[1][1]) },
		"u(lag)":     func(l TakeLaw) float64 { _, sd := l.Lag(l.PeriodMS); return sd },
		"lag, of 10": func(l TakeLaw) float64 { lag, _ := l.Lag(l.PeriodMS); return 10 + lag },
	} {
		if got, want := of(swings), of(still); math.Abs(got/want-1) > 0.1 {
			t.Errorf("%s is %g where the crank swings, %g where it does not", name, got, want)
		}
	}
}

// A steady take tells no law, and neither does one of few strikes.
func TestSteadyTakesTellNoLaw(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	pairs, reference := sweep(ramp(96, 96, 20), 24, 1, -0.3, 220, 1, r)
	if l := Read(pairs, reference, nil, 1).Law; l.Determined() {
		t.Errorf("a steady take tells %+v", l)
	}
	pairs, reference = sweep(ramp(60, 120, 20), 24, 8, -0.3, 220, 1, r)
	if l := Read(pairs[:3], reference, nil, 1).Law; l.Determined() {
		t.Errorf("three strikes tell %+v", l)
	}
	if l := (Reading{}).Law; l.Determined() || l.DelayMS != 0 {
		t.Errorf("an empty reading tells %+v", l)
	}
}

// The beat is that of a builder: between pins' place and in time; it is open where none or
// more than one will do, be the plate half a beat and more ahead.
func TestWholeBeatsOfALaw(t *testing.T) {
	for _, c := range []struct {
		delayMS, offset, want float64
		open                  bool
	}{
		{220, 0, 0, false}, {220, -1, 0, false}, {250, -0.4, -0.4, false}, {250, 0.6, -0.4, false}, {250, -0.7, -0.7, false},
		{250, 0.05, 0.05, true}, {250, -0.95, 0.05, true}, {250, 0.35, -0.65, false}, {560, -0.95, -0.95, true},
		{250, 0.16, -0.84, true}, {250, 0.25, -0.75, true}, // the nearest beat will not do
	} {
		l := TakeLaw{DelayMS: c.delayMS, OffsetBeats: c.offset, PeriodMS: 600}.onBeat(1)
		if math.Abs(l.OffsetBeats-c.want) > 1e-9 || l.WholeBeatsOpen != c.open || l.DelayMS != c.delayMS {
			t.Errorf("delay %g ms, offset %g: %g, open %v; want %g, %v", c.delayMS, c.offset, l.OffsetBeats, l.WholeBeatsOpen, c.want, c.open)
		}
	}
}

// A lag that changes along the take though its tempo does not is a trend; that of a
// sweep, and of a scatter, is none.
func TestTrend(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	steady, reference := sweep(ramp(96, 96, 20), 30, 1, -0.3, 220, 1, r)
	if by, sd := Read(steady, reference, nil, 1).Trend(); math.Abs(by) > 4*sd {
		t.Errorf("a steady take changes by %.2f ± %.2f ms", by, sd)
	}
	slipping := slices.Clone(steady)
	for i := range slipping {
		slipping[i].VoiceS += 0.0004 * float64(i)
		slipping[i].LagMS += 0.4 * float64(i)
	}
	if by, sd := Read(slipping, reference, nil, 1).Trend(); math.Abs(by-12) > 4*sd || by < 5*sd {
		t.Errorf("a slipping plate changes the lag by %.2f ± %.2f ms, want 12", by, sd)
	}
	swept, reference := sweep(ramp(60, 140, 40), 66, 1, -0.4, 260, 1, r)
	if by, sd := Read(swept, reference, nil, 1).Trend(); math.Abs(by) > 4*sd+0.5 {
		t.Errorf("a sweep changes by %.2f ± %.2f ms beyond its law", by, sd)
	}
}

// A delay that no fall has is not told, and one that may be is.
func TestImpossibleDelays(t *testing.T) {
	for delay, impossible := range map[float64]bool{-30: true, -3: false, 0: false, 220: false, 690: false, 900: true} {
		l := TakeLaw{DelayMS: delay, DOF: 40, Cov: [2][2]float64{{25, 0}, {0, 1e-6}}}
		if l.Impossible() != impossible || l.Determined() == impossible {
			t.Errorf("%g ms ± 10: impossible %v, told %v", delay, l.Impossible(), l.Determined())
		}
		if l.Cov[0][0] = 1e4; l.Impossible() || l.Determined() {
			t.Errorf("%g ms ± 200 tells nothing: impossible %v, told %v", delay, l.Impossible(), l.Determined())
		}
	}
}

// The tempo at which a sweep is asked for is the nearest that was played, and its lag that
// of the law, on the beat of the pairs.
func TestSweepAtATempo(t *testing.T) {
	pairs, reference := sweep(ramp(60, 120, 50), 70, 1, -0.4, 230, 0.5, rand.New(rand.NewPCG(1, 9)))
	r := Read(pairs, reference, nil, 2) // the lag is known up to halves of a beat of two hits
	for ask, at := range map[float64]float64{20: 30, 45: 45, 90: 60} {
		p, ok := r.Point(ask)
		near(t, "tempo", TempoBPM(p.PeriodMS), at, 2)
		near(t, "lag", p.LagMS, 230-0.2*p.PeriodMS, 0.6)
		near(t, "wrap", p.WrapMS, p.PeriodMS/2, 1e-9)
		if !ok || !(p.HalfMS > 0.05 && p.HalfMS < 1) {
			t.Errorf("at %g BPM: %+v, %v", ask, p, ok)
		}
	}
}

// TestSplit: lags in two groups differ by half of what parts them; those that a gate
// scatters, or that follow the tempo, are of one kind.
func TestSplit(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	lags := func(of func(i int) float64) (pairs []Pair, reference []float64) {
		for i := range 40 {
			at := 1 + 0.5*float64(i) - 0.004*float64(i*i)/2
			ms := of(i)
			reference = append(reference, at)
			pairs = append(pairs, Pair{ReferenceS: at, VoiceS: at + ms/1000, LagMS: ms, Used: true})
		}
		return pairs, reference
	}
	if got := SplitMS(lags(func(i int) float64 { return 20 + 5*float64(i%2) + 0.3*r.NormFloat64() })); math.Abs(got-2.5) > 0.2 {
		t.Errorf("groups 5 ms apart differ by %.2f ms", got)
	}
	for name, of := range map[string]func(int) float64{
		"scattered":     func(int) float64 { return 20 + 5*r.NormFloat64() },
		"a few far off": func(i int) float64 { return 20 + 30*float64(i%20/19) + 0.3*r.NormFloat64() },
	} {
		if got := SplitMS(lags(of)); got != 0 {
			t.Errorf("lags that are %s differ by %.2f ms", name, got)
		}
	}
}
