package signal

import (
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
		leaks, at = append(leaks, calib.Pair{VoiceS: float64(i), Used: i%3 == 0, Reason: ReasonAway}), append(at, Hit{TimeS: float64(i)})
	}
	if len(doubts(leaks, at, nil, nil)) == 0 || len(doubts(leaks, at, at, at)) > 0 {
		t.Error("hits elsewhere are doubted though the reference strikes there too, or are not though it does not")
	}
	for others, doubted := range map[int]bool{0: false, 4: false, 6: true, 12: true} {
		var pairs []calib.Pair
		for i := range 10 + others {
			pairs = append(pairs, calib.Pair{VoiceS: float64(i), Used: i < 10, Reason: ReasonAway})
		}
		if got := len(doubts(pairs, make([]Hit, len(pairs)), nil, nil)) > 0; got != doubted {
			t.Errorf("10 hits used and %d as loud elsewhere: doubted %v", others, got)
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
	if len(doubts(pairs, voice, train, reference)) != 1 || len(doubts(pairs, voice, train, train)) != 0 {
		t.Error("a reference whose beats sound twice is not doubted, or one whose do once is")
	}
}

// TestEcho: hits that two channels hear always as far apart are one microphone's, or a
// leak's, and so are those nearly so that are as loud; a machine's scatter is not, nor a
// voice that does not follow the reference's loudness.
func TestEcho(t *testing.T) {
	for _, c := range []struct {
		name       string
		jitterS    float64
		loudnessDB float64
		follows    float64
		doubted    bool
	}{
		{"one microphone", 0, 0, 1, true}, {"a leak in noise", 5e-5, 0.1, 1, true}, {"a leak in loud noise", 3e-4, 0.5, 1, true},
		{"a machine", 5e-4, 3, 0, false}, {"a machine that strikes evenly", 3e-4, 0, 0, false},
		{"a machine whose force follows the crank", 7e-4, 0.8, 1, false},
	} {
		r := rand.New(rand.NewPCG(5, 6))
		var s sound
		s.reference, s.voice = &channel{}, &channel{}
		var pairs []calib.Pair
		for i := range 16 {
			level, at := 3*r.NormFloat64(), 1+0.6*float64(i)
			late := 0.001 + c.jitterS*r.NormFloat64()
			s.reference.heard = append(s.reference.heard, Hit{TimeS: at, Level: level})
			s.voice.heard = append(s.voice.heard, Hit{TimeS: at + late, Level: c.follows*level - 9 + c.loudnessDB*r.NormFloat64()})
			pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + late, LagMS: 1000 * late, Used: true})
		}
		if got := len(s.echo(calib.Read(pairs, times(s.reference.heard), nil, 1), s.reference.heard, s.voice.heard)) > 0; got != c.doubted {
			t.Errorf("%s: doubted %v", c.name, got)
		}
	}
}

// TestUnclearBeginning: where the hits begin now here and now there, the reading says
// that they disagree.
func TestUnclearBeginning(t *testing.T) {
	var pairs []calib.Pair
	for i := range 12 {
		pairs = append(pairs, calib.Pair{ReferenceS: float64(i), VoiceS: float64(i) + 0.02, LagMS: 20 + 0.2*float64(i%3), Used: true})
	}
	for ms, want := range map[float64]bool{0.3: false, 1.4: true} {
		r := calib.Read(pairs, nil, nil, 1).Widen(ms, 48000)
		r.Warnings = takeWarnings(r)
		if r.Has(WarnVague) != want {
			t.Errorf("beginnings known to %g ms: %v", ms, r.Warnings)
		}
	}
}
