package plan

import (
	"testing"

	"lagwright/calib"
	"lagwright/internal/i18ntest"
	"lagwright/internal/must"
)

// Every kind of finding, song and error is a phrase.
func TestPlansAreTold(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	m := must.Get(Fit(oneVoice.known(calib.Belief{Mean: oneVoice.step}), oneVoice.machine(someTempos, someSettings)))(t)
	for _, kind := range []Kind{Bad, WrongVoice, Crossed, Miscounted, NotMoved, NotTold, WrongWay, FallChanged, PinMoved, PlateWrong, Flipped, Backlash} {
		for _, take := range []int{-1, 2} {
			if take < 0 && (kind == Miscounted || kind == WrongWay || kind == NotTold) {
				continue
			}
			f := Finding{Kind: kind, Take: take, Steps: 1}
			m.say(&f, &m.hypotheses[0], 2, 1)
			texts = append(texts, f.Words, f.Do)
		}
	}
	for _, s := range []Setting{
		{Enough: true, Chance: 1}, {Enough: true}, {Hopeless: true}, {LimitMS: 5}, {LimitMS: 50, Near: 1}, {LimitMS: 50}, {LimitMS: 50, Chance: 0.5},
	} {
		s.Parts = []Residual{{LagMS: 4, SDMS: 6}}
		texts = append(texts, s.Why("Reel", trio))
		s.Parts = append(s.Parts, Residual{Voice: 1, LagMS: 5, SDMS: 6})
		texts = append(texts, s.Why("Reel", trio))
	}
	p := m.Plan([]Song{{TempoBPM: 60}, {TempoBPM: 160}}, Situation{})
	for _, s := range p.Songs {
		texts = append(texts, s.Why("Reel", trio))
	}
	few := must.Get(Fit(oneVoice.known(calib.Belief{Mean: oneVoice.step, SD: oneVoice.step / 10}), oneVoice.machine(someTempos[:1], someSettings[:1])))(t)
	if next := few.Plan([]Song{{TempoBPM: 150}}, Situation{}).Next; next == nil {
		t.Error("one take leaves nothing to ask for")
	} else {
		texts = append(texts, next.Why)
	}
	_, half := halfHeard(t)
	for _, all := range []bool{false, true} {
		p := half.Plan([]Song{{TempoBPM: 100}}, Situation{All: all})
		texts = append(texts, p.Songs[0].Why("Reel", trio), p.Next.Why)
	}
	i18ntest.All(t, append(texts, ErrNothingKnown.Error(), ErrBadTake.Error()), trio...)
}

// trio are names of voices.
var trio = []string{"drum", "block", "bar"}
