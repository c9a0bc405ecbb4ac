package plan

import (
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

// limit returns how far the lag may lie from zero at a beat period: the
// tolerance, or half a step where the plate is coarser; ms.
func (k Knowledge) limit(stepMS float64) float64 {
	tolerance := k.ToleranceMS
	if !(tolerance > 0) {
		tolerance = calib.DefaultToleranceMS
	}
	return math.Max(tolerance, math.Abs(stepMS)/2)
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
	fault Kind
	mean  row
	prior vector // information on the shared parameters
	free  free
	log   float64 // log of how likely it is before any take

	scatter float64 // variance of a lag from one take to the next, over what each states; ms²
	creep   float64 // variance by which a delay walks at random in a day; ms²
}

// models lists the models that the takes can tell of.
func (k Knowledge) models(takes []Take) []model {
	var all []model
	for _, m := range k.plates(takes) {
		near := m
		near.log += math.Log1p(-k.Prior.Elsewhere)
		all = append(all, near)
		if p := k.Prior.Elsewhere; p > 0 {
			all = append(all, m.elsewhere(p))
		}
	}
	return all
}

// elsewhere is a model whose plate may stand anywhere at first, which adds the same
// to the offset of every voice. Whole beats of that no take can tell, so what
// counts is how likely each place within one beat is: all alike.
func (m model) elsewhere(chance float64) model {
	const s = iS - iF
	m.free[s], m.prior[s] = true, 1/(calib.AnywhereBeats*calib.AnywhereBeats)
	m.log += math.Log(chance)
	return m
}

// plates lists the models for a plate that stands near the pins' own place at first.
func (k Knowledge) plates(takes []Take) []model {
	all := k.scattering(slices.ContainsFunc(takes, func(t Take) bool { return t.Days > 0 }))
	if k.Prior.Step.SD == 0 {
		wrong := k.Prior.Step
		wrong.SD = plateCouldBe * wrong.Mean
		all = append(all, k.model(PlateWrong, wrong, 0))
	}
	if !moved(takes) {
		return all
	}
	flipped := k.Prior.Step
	flipped.Mean = -flipped.Mean
	all = append(all, k.model(Flipped, flipped, 0))
	if bothSides(takes) {
		all = append(all, k.model(Backlash, k.Prior.Step, backlashSteps*k.Prior.Step.Mean))
	}
	return all
}

// spreads is a standard deviation of which a half-Cauchy law is believed: one of a
// few, each standing for all up to a limit; in ms.
type spreads struct{ ms, upTo []float64 }

// How much takes differ from one to the next, over what each states, and by how much
// delays creep in a month.
var (
	scatters = spreads{[]float64{0, 1, 2.5, 6}, []float64{0.5, 1.6, 4, math.Inf(1)}}
	creeps   = spreads{[]float64{0.6, 2, 6}, []float64{1, 4, math.Inf(1)}}
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

// scattering lists the models of a machine as told, by how much its takes scatter and,
// where it stood for days between them, by how much it creeps.
func (k Knowledge) scattering(stood bool) (all []model) {
	for scatter, likely := range scatters.each(k.Prior.ScatterMS) {
		m := k.model(Fine, k.Prior.Step, 0)
		m.scatter, m.log = square(scatter), likely
		if !stood {
			all = append(all, m)
			continue
		}
		for creep, likely := range creeps.each(k.Prior.CreepMS) {
			n := m
			n.creep, n.log = square(creep)/creepDays, m.log+likely
			all = append(all, n)
		}
	}
	return all
}

// creepDays is the time in which creep is told: a month.
const creepDays = 30

// plateCouldBe is by which share a plate's step may differ from its numbers once
// these are wrong, as a miscounted rim or a mistaken gearing makes them.
const plateCouldBe = 1.0 / 3

// backlashSteps is the usual size of half the backlash, where there is any
// (common practice, no published source).
const backlashSteps = 1.0

func (k Knowledge) model(fault Kind, step calib.Belief, backlashSD float64) model {
	m := model{fault: fault, creep: square(k.Prior.CreepMS) / creepDays, mean: row{k.Prior.Delay.Mean, k.Prior.Offset.Mean, step.Mean}, log: math.Log(rates[fault])}
	m.free = free{step.SD > 0, backlashSD > 0}
	for i, sd := range [2]float64{spread(step, vagueBeats), backlashSD} {
		if m.free[i] {
			m.prior[i] = 1 / (sd * sd)
		}
	}
	return m
}

// voice is a block that knows only what is believed before any take.
func (k Knowledge) voice() (b block) {
	for i, belief := range [2]calib.Belief{k.Prior.Delay, k.Prior.Offset} {
		sd := spread(belief, [2]float64{vagueMS, vagueBeats}[i])
		b.info[i][i] = 1 / (sd * sd)
	}
	b.solve()
	return b
}

// moved reports whether the takes are at more than one setting.
func moved(takes []Take) bool {
	for _, t := range takes {
		if t.Setting != takes[0].Setting {
			return true
		}
	}
	return false
}

// bothSides reports whether the takes approached their settings from both sides.
func bothSides(takes []Take) bool {
	var ahead, back bool
	for _, t := range takes {
		ahead, back = ahead || t.Came > 0, back || t.Came < 0
	}
	return ahead && back
}
