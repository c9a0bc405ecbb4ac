package plan

import (
	"fmt"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Finding is a mistake that the takes show.
type Finding struct {
	Kind   Kind
	Take   int     // index of the first take it concerns; −1 where it concerns all
	Voice  int     // −1 = all
	Of     int     // the voice whose lag it is, of a WrongVoice
	Steps  int     // by which the plate then stands further ahead than told
	Beats  float64 // backlash: half the play; plate-wrong: the step as the takes have it
	Chance float64 // by all hypotheses together
	Words  string  // what is seen
	Do     string  // what to do
}

// OtherWay reports whether by the mistake the plate was turned the other way than told: where
// it is in doubt, so is which way to turn now.
func (k Kind) OtherWay() bool { return k == WrongWay || k == Flipped }

// Findings lists the mistakes that the likeliest hypothesis supposes, the oldest take
// first: what the Posterior goes by is said, be it likelier than not or only than any other.
// Hypotheses are compared by their evidence, so a mistake has to explain more than
// its rarity costs. Nothing is changed: that is for the builder to decide.
func (m Posterior) Findings() (found []Finding) {
	best := &m.hypotheses[0]
	for f := range best.all() {
		if one := m.finding(best, f); !m.empty(one) {
			found = append(found, one)
		}
	}
	slices.Reverse(found)
	return found
}

// Doubt returns the likeliest move that may have been made and not told, where the likeliest
// hypothesis has the plate where it was told to be; nil while that is too unlikely to ask the builder.
func (m *Posterior) Doubt() *Finding {
	made := func(h *hypothesis) bool { return h.offset != 0 && h.faults.kind == NotTold }
	if m.ahead != 0 || m.probability(made) < worthAsking {
		return nil
	}
	h := &m.hypotheses[slices.IndexFunc(m.hypotheses, func(h hypothesis) bool { return made(&h) })]
	found := m.finding(h, h.faults)
	return &found
}

// worthAsking is how likely a move has to be that was not told for the builder to be asked: he
// knows, and his answer costs less than a take.
const worthAsking = 0.1

// suspect returns the last mistake that another hypothesis supposes and the
// likeliest does not, or else the other way round; nil where they differ in none.
func (m *Posterior) suspect(other *hypothesis) *Finding {
	best := &m.hypotheses[0]
	for _, pair := range [][2]*hypothesis{{other, best}, {best, other}} {
		for f := range pair[0].all() {
			if found := m.finding(pair[0], f); !pair[1].supposes(f) && !m.empty(found) {
				return &found
			}
		}
	}
	return nil
}

// empty reports whether a finding says nothing: of a plate, that its step is by the takes what
// its numbers say, as far as the words have digits.
func (m *Posterior) empty(f Finding) bool {
	digits := func(beats float64) string { return fmt.Sprintf("%.4g", 1/beats) }
	return f.Kind == PlateWrong && digits(f.Beats) == digits(m.known.Prior.Step.Mean)
}

// finding is a fault that a hypothesis supposes.
func (m *Posterior) finding(of *hypothesis, f *fault) Finding {
	out := Finding{Kind: f.kind, Take: f.take, Voice: f.voice, Of: f.of, Steps: f.steps}
	out.Chance = m.probability(func(h *hypothesis) bool { return h.supposes(f) })
	m.say(&out, of, f.told, f.since(-1))
	return out
}

// say puts a finding of a hypothesis in words. Before it so many steps were told, and with it
// the plate stood so many steps further ahead than told.
func (m *Posterior) say(f *Finding, of *hypothesis, told, stood int) {
	take := i18n.L("the first take")
	if f.Take >= 0 {
		take = i18n.F("take %d", m.takes[f.Take].ID)
	}
	switch f.Kind {
	case Miscounted:
		f.Words = i18n.F("The move before %s looks like %s, not %s.", take, steps(told+f.Steps), steps(told))
		f.Do = i18n.F("Stop the crank, wait for rest, then count the notches. If it was so, the plate stood at %s.", calib.SettingWords(m.takes[f.Take].Setting+stood))
	case NotTold:
		f.Words = i18n.Turn(f.Steps, "The plate was turned %d step ahead before %s, and no move was entered.", "The plate was turned %d steps ahead before %s, and no move was entered.",
			"The plate was turned %d step back before %s, and no move was entered.", "The plate was turned %d steps back before %s, and no move was entered.", take)
		if m.takes[f.Take].Advised == f.Steps {
			f.Words = i18n.Way(f.Steps, "Did you turn the plate %d ahead and not press Turned?", "Did you turn the plate %d back and not press Turned?")
		}
		f.Do = i18n.F("If it was so, the plate stood at %s.", calib.SettingWords(m.takes[f.Take].Setting+stood))
	case WrongVoice:
		f.Words = i18n.F("The lag of %s is that of another voice.", take)
		f.Do = i18n.L("Stop the crank, wait for rest, then see which voice the microphone hears. Leave the take out or play it again.")
	case Crossed:
		f.Words = i18n.F("In %s the lag fits if reference and voice are swapped.", take)
		f.Do = i18n.L("Stop the crank, wait for rest, then check which microphone is which.")
	case NotMoved:
		f.Words = i18n.F("The move before %s changed nothing: did the plate engage?", take)
		f.Do = i18n.L("Stop the crank, wait for rest, then see whether the plate is engaged. If it was not, the setting is the one before.")
	case WrongWay:
		f.Words = i18n.F("The move before %s went the other way.", take)
		f.Do = i18n.F("Stop the crank, wait for rest, then check the sense of turning. If it was so, the plate stood at %s.", calib.SettingWords(m.takes[f.Take].Setting+stood))
	case Bad:
		f.Words = i18n.F("Take %d disagrees with the others.", m.takes[max(f.Take, 0)].ID)
		f.Do = i18n.L("Look at its hits. Stop the crank, wait for rest, then look at cable and voice. Leave the take out or play it again.")
	case FallChanged:
		f.Words = i18n.F("From %s on the voice's delay has changed.", take)
		f.Do = i18n.L("Stop the crank, wait for rest, then check gate and drop of this voice. If they were changed, takes before count for its offset alone.")
	case PinMoved:
		f.Words = i18n.F("From %s on the voice's offset has changed.", take)
		f.Do = i18n.L("Stop the crank, wait for rest, then check the pins of this voice. If they were moved, takes before count for its delay alone.")
	case PlateWrong:
		f.Beats = of.step()
		given, seen := 1/m.known.Prior.Step.Mean, 1/f.Beats
		if math.Abs(seen-given) >= 2 { // which numbers they are shows in whole steps
			seen = math.Round(seen)
		}
		f.Words = i18n.F("The plate's numbers do not fit: they give %.4g steps a beat, the takes about %.4g.", given, seen)
		f.Do = i18n.L("Stop the crank, wait for rest, then count the plate's notches and turns.")
	case Flipped:
		f.Words = i18n.L("Every move goes the other way: a step entered as ahead turns the plate back.")
		f.Do = i18n.L("Stop the crank, wait for rest, then see which way of turning makes the voice earlier. Enter turns that way as ahead, later ones too.")
	case Backlash:
		f.Beats = of.shared.x[iB-iF]
		f.Words = i18n.F("A setting reached from behind and from ahead differs by %.1f steps.", math.Abs(2*f.Beats/of.step()))
		f.Do = i18n.L("Stop the crank, wait for rest, then approach the setting from the same side each time: go past it and come back. (Common practice of machinists, no published source.)")
	}
}

// steps says a move in words.
func steps(n int) string {
	n = max(n, -n)
	return i18n.N(n, "%d step", "%d steps", n)
}
