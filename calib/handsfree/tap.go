package handsfree

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Moment is the peak of every channel over a short time, a hundredth of a second
// or so; moments follow each other without gaps.
type Moment struct {
	AtS   float64   // when it began, s
	Peaks []float64 // of every channel, channel 1 first
}

// Tap is one tap on a microphone as the channels heard it.
type Tap struct {
	AtS     float64
	Channel int    // tapped, from 1; 0 where it cannot be told
	Text    string // what to do, where Channel is 0
}

const (
	tapRises    = 10.0 // times what the channel carries otherwise; fingers do more (common practice, no published source)
	tapLeastDB  = -50  // dBFS, softer ones were somebody walking by
	tapLastsS   = 0.05 // in which a tap reaches its peak in every channel
	tapNextS    = 0.3  // nobody taps faster on purpose
	tapClearDB  = 6    // louder than the next channel, so that it was this one
	tapSameTime = 1    // moments; a tap that starts elsewhere sooner than this is not told by time
)

// Taps finds the taps in moments: which microphone was tapped and when. The tap
// is loudest, and first, in its own channel; where the two disagree, or no channel
// is clearly the loudest, the channel is 0 and Text says what to do.
func Taps(moments []Moment) []Tap {
	if len(moments) == 0 {
		return nil
	}
	limit := tapLimits(moments)
	var taps []Tap
	for i := 0; i < len(moments); i++ {
		if floats.EqualFunc(moments[i].Peaks, limit, func(p, l float64) bool { return p <= l }) {
			continue
		}
		at, end := moments[i].AtS, i
		for end < len(moments) && moments[end].AtS < at+tapLastsS {
			end++
		}
		taps = append(taps, tapOf(moments[i:end], limit))
		for i+1 < len(moments) && moments[i+1].AtS < at+tapNextS {
			i++
		}
	}
	return taps
}

// tapLimits returns what each channel has to reach for a tap.
func tapLimits(moments []Moment) []float64 {
	limit := make([]float64, len(moments[0].Peaks))
	least := math.Pow(10, tapLeastDB/20.0)
	for c := range limit {
		peaks := make([]float64, len(moments))
		for i, m := range moments {
			peaks[i] = m.Peaks[c]
		}
		slices.Sort(peaks)
		limit[c] = math.Max(tapRises*peaks[len(peaks)/2], least)
	}
	return limit
}

// tapOf judges one tap.
func tapOf(moments []Moment, limit []float64) Tap {
	peak, first := make([]float64, len(limit)), make([]int, len(limit))
	for c := range limit {
		first[c] = len(moments)
		for i, m := range moments {
			peak[c] = math.Max(peak[c], m.Peaks[c])
			if m.Peaks[c] > limit[c] {
				first[c] = min(first[c], i)
			}
		}
	}
	loudest := floats.MaxIdx(peak)
	next, earliest := 0.0, first[loudest]
	for c, p := range peak {
		if c != loudest {
			next, earliest = math.Max(next, p), min(earliest, first[c])
		}
	}
	t := Tap{AtS: moments[0].AtS, Channel: loudest + 1}
	switch {
	case PeakDBFS(peak[loudest])-PeakDBFS(next) < tapClearDB:
		t.Channel, t.Text = 0, i18n.L("More than one channel heard that tap equally: with the crank at rest, tap the microphone itself, more softly.")
	case first[loudest]-earliest > tapSameTime:
		t.Channel, t.Text = 0, i18n.L("Another channel heard that tap first: wait a moment, then, with the crank at rest, tap the microphone itself.")
	}
	return t
}

// Roles returns which channel each of the microphones is on, from taps in the
// order in which they were asked for: the reference first, then the voices. Taps
// that could not be told, and further taps on a microphone already known, do not
// count. It returns an error that says what is missing.
func Roles(taps []Tap, microphones int) ([]int, error) {
	var channels []int
	for _, t := range taps {
		if t.Channel > 0 && !slices.Contains(channels, t.Channel) && len(channels) < microphones {
			channels = append(channels, t.Channel)
		}
	}
	switch n := len(channels); {
	case n == microphones:
		return channels, nil
	case n == 0:
		return nil, i18n.Errorf("no tap was heard yet: stop the crank, wait for rest, then tap the reference's microphone with a fingertip")
	default:
		return nil, i18n.Errorf("%d of %d microphones were heard: with the crank at rest, tap the next one with a fingertip", n, microphones)
	}
}

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
		return calib.Skew{}, i18n.Errorf("the knocks disagree: the channels hear them between %.2f and %.2f ms apart; stop the crank, wait for rest, then lay the microphones side by side on one board and knock near both", low, high)
	}
	s := calib.Skew{MS: stat.Mean(apart, nil), Knocks: len(apart)}
	if math.Abs(s.MS) > zeroMostMS {
		return calib.Skew{}, i18n.Errorf("the channels are %.1f ms apart, more than one recorder makes: stop the crank, wait for rest, then put both microphones on one recorder, side by side, and knock again", s.MS)
	}
	u := zeroPickMS / math.Sqrt(3)
	if n := float64(len(apart)); n > 1 {
		u = calib.Student975(n-1) / calib.Half95 * stat.StdDev(apart, nil) / math.Sqrt(n)
	}
	s.UncertaintyMS = math.Hypot(u, 1000/rateHz/math.Sqrt(12))
	return s, nil
}

// zeroPairs returns by how many ms the second channel heard each knock later. A
// knock that only one channel heard is no knock on both.
func zeroPairs(referenceS, voiceS []float64) ([]float64, error) {
	var apart []float64
	for _, r := range referenceS {
		if v, ok := calib.Nearest(voiceS, r); ok && math.Abs(v-r) <= zeroNearS {
			apart = append(apart, 1000*(v-r))
		}
	}
	switch alone := max(len(referenceS), len(voiceS)) - len(apart); {
	case len(referenceS) == 0 && len(voiceS) == 0:
		return nil, i18n.Errorf("no knock was heard: stop the crank, wait for rest, then lay both microphones side by side and knock once beside them")
	case len(apart) == 0:
		return nil, i18n.Errorf("no knock was heard by both channels: stop the crank, wait for rest, then lay both microphones side by side on one board and knock near both")
	case alone > 0:
		return nil, i18n.Errorf("only %d of %d knocks were heard once by each channel: stop the crank, wait for rest, then lay both microphones side by side and knock again, a second apart", len(apart), len(apart)+alone)
	}
	return apart, nil
}
