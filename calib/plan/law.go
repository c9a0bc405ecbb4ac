package plan

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"lagwright/calib"
)

// Law returns the law of one voice by the likeliest hypothesis, for the plate as it is
// said to stand now: the start of the plate and a miscount that it supposes
// are in the offset. Its covariance allows for takes that may scatter more or less.
func (m Machine) Law(voice int) (law calib.Law) {
	x, cov := m.hypotheses[0].parameters(voice), m.cov(voice)
	law.StepBeats, law.DelayMS, law.OffsetBeats = x[0].mean, x[2].mean, x[3].mean
	order := [3]int{2, 3, 0}
	for i := range order {
		for j := range order {
			law.Cov[i][j] = cov.At(order[i], order[j])
		}
	}
	return law
}

// Lag returns the lag of a voice in ms (positive = late) with the plate at a place and
// at a beat period in ms, backlash counted, by the likeliest hypothesis.
func (m Machine) Lag(voice int, at Place, periodMS float64) (lagMS float64) {
	return m.hypotheses[0].lag(voice, periodMS, at).mean
}

// LagSD returns the standard uncertainty in ms of a lag by all hypotheses together.
func (m Machine) LagSD(voice int, at Place, periodMS float64) float64 {
	var all []normal
	for i := range m.hypotheses {
		h := &m.hypotheses[i]
		l := h.lag(voice, periodMS, at)
		all = append(all, normal{l.mean, math.Sqrt(h.variance(&l))})
	}
	return m.spread(all, periodMS)
}

// Cov returns the covariance of all parameters together as Law has it, in the order f in
// beats, backlash b in beats, then D in ms and A in beats of each voice. What is exactly
// known has rows of zeros.
func (m Machine) Cov() *mat.SymDense {
	all := make([]int, m.known.Voices)
	for v := range all {
		all[v] = v
	}
	return m.cov(all...)
}

func (m *Machine) cov(voices ...int) *mat.SymDense {
	sum := mat.NewSymDense(2+2*len(voices), nil)
	for i, weight := range m.alike {
		if weight == 0 {
			continue
		}
		h := &m.hypotheses[i]
		of := h.parameters(voices...)
		for j := range of {
			for k := j; k < len(of); k++ {
				sum.SetSym(j, k, sum.At(j, k)+weight*h.cov(&of[j], &of[k]))
			}
		}
	}
	return sum
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
