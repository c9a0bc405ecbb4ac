package handsfree

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

const (
	zeroNearS    = 0.02 // the channels of one recorder hear one knock within this
	zeroMostMS   = 5.0  // a skew beyond is no recorder's: two clocks, or microphones far apart (common practice, no published source)
	zeroSpreadMS = 0.5  // knocks heard by two microphones side by side agree within this (common practice, no published source)
	zeroPickMS   = 0.3  // beginnings of real drum sounds are picked within this (calib/signal/drums_test.go)
)

// Zero returns the skew between two channels from the times in s at which each
// heard the same knocks, both microphones lying side by side, at a sample rate in
// Hz. The skew is the mean of the differences, voice's channel less reference's.
// Of several knocks its uncertainty is Student's: half the 95 % interval of the
// mean (JCGM 100:2008, 4.2.3 and G.3.2) over 1.96, so that it counts as known well
// from then on; of one knock it is what picking a beginning may be off by, taken
// as a rectangle (4.3.7). The samples' own width joins it (F.2.2.1). It returns an
// error where the knocks do not agree, with the reason and what to do.
func Zero(referenceS, voiceS []float64, rateHz float64) (calib.Skew, error) {
	apart, err := zeroPairs(referenceS, voiceS)
	if err != nil {
		return calib.Skew{}, err
	}
	if low, high := slices.Min(apart), slices.Max(apart); high-low > zeroSpreadMS {
		return calib.Skew{}, i18n.Errorf("the knocks disagree: the channels hear them between %.2f and %.2f ms apart; lay the microphones side by side on one board and knock near both", low, high)
	}
	s := calib.Skew{MS: stat.Mean(apart, nil), Knocks: len(apart)}
	if math.Abs(s.MS) > zeroMostMS {
		return calib.Skew{}, i18n.Errorf("the channels are %.1f ms apart, more than one recorder makes: put both microphones on one recorder, side by side, and knock again", s.MS)
	}
	u := zeroPickMS / math.Sqrt(3)
	if n := float64(len(apart)); n > 1 {
		u = calib.Student975(n-1) / normal975 * stat.StdDev(apart, nil) / math.Sqrt(n)
	}
	s.UncertaintyMS = math.Hypot(u, 1000/rateHz/math.Sqrt(12))
	return s, nil
}

// normal975 is the 97.5 % point of the normal distribution, rounded as
// everywhere in calib.
const normal975 = 1.96

// zeroPairs returns by how many ms the second channel heard each knock later. A
// knock that only one channel heard is no knock on both.
func zeroPairs(referenceS, voiceS []float64) ([]float64, error) {
	var apart []float64
	for _, r := range referenceS {
		if d, ok := nearest(voiceS, r); ok {
			apart = append(apart, 1000*d)
		}
	}
	switch alone := max(len(referenceS), len(voiceS)) - len(apart); {
	case len(referenceS) == 0 && len(voiceS) == 0:
		return nil, i18n.Errorf("no knock was heard: lay both microphones side by side and knock once beside them")
	case len(apart) == 0:
		return nil, i18n.Errorf("no knock was heard by both channels: lay both microphones side by side on one board and knock near both")
	case alone > 0:
		return nil, i18n.Errorf("only %d of %d knocks were heard once by each channel: lay both microphones side by side and knock again, a second apart", len(apart), len(apart)+alone)
	}
	return apart, nil
}

// nearest returns how much later than t the nearest of times comes.
func nearest(times []float64, t float64) (by float64, ok bool) {
	by = math.Inf(1)
	for _, x := range times {
		if math.Abs(x-t) < math.Abs(by) {
			by = x - t
		}
	}
	return by, math.Abs(by) <= zeroNearS
}
