package calib

import (
	"fmt"
	"math"
	"strings"
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
	Do      string  `json:"do"`            // what to do, in a few words
	Why     string  `json:"why"`           // why, in a sentence or two
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
		a.Do = "Check which microphone is which"
		a.Why = fmt.Sprintf("The voice seems %s, which does not fit the takes before; with reference and voice the other way round it would.", LateEarly(a.LagMS))
		return a
	}
	understood.add(point)
	ways, doubted, err := understood.ways()
	if err != nil {
		a.Outcome = TooNoisy
		a.Do, a.Why = "Take it again", "The law cannot be told from these takes: "+err.Error()+"."
		return a
	}
	if doubted && slip == strange {
		slip = asTold // the plate's numbers explain it
	}
	a.bring(s, r, ways)
	a.decide(s, r, slip)
	if doubted {
		a.Why += fmt.Sprintf(" "+PlateDoubt+": they give %.4g steps a beat, the takes %.4g. Check notches and turns.",
			1/s.Prior.Step.Mean, 1/ways[0].Law.StepBeats)
	}
	if BeatOpen(ways) {
		a.Why += " The voice may be a whole beat away from this: a take at another tempo tells."
	}
	return a
}

// PlateDoubt begins what is said where a plate is not what its numbers say.
const PlateDoubt = "The plate's numbers do not fit"

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
		a.Do = "Check the cable, then take it again"
		a.Why = "A microphone channel is silent or dropped out during the take. Check plugs and clips; the plate stays where it is."
	case r.Used() < MinPairs || !(r.TempoBPM > 0):
		a.Outcome = TooFewHits
		a.Do = "Play a longer take"
		a.Why = fmt.Sprintf("%s of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.", plural(r.Used(), "pair"), MinPairs)
	case r.Has(WarnDoubtful, WarnRival):
		a.Outcome = Doubtful
		a.Do = "Look at the hits, or take it again"
		a.Why = fmt.Sprintf("The voice seems %s, but the hits are in doubt, so nothing is built on it. Strike out or move the false ones, or mend what is wrong and play again.", LateEarly(r.LagMS))
	default:
		return false
	}
	return true
}

// decide chooses between converged, a move, and a repeat.
func (a *Advice) decide(s State, r Reading, was slip) {
	lag := fmt.Sprintf("The voice is %s (± %.1f) at %.4g BPM%s", LateEarly(a.LagMS), a.Half, s.TargetBPM, a.corrected(r))
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
		a.Do = fmt.Sprintf("Play nearer to %.4g BPM", s.TargetBPM)
		a.Why = lag + ": too far off the target to go by. The law learns from it all the same."
	case tight:
		a.Outcome, a.Steps, a.Rest = Converged, 0, a.LagMS
		a.Do = "Tight: leave the plate"
		a.Why = lag + fmt.Sprintf(", inside ±%.1f ms.", a.LimitMS)
		if !inside {
			a.Why = lag + fmt.Sprintf(", as near as the plate goes: one step is %.1f ms.", a.StepMS)
		}
	case a.Half > math.Max(a.LimitMS, math.Abs(a.LagMS)/5), a.Steps == 0:
		a.Outcome, a.Steps, a.Rest = TooNoisy, 0, a.LagMS
		a.Do = "Play a longer, steadier take"
		a.Why = lag + ": too wide an interval to choose a step by. More hits narrow it."
		if halfWidth := r.HalfWidthMS(); halfWidth < a.Half/2 {
			a.Do = fmt.Sprintf("Play nearer to %.4g BPM", s.TargetBPM)
			a.Why = lag + ": the law cannot tell yet what that means at the target."
		}
	case a.StepMS == 0:
		a.Outcome = Move
		a.Do = TurnWords(a.Steps)
		a.Why = lag + ". The step size is not known well yet: this move teaches it."
	default:
		a.Outcome = Move
		a.Do = TurnWords(a.Steps)
		a.Why = lag + fmt.Sprintf("; one step is %.1f ms. Expect %s after the move.", a.StepMS, LateEarly(a.Rest))
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

// corrected says what was played where that is not the target.
func (a *Advice) corrected(r Reading) string {
	played := r.LagMS + a.ShiftMS
	if math.Abs(a.LagMS-played) < worthSaying {
		return ""
	}
	return fmt.Sprintf(", from %s as played at %.1f", LateEarly(played), r.TempoBPM)
}

// explain puts what happened to the last move before the advice.
func (a *Advice) explain(was slip) {
	moves := a.Outcome.Moves()
	switch was {
	case notMoved:
		a.Why = fmt.Sprintf("The last move changed nothing: did the plate engage? It seems to stand at %s still. ", SettingWords(a.At)) + a.Why
		if moves {
			a.Outcome = NoChange
		}
	case wrongWay:
		a.Why = fmt.Sprintf("The last move went the other way: the plate seems to stand at %s. ", SettingWords(a.At)) + a.Why
		if moves {
			a.Outcome = WrongWay
		}
	case strange:
		a.Why = "This does not fit the takes before it: check voice, tempo, channels and the count of steps, and leave the take out if something was amiss. " + a.Why
	}
}

// TurnWords says a move in words: "Turn the programme 6 steps ahead".
func TurnWords(steps int) string {
	switch {
	case steps == 0:
		return "Leave the plate"
	case steps < 0:
		return "Turn the programme " + plural(-steps, "step") + " back"
	}
	return "Turn the programme " + plural(steps, "step") + " ahead"
}

// SettingWords says a setting with its sign: "+6", "0", "−2".
func SettingWords(setting int) string {
	switch {
	case setting > 0:
		return fmt.Sprintf("+%d", setting)
	case setting < 0:
		return fmt.Sprintf("−%d", -setting)
	}
	return "0"
}

// LateEarly says a lag in words: "12.3 ms late", "0.4 ms early".
func LateEarly(lagMS float64) string {
	text := fmt.Sprintf("%.1f ms", math.Abs(lagMS))
	switch {
	case strings.HasPrefix(text, "0.0 "):
		return text
	case lagMS < 0:
		return text + " early"
	}
	return text + " late"
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
