package signal

import (
	"math"
	"math/rand/v2"
	"testing"

	"lagwright/calib"
)

// TestFirstArrivalUnlessALeakIsShown: of a drum that sounds in two stages the first
// counts; under a leak, which is always as late and from which the strike scatters,
// the loud rise does.
func TestFirstArrivalUnlessALeakIsShown(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	var other, drum, leak []Hit
	for i := range 12 {
		at, strike := 1+0.5*float64(i), 0.002+0.0006*r.NormFloat64()
		other = append(other, Hit{TimeS: at})
		drum = append(drum, Hit{TimeS: at + strike, mainS: at + strike + 0.004})
		leak = append(leak, Hit{TimeS: at + 0.0007 + 1e-5*r.NormFloat64(), mainS: at + strike + 0.004})
	}
	for i, h := range atMainRise(drum, other, false) {
		if h.TimeS != drum[i].TimeS {
			t.Fatalf("hit %d of a drum in two stages is moved by %.1f ms", i, 1000*(h.TimeS-drum[i].TimeS))
		}
	}
	for i, h := range atMainRise(leak, other, false) {
		if h.TimeS != leak[i].mainS {
			t.Fatalf("hit %d under a leak is not taken at its rise", i)
		}
	}
}

// TestDoubtOfAMinority: what fewer than two thirds of the loud hits say is doubtful.
func TestDoubtOfAMinority(t *testing.T) {
	leaks := []calib.Pair{}
	var at []Hit
	for i := range 30 {
		leaks, at = append(leaks, calib.Pair{VoiceS: float64(i), Used: i%3 == 0, Reason: calib.ReasonAway}), append(at, Hit{TimeS: float64(i)})
	}
	if len(doubts(leaks, at, nil, nil, Options{}.filled())) == 0 || len(doubts(leaks, at, at, at, Options{}.filled())) > 0 {
		t.Error("hits elsewhere are doubted though the reference strikes there too, or are not though it does not")
	}
	for others, doubted := range map[int]bool{0: false, 4: false, 6: true, 12: true} {
		var pairs []calib.Pair
		for i := range 10 + others {
			pairs = append(pairs, calib.Pair{VoiceS: float64(i), Used: i < 10, Reason: calib.ReasonAway})
		}
		if got := len(doubts(pairs, make([]Hit, len(pairs)), nil, nil, Options{}.filled())) > 0; got != doubted {
			t.Errorf("10 hits used and %d as loud elsewhere: doubted %v", others, got)
		}
	}
	for every, doubted := range map[int]bool{0: true, 2: false} { // beats between strikes
		few := make([]calib.Pair, 5)
		for i := range few {
			few[i] = calib.Pair{VoiceS: float64(20 * i), Used: true}
		}
		if got := len(doubts(few, make([]Hit, 5), evenly(0, 1, 101), evenly(0, 1, 101), Options{Every: every}.filled())) > 0; got != doubted {
			t.Errorf("5 hits in 101 beats of which one in %d should have one: doubted %v", every, got)
		}
	}
	// A reference of which every beat sounds twice may be the other of its sounds.
	var pairs []calib.Pair
	var voice, train, reference []Hit
	for i := range 10 {
		beat := Hit{TimeS: float64(i)}
		pairs, voice = append(pairs, calib.Pair{VoiceS: beat.TimeS + 0.3, Used: true}), append(voice, Hit{TimeS: beat.TimeS + 0.3})
		train, reference = append(train, beat), append(reference, beat, Hit{TimeS: beat.TimeS + 0.07})
	}
	if len(doubts(pairs, voice, train, reference, Options{}.filled())) != 1 || len(doubts(pairs, voice, train, train, Options{}.filled())) != 0 {
		t.Error("a reference whose beats sound twice is not doubted, or one whose do once is")
	}
}

// TestEcho: hits that two channels hear always as far apart are a leak's, and so are those
// nearly so that are as loud; a machine's scatter is not, nor a voice that does not follow
// the reference's loudness.
func TestEcho(t *testing.T) {
	for _, c := range []struct {
		name       string
		jitterS    float64
		loudnessDB float64
		follows    float64
		doubted    bool
	}{
		{"one sound", 0, 0, 1, true}, {"a leak in noise", 5e-5, 0.1, 1, true}, {"a leak in loud noise", 3e-4, 0.5, 1, true},
		{"a machine", 5e-4, 3, 0, false}, {"a machine that strikes evenly", 3e-4, 0, 0, false},
		{"a machine whose force follows the crank", 7e-4, 0.8, 1, false},
	} {
		r := rand.New(rand.NewPCG(5, 6))
		var reference, voice []Hit
		var pairs []calib.Pair
		for i := range 16 {
			level, at := 3*r.NormFloat64(), 1+0.6*float64(i)
			late := 0.001 + c.jitterS*r.NormFloat64()
			reference = append(reference, Hit{TimeS: at, Level: level})
			voice = append(voice, Hit{TimeS: at + late, Level: c.follows*level - 9 + c.loudnessDB*r.NormFloat64()})
			pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + late, LagMS: 1000 * late, Used: true})
		}
		if got := echo(calib.Read(pairs, times(reference), nil, 1), reference, voice); got != c.doubted {
			t.Errorf("%s: doubted %v", c.name, got)
		}
	}
}

// TestOneMicrophone: channels that hear the same but for their own noise are one
// microphone's, however loud; a voice that strikes with the reference is not.
func TestOneMicrophone(t *testing.T) {
	const rate, hits = 48000, 8
	take := calib.Recording{RateHz: rate, Samples: [][]float32{make([]float32, rate*(hits+1)), make([]float32, rate*(hits+1)), make([]float32, rate*(hits+1))}}
	r := rand.New(rand.NewPCG(8, 9))
	var voice []Hit
	for i := range hits {
		voice = append(voice, Hit{TimeS: float64(i) + 0.5})
		for j := range rate / 10 {
			at, tone := rate/2+i*rate+j, math.Exp(-float64(j)/500)
			for c, hz := range []float64{900, 900, 1300} {
				take.Samples[c][at] += float32([]float64{1, -0.3, 1}[c] * tone * math.Sin(2*math.Pi*hz*float64(j)/rate))
			}
		}
	}
	for _, x := range take.Samples {
		for i := range x {
			x[i] += float32(0.01 * r.NormFloat64())
		}
	}
	for other, want := range map[int]bool{2: true, 3: false} {
		got, err := sound{take: take, reference: &channel{number: 1}, voice: &channel{number: other}}.same(voice)
		if got != want || err != nil {
			t.Errorf("channels 1 and %d: the same %v, %v", other, got, err)
		}
	}
}

// TestOpenBeginning: the likelier, and the farther off, another beginning is, the less is a
// lag known; near ones are no doubt. What sounded before may hide one.
func TestOpenBeginning(t *testing.T) {
	loud := []Hit{{TimeS: 1, upS: 1, hides: 1}}
	for _, c := range []struct {
		hits      []Hit
		others    []open
		near, sdS float64
	}{
		{make([]Hit, 1), nil, 1, pickS},
		{make([]Hit, 1), []open{{0.3, 0.001}}, 1, math.Hypot(pickS, math.Sqrt(0.21)*0.001)},
		{make([]Hit, 1), []open{{0.3, 0.004}, {0.1, -0.01}}, 0.7 * 0.9, math.Sqrt(square(pickS) + 0.21*square(0.004) + 0.09*square(0.01))},
		{loud, nil, 0.5, math.Hypot(pickS, hiddenS/2)},
	} {
		got := begins{near: 1}
		got.add(c.hits)
		for _, o := range c.others {
			got.or(o)
		}
		if math.Abs(got.near-c.near) > 1e-9 || math.Abs(math.Sqrt(got.variance)-c.sdS) > 1e-9 {
			t.Errorf("%v: %v, want %g %g", c.others, got, c.near, c.sdS)
		}
	}
}

// TestStagesOfOneSound: what follows another hit always as soon is no hit, however loud;
// what follows as a gate lets it is one.
func TestStagesOfOneSound(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for scatterS, want := range map[float64]int{0.00002: 12, 0.001: 36} {
		var hits []Hit
		for i := range 12 {
			at := 0.5 * float64(i)
			hits = append(hits, Hit{TimeS: at, Level: -20}, Hit{TimeS: at + 0.02 + scatterS*r.NormFloat64(), Level: -10}, Hit{TimeS: at + 0.06 + scatterS*r.NormFloat64(), Level: -15})
		}
		got := begun(hits)
		if len(got) != want || got[1].TimeS != hits[36/want].TimeS {
			t.Errorf("scattering by %g s, %d hits begin a sound, want %d", scatterS, len(got), want)
		}
	}
}

// TestMovedTrainHasNoRivals: where only the average of the reference's hits shows that they
// begin earlier, the hits that were picked are no others.
func TestMovedTrainHasNoRivals(t *testing.T) {
	const rate, hits, stageS, lagS = 48000.0, 30, 0.005, 0.1
	r := rand.New(rand.NewPCG(8, 8))
	take := calib.Recording{RateHz: rate, Samples: [][]float32{make([]float32, rate*(1+hits/2)), make([]float32, rate*(1+hits/2))}}
	strike := func(x []float32, at, size, hz float64) {
		for j := int(at*rate) + 1; j < int((at+0.1)*rate); j++ {
			s := float64(j)/rate - at
			x[j] += float32(size * math.Exp(-s/0.01) * math.Sin(2*math.Pi*hz*s))
		}
	}
	for i := range hits {
		at := 0.5 + 0.5*float64(i)
		strike(take.Samples[0], at, 0.06, 1500)
		strike(take.Samples[0], at+stageS, 1, 700)
		strike(take.Samples[1], at+lagS+0.001*r.NormFloat64(), 1, 900)
	}
	for _, x := range take.Samples {
		for i := range x {
			x[i] += float32(0.02 * r.NormFloat64())
		}
	}
	got, err := Measure(t.Context(), take, Options{})
	if err != nil || math.Abs(got.LagMS-1000*lagS) > 1 || len(got.Warnings) > 0 {
		t.Errorf("%.2f ms, %v, %v", got.LagMS, got.Warnings, err)
	}
}
