package calib

import (
	"math"
	"strings"

	"lagwright/calib/i18n"
)

// DefaultToleranceMS is the lag that passes for striking together unless the
// builder says otherwise: listeners notice one displaced beat from about 6 ms
// on (Friberg & Sundberg 1995).
const DefaultToleranceMS = 5

// TrialSteps is the largest move on a plate whose step size is not known yet.
const TrialSteps = 10

// Outcome is what a take means for the loop.
type Outcome string

// The outcomes of Next. outcomes holds what each means for the loop.
const (
	Converged    Outcome = "converged"     // the voice strikes with the reference at this tempo
	Move         Outcome = "move"          // turn the plate by Steps
	WrongWay     Outcome = "wrong-way"     // the last move went the other way
	NoChange     Outcome = "no-change"     // the last move did nothing
	TooFewHits   Outcome = "too-few-hits"  // not enough pairs to read a lag
	TooNoisy     Outcome = "too-noisy"     // the interval is too wide to act on
	CableSuspect Outcome = "cable-suspect" // a channel is dead or dropped out
	Doubtful     Outcome = "doubtful"      // the hits may not be the voice's own
)

var outcomes = map[Outcome]struct {
	Moves bool // the advice asks for the plate to be turned
	Again bool // the advice asks for another take at the same setting
}{
	Converged:    {},
	Move:         {Moves: true},
	WrongWay:     {Moves: true},
	NoChange:     {Moves: true},
	TooFewHits:   {Again: true},
	TooNoisy:     {Again: true},
	CableSuspect: {Again: true},
	Doubtful:     {Again: true},
}

// Moves reports whether the outcome asks for the plate to be turned.
func (o Outcome) Moves() bool { return outcomes[o].Moves }

// Again reports whether the outcome asks for another take at the same setting.
func (o Outcome) Again() bool { return outcomes[o].Again }

// State is where the loop stands when a reading comes in.
type State struct {
	TargetBPM   float64 // the tempo the voice is to be tight at
	ToleranceMS float64 // lag that passes for tight; 0 means DefaultToleranceMS
	Prior       Prior   // what is known of the plate
	Setting     int     // where the plate is said to stand, steps
	Points      []Point // earlier readings of the same voice, oldest first
}

// Advice is what to do after a reading.
type Advice struct {
	Outcome Outcome `json:"outcome"`
	At      int     `json:"at_setting"`    // where the plate stands as far as the hits tell, steps
	Steps   int     `json:"steps"`         // to turn from At; positive = ahead, 0 = leave it
	ShiftMS float64 `json:"shift_ms"`      // whole reference periods added to the reading's lag, which cannot tell them apart
	LagMS   float64 `json:"lag_ms"`        // the reading's lag, shifted and brought to the target tempo
	Half    float64 `json:"half_width_ms"` // half the 95 % interval of LagMS
	StepMS  float64 `json:"step_ms"`       // what one step is worth at the target tempo; 0 = not known yet
	LimitMS float64 `json:"limit_ms"`      // the lag has to lie within ± this to be tight
	Rest    float64 `json:"residual_ms"`   // the lag to expect after the move
	Do      string  `json:"do"`            // what to do, in a few words of English; see DoWords
	Why     string  `json:"why"`           // why, in a sentence or two of English; see WhyWords

	ToldDo  i18n.Told `json:"told_do,omitzero"`  // Do and Why, to be said in another language;
	ToldWhy i18n.Told `json:"told_why,omitzero"` // earlier Lagwrights kept neither

	PlateDoubt bool `json:"plate_doubt,omitempty"` // the plate is not what its numbers say
}

// Tell sets what is said of the advice.
func (a *Advice) Tell(do, why i18n.Told) {
	a.ToldDo, a.ToldWhy = do, why
	a.Do, a.Why = do.English(), why.English()
}

// DoubtsPlate reports whether the plate seems not to be what its numbers say. Of
// advice that an earlier Lagwright kept only the words tell.
func (a Advice) DoubtsPlate() bool {
	return a.PlateDoubt || a.ToldWhy.IsZero() && strings.Contains(a.Why, "The plate's numbers do not fit")
}

// DoWords says what to do in the language in use.
func (a Advice) DoWords() string { return inLanguage(a.ToldDo, a.Do) }

// WhyWords says why in the language in use.
func (a Advice) WhyWords() string { return inLanguage(a.ToldWhy, a.Why) }

// inLanguage says what was told, or else what was kept of it.
func inLanguage(t i18n.Told, kept string) string {
	if t.IsZero() {
		return kept
	}
	return t.String()
}

// Next returns the advice on a reading taken in the given state. It changes
// nothing: the caller records what was really moved and asks again.
func Next(s State, r Reading) Advice {
	a := Advice{At: s.Setting, LagMS: r.LagMS, Half: r.HalfWidthMS(), LimitMS: s.tolerance()}
	if unfit(&a, r) {
		return a
	}
	point, _ := r.Point(s.Setting)
	understood := newUnderstanding(s.Points, s.Prior)
	slip := s.slip(&point, understood)
	a.At = point.Setting
	if slip == crossed {
		a.Outcome = CableSuspect
		a.Tell(i18n.Say("Check which microphone is which"),
			i18n.Say("The voice seems %s, which does not fit the takes before; with reference and voice the other way round it would.", TellLag(a.LagMS)))
		return a
	}
	understood.add(point)
	ways, doubted, err := understood.ways()
	if err != nil {
		a.Outcome = TooNoisy
		a.Tell(i18n.Say("Take it again"), i18n.Say("The law cannot be told from these takes: %s.", err))
		return a
	}
	if doubted && slip == strange {
		slip = asTold // the plate's numbers explain it
	}
	a.bring(s, r, ways)
	a.decide(s, r, slip)
	if a.PlateDoubt = doubted; doubted {
		a.Tell(a.ToldDo, a.ToldWhy.And(i18n.Say("The plate's numbers do not fit: they give %.4g steps a beat, the takes %.4g. Check notches and turns.",
			1/s.Prior.Step.Mean, 1/ways[0].Law.StepBeats)))
	}
	if BeatOpen(ways) {
		a.Tell(a.ToldDo, a.ToldWhy.And(i18n.Say("The voice may be a whole beat away from this: a take at another tempo tells.")))
	}
	return a
}

// bring brings the lag of the last point to the target tempo by the best of the
// explanations, and works out the move. What they do not know yet, and what they
// differ in, widens the interval.
func (a *Advice) bring(s State, r Reading, ways []Explanation) {
	law, point, target := ways[0].Law, ways[0].Points[len(ways[0].Points)-1], PeriodMS(s.TargetBPM)
	off := target - point.PeriodMS
	slope, sd := slopeOf(ways, float64(a.At))
	a.ShiftMS = point.LagMS - r.LagMS
	a.LagMS = point.LagMS + slope*off
	a.Half = math.Hypot(r.HalfWidthMS(), 1.96*math.Abs(off)*sd)

	step := law.StepMS(target)
	if !law.StepKnown() {
		a.Steps = trialSteps(a.LagMS, step)
		return
	}
	a.StepMS = step
	a.LimitMS = math.Max(s.tolerance(), step/2)
	a.Steps = int(math.Round(a.LagMS / step))
	a.Rest = a.LagMS - float64(a.Steps)*step
}

// slopeOf returns by how many beats the lag grows with the period at a setting, by
// the best explanation, and how unsure that is by all with the same whole beats.
func slopeOf(ways []Explanation, at float64) (slope, sd float64) {
	var variance, chance float64
	for i, e := range ways {
		if !e.sameBeats(ways[0]) {
			continue
		}
		p, l := e.Points[0], e.Law
		own := l.OffsetBeats - l.StepBeats*at - (p.LagMS-ways[0].Points[0].LagMS)/p.PeriodMS
		if i == 0 {
			slope = own
		}
		variance += e.Chance * (math.Max(l.Cov[1][1]-2*at*l.Cov[1][2]+at*at*l.Cov[2][2], 0) + square(own-slope))
		chance += e.Chance
	}
	return slope, math.Sqrt(variance / chance)
}

// trialSteps heads for a tight voice by a step size that is a guess, far enough
// to learn from and not too far.
func trialSteps(lagMS, guessMS float64) int {
	const least = 3
	steps := float64(TrialSteps)
	if guessMS > 0 {
		steps = math.Min(math.Max(math.Round(math.Abs(lagMS)/guessMS), least), TrialSteps)
	}
	return int(math.Copysign(steps, lagMS))
}

// Point returns the reading the advice is on as the law sees it, at the setting
// the plate really had. It is not ok where the reading cannot be used.
func (a Advice) Point(r Reading) (p Point, ok bool) {
	switch a.Outcome {
	case CableSuspect, TooFewHits, Doubtful, "":
		return Point{}, false
	}
	return r.Point(a.At)
}

func (s State) tolerance() float64 {
	if s.ToleranceMS > 0 {
		return s.ToleranceMS
	}
	return DefaultToleranceMS
}

// unfit fills in the advice on a reading that cannot be acted on.
func unfit(a *Advice, r Reading) bool {
	switch {
	case r.Has(WarnDeadChannel, WarnDropOut):
		a.Outcome = CableSuspect
		a.Tell(i18n.Say("Check the cable, then take it again"),
			i18n.Say("A microphone channel is silent or dropped out during the take. Check plugs and clips; the plate stays where it is."))
	case r.Used() < MinPairs || !(r.TempoBPM > 0):
		a.Outcome = TooFewHits
		a.Tell(i18n.Say("Play a longer take"), i18n.SayN(r.Used(),
			"%d pair of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.",
			"%d pairs of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.", r.Used(), MinPairs))
	case r.Has(WarnDoubtful, WarnRival):
		a.Outcome = Doubtful
		a.Tell(i18n.Say("Look at the hits, or take it again"),
			i18n.Say("The voice seems %s, but the hits are in doubt, so nothing is built on it. Strike out or move the false ones, or mend what is wrong and play again.", TellLag(r.LagMS)))
	default:
		return false
	}
	return true
}

// decide chooses between converged, a move, and a repeat.
func (a *Advice) decide(s State, r Reading, was slip) {
	lag, nearer := a.tellAt(s, r), i18n.Say("Play nearer to %.4g BPM", s.TargetBPM)
	inside := math.Abs(a.LagMS)+a.Half <= a.LimitMS
	// On the edge between two settings a move gains next to nothing, and the
	// loop would swing to and fro for ever.
	worth := math.Max(a.Half, a.StepMS/10)
	nearest := a.StepMS > 0 && math.Abs(a.LagMS)-math.Abs(a.Rest) < worth && math.Abs(a.LagMS) <= a.LimitMS+worth
	tight := inside || nearest && a.Half <= a.LimitMS/2
	off := math.Abs(r.TempoBPM/s.TargetBPM - 1)
	switch {
	case off > farOff, tight && off > notNear:
		a.Outcome, a.Steps, a.Rest = TooNoisy, 0, a.LagMS
		a.Tell(nearer, i18n.Say("%s: too far off the target to go by. The law learns from it all the same.", lag))
	case tight:
		a.Outcome, a.Steps, a.Rest = Converged, 0, a.LagMS
		why := i18n.Say("%s, inside ±%.1f ms.", lag, a.LimitMS)
		if !inside {
			why = i18n.Say("%s, as near as the plate goes: one step is %.1f ms.", lag, a.StepMS)
		}
		a.Tell(i18n.Say("Tight: leave the plate"), why)
	case a.Half > math.Max(a.LimitMS, math.Abs(a.LagMS)/5), a.Steps == 0:
		a.Outcome, a.Steps, a.Rest = TooNoisy, 0, a.LagMS
		a.Tell(i18n.Say("Play a longer, steadier take"), i18n.Say("%s: too wide an interval to choose a step by. More hits narrow it.", lag))
		if halfWidth := r.HalfWidthMS(); halfWidth < a.Half/2 {
			a.Tell(nearer, i18n.Say("%s: the law cannot tell yet what that means at the target.", lag))
		}
	case a.StepMS == 0:
		a.Outcome = Move
		a.Tell(tellTurn(a.Steps), i18n.Say("%s. The step size is not known well yet: this move teaches it.", lag))
	default:
		a.Outcome = Move
		a.Tell(tellTurn(a.Steps), i18n.Say("%s; one step is %.1f ms. Expect %s after the move.", lag, a.StepMS, TellLag(a.Rest)))
	}
	a.explain(was)
}

// How far a tempo may be missed, as a share: beyond farOff a take answers another
// question, and beyond notNear it does not show that a voice is tight.
const (
	farOff  = 0.2
	notNear = 0.08
)

// worthSaying is a correction to the target tempo, in ms, that the words mention.
const worthSaying = 0.5

// tellAt tells the lag at the target, and what was played where that is not it.
func (a *Advice) tellAt(s State, r Reading) i18n.Told {
	played := r.LagMS + a.ShiftMS
	if math.Abs(a.LagMS-played) < worthSaying {
		return i18n.Say("The voice is %s (±\u00a0%.1f) at %.4g BPM", TellLag(a.LagMS), a.Half, s.TargetBPM)
	}
	return i18n.Say("The voice is %s (±\u00a0%.1f) at %.4g BPM, from %s as played at %.1f", TellLag(a.LagMS), a.Half, s.TargetBPM, TellLag(played), r.TempoBPM)
}

// explain puts what happened to the last move before the advice.
func (a *Advice) explain(was slip) {
	moves := a.Outcome.Moves()
	switch was {
	case notMoved:
		a.Tell(a.ToldDo, i18n.Say("The last move changed nothing: did the plate engage? It seems to stand at %s still.", SettingWords(a.At)).And(a.ToldWhy))
		if moves {
			a.Outcome = NoChange
		}
	case wrongWay:
		a.Tell(a.ToldDo, i18n.Say("The last move went the other way: the plate seems to stand at %s.", SettingWords(a.At)).And(a.ToldWhy))
		if moves {
			a.Outcome = WrongWay
		}
	case strange:
		a.Tell(a.ToldDo, i18n.Say("This does not fit the takes before it: check voice, tempo, channels and the count of steps, and leave the take out if something was amiss.").And(a.ToldWhy))
	}
}
