package plan

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"lagwright/calib"
)

// Knowledge is what is known of a machine before any take.
type Knowledge struct {
	Voices      int         // how many
	Prior       calib.Prior // the plate's step, and what delay and offset each voice may have
	ToleranceMS float64     // 0 means calib.DefaultToleranceMS
}

// usable reports whether there is a voice and every belief is a number.
func (k Knowledge) usable() bool {
	p := k.Prior
	sum := p.Delay.Mean + p.Offset.Mean + p.Step.Mean
	return k.Voices > 0 && p.Step.Mean > 0 && p.Delay.SD >= 0 && p.Offset.SD >= 0 && p.Step.SD >= 0 && p.ScatterMS >= 0 && p.CreepMS >= 0 && p.Elsewhere >= 0 && p.Elsewhere < 1 && !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// Limit returns how far in ms a lag may lie from zero where a step is worth so many ms: the
// tolerance, or half a step where the plate is coarser.
func (k Knowledge) Limit(stepMS float64) float64 {
	return math.Max(cmp.Or(k.ToleranceMS, calib.DefaultToleranceMS), math.Abs(stepMS)/2)
}

// What stands for a belief of which nothing is known, in ms and beats, and for one
// that is exactly known, in either. Wider or narrower ones would drown the other
// parameter of the voice in rounding.
const (
	vagueMS    = 1e4
	vagueBeats = 1e3
	exact      = 1e-7
)

// spread is the standard deviation of a belief as the arithmetic can hold it.
func spread(b calib.Belief, vague float64) float64 {
	return math.Max(math.Min(b.SD, vague), exact)
}

// model is what the machine as a whole may be: as told, with a plate unlike its
// numbers, turning the other way, or with backlash; each with the plate at first
// near the pins' own place or anywhere.
type model struct {
	fault  Kind
	shared shared  // parameters, before any take
	log    float64 // log of how likely it is before any take
	offset float64 // standard deviation of a voice's offset before any take, beats

	scatter float64 // variance of a lag from one take to the next, over what each states; ms²
	creep   float64 // variance by which a delay walks at random in a day; ms²
}

// models lists the models that the takes can tell of. A plate that may stand anywhere at
// first adds the same to the offset of every voice. Whole beats of that no take can tell, so
// what counts is how likely each place within one beat is: all alike.
func (k Knowledge) models(takes []Take) (all []model) {
	add := func(fault Kind, log, creepMS float64, step calib.Belief, backlashSD float64) {
		for scatter, likely := range scatters.each(k.Prior.ScatterMS) {
			for wide, share := range [...]float64{1 - oddPins, oddPins} {
				p := k.Prior.Elsewhere
				m := model{fault: fault, scatter: square(scatter), creep: square(creepMS) / creepDays, log: log + likely + math.Log(rates[fault]*share) + math.Log1p(-p)}
				m.shared = shared{x: vector{step.Mean}, d: vector{0, square(backlashSD)}}
				if step.SD > 0 {
					m.shared.d[0] = square(spread(step, vagueBeats))
				}
				m.offset = spread(k.Prior.Offset, vagueBeats) * (1 + (oddTimes-1)*float64(wide))
				all = append(all, m)
				if p > 0 {
					m.shared.d[iS-iF] = square(calib.AnywhereBeats)
					m.log += math.Log(p / (1 - p))
					all = append(all, m)
				}
			}
		}
	}
	some := func(so func(t Take) bool) bool { return slices.ContainsFunc(takes, so) }
	usual := k.Prior.CreepMS
	if some(func(t Take) bool { return t.Days > 0 }) {
		for creep, likely := range creeps.each(usual) {
			add(Fine, likely, creep, k.Prior.Step, 0)
		}
	} else {
		add(Fine, 0, usual, k.Prior.Step, 0)
	}
	if wrong := k.Prior.Step; wrong.SD == 0 {
		wrong.SD = plateCouldBe * wrong.Mean
		add(PlateWrong, 0, usual, wrong, 0)
	}
	if some(func(t Take) bool { return t.Setting != takes[0].Setting }) {
		flipped, log := k.Prior.Step, 0.0
		flipped.Mean = -flipped.Mean
		for i := range takes[1:] {
			if takes[i+1].AsTold && takes[i+1].Setting != takes[i].Setting { // that way it went, then
				log = math.Log(denied)
			}
		}
		add(Flipped, log, usual, flipped, 0)
	}
	if some(func(t Take) bool { return t.Came > 0 }) && some(func(t Take) bool { return t.Came < 0 }) {
		add(Backlash, 0, usual, k.Prior.Step, backlashSteps*k.Prior.Step.Mean)
	}
	return all
}

// oddPins is the share of machines whose offsets spread oddTimes as wide as those of the usual
// one: pins set for voices that fall from unlike heights (common practice, no published source).
const (
	oddPins  = 0.1
	oddTimes = 3
)

// spreads is a standard deviation of which a half-Cauchy law is believed: one of a
// few, each standing for all up to a limit; in ms.
type spreads struct{ ms, upTo []float64 }

// How much takes differ from one to the next, over what each states, and by how much
// delays creep in a month.
var (
	scatters = spreads{[]float64{0, 1, 2.5, 6}, []float64{0.5, 1.6, 4, math.Inf(1)}}
	creeps   = spreads{[]float64{0.2, 0.7, 2, 6}, []float64{0.4, 1, 4, math.Inf(1)}}
)

// each goes through the standard deviations with the log of how likely each is by a
// half-Cauchy law of that scale.
func (s spreads) each(scaleMS float64) iter.Seq2[float64, float64] {
	return func(yield func(ms, log float64) bool) {
		below := 0.0
		for i, to := range s.upTo {
			upTo := 2 / math.Pi * math.Atan(to/scaleMS)
			log := math.Log(upTo - below)
			if below = upTo; !math.IsInf(log, -1) && !yield(s.ms[i], log) {
				return
			}
		}
	}
}

// creepDays is the time in which creep is told: a month.
const creepDays = 30

// plateCouldBe is by which share a plate's step may differ from its numbers once
// these are wrong, as a miscounted rim or a mistaken gearing makes them.
const plateCouldBe = 1.0 / 3

// backlashSteps is the usual size of half the backlash, where there is any
// (common practice, no published source).
const backlashSteps = 1.0
