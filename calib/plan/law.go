package plan

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"lagwright/calib"
)

// Law returns the law of one voice by the likeliest hypothesis, for the plate as it is
// said to stand now: the start of the plate and a miscount that it supposes
// are in the offset.
func (m Machine) Law(voice int) calib.Law {
	h := &m.hypotheses[0]
	x := h.values(voice)
	cov := h.joint([]int{voice})
	law := calib.Law{DelayMS: x[iD], OffsetBeats: x[iA] + x[iS] - x[iF]*float64(h.offset), StepBeats: x[iF], ChiSquared: h.chi, DOF: h.seen}
	to := [3]row{{1}, {0, 1, -float64(h.offset)}, {0, 0, 1}}
	order := [iB + 1]int{2, 3, 0, 1} // D, A, f, b in the joint covariance
	for i := range 3 {
		for j := range 3 {
			for k, a := range order {
				for l, b := range order {
					law.Cov[i][j] += m.excess * to[i][k] * to[j][l] * cov.At(a, b)
				}
			}
		}
	}
	return law
}

// Lag returns the lag of a voice in ms (positive = late) with the plate at a place and
// at a beat period in ms, backlash counted, with its standard deviation in ms; by the
// likeliest hypothesis.
func (m Machine) Lag(voice int, at Place, periodMS float64) (lagMS, sdMS float64) {
	l := m.hypotheses[0].lag(voice, periodMS, at)
	return l.mean, math.Sqrt(m.excess * m.hypotheses[0].variance(&l))
}

// Cov returns the covariance of all parameters together by the likeliest hypothesis, in
// the order f in beats, backlash b in beats, then D in ms and A in beats of each
// voice, with the start in A. What is exactly known has rows of zeros.
func (m Machine) Cov() *mat.SymDense {
	all := make([]int, m.known.Voices)
	for v := range all {
		all[v] = v
	}
	cov := m.hypotheses[0].joint(all)
	cov.ScaleSym(m.excess, cov)
	return cov
}

// Open is what the takes cannot tell apart, and the take that would tell.
type Open struct {
	Voice    int     // whose delay and offset; −1 = the step of the plate, and the offsets
	TempoBPM float64 // of the take
	Setting  int     // of the take, steps
}

// A parameter is open while its uncertainty is more than this share of what was
// believed before any take, and the step while it is too uncertain to count by.
const openShare = 0.5

// Open lists what the takes cannot tell apart, with the take that would: at
// another setting for the step, at another tempo for delay and offset. The songs
// give the tempos that can be played.
func (m Machine) Open(songs []Song, from Place) []Open {
	var open []Open
	slow, fast := ends(songs)
	if law := m.Law(0); !law.StepKnown() {
		open = append(open, Open{-1, slow, from.Setting + calib.TrialSteps})
	}
	for v := range m.known.Voices {
		law := m.Law(v)
		if math.Sqrt(law.Cov[0][0]) > openShare*m.known.Prior.Delay.SD || math.Sqrt(law.Cov[1][1]) > openShare*m.known.Prior.Offset.SD {
			open = append(open, m.apart(v, slow, fast, from))
		}
	}
	return open
}

// apart is the take that tells a voice's delay and offset apart: at that end of
// the set list whose lag is known worse.
func (m Machine) apart(voice int, slow, fast float64, from Place) Open {
	o := Open{voice, slow, from.Setting}
	law, at := m.Law(voice), float64(from.Setting)
	_, sdSlow := law.Lag(calib.PeriodMS(slow), at)
	_, sdFast := law.Lag(calib.PeriodMS(fast), at)
	if sdFast > sdSlow {
		o.TempoBPM = fast
	}
	return o
}

// ends returns the slowest and fastest tempo of a set list, in BPM.
func ends(songs []Song) (slow, fast float64) {
	slow, fast = math.Inf(1), 0
	for _, s := range songs {
		slow, fast = math.Min(slow, s.TempoBPM), math.Max(fast, s.TempoBPM)
	}
	return slow, fast
}
