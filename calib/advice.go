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

// TrialSteps is the first move on a plate whose step size is not known yet.
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
	At      int     `json:"at_setting"`  // where the plate stands as far as the hits tell, steps
	Steps   int     `json:"steps"`       // to turn from At; positive = ahead, 0 = leave it
	ShiftMS float64 `json:"shift_ms"`    // whole reference periods added to the reading's lag, which cannot tell them apart
	LagMS   float64 `json:"lag_ms"`      // the reading's lag, shifted and brought to the target tempo
	StepMS  float64 `json:"step_ms"`     // what one step is worth at the target tempo; 0 = not known yet
	LimitMS float64 `json:"limit_ms"`    // the lag has to lie within ± this to be tight
	Rest    float64 `json:"residual_ms"` // the lag to expect after the move
	Do      string  `json:"do"`          // what to do, in a few words
	Why     string  `json:"why"`         // why, in a sentence or two
}

// Next returns the advice on a reading taken in the given state. It changes
// nothing: the caller records what was really moved and asks again.
func Next(s State, r Reading) Advice {
	a := Advice{At: s.Setting, LagMS: r.LagMS, LimitMS: s.tolerance()}
	if unfit(&a, r) {
		return a
	}
	point, _ := r.Point(s.Setting)
	slip := s.slip(&point, r.ReferencePeriodMS)
	a.At = point.Setting

	target := PeriodMS(s.TargetBPM)
	a.LagMS, a.ShiftMS = point.LagMS, point.LagMS-r.LagMS
	law, err := Fit(append(s.Points[:len(s.Points):len(s.Points)], point), s.Prior)
	if err != nil {
		a.trial(s, slip, r.HalfWidthMS())
		return a
	}
	a.StepMS = law.StepMS(target)
	a.LagMS += (law.OffsetBeats - law.StepBeats*float64(a.At)) * (target - point.PeriodMS)
	if !(a.StepMS > 0) {
		a.trial(s, slip, r.HalfWidthMS())
		return a
	}
	a.LimitMS = math.Max(s.tolerance(), a.StepMS/2)
	a.Steps = int(math.Round(a.LagMS / a.StepMS))
	a.Rest = a.LagMS - float64(a.Steps)*a.StepMS
	a.decide(s, slip, r)
	return a
}

// Point returns the reading the advice is on as the law sees it: at the setting
// the plate really had, with whole beats resolved. It is not ok where the
// reading cannot be used.
func (a Advice) Point(r Reading) (p Point, ok bool) {
	if a.Outcome.Again() {
		return Point{}, false
	}
	p, ok = r.Point(a.At)
	p.LagMS += a.ShiftMS
	return p, ok
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
		a.Why = fmt.Sprintf("%s of voice and reference could be used; a reading needs %d. Let the voice strike at least five times.", plural(r.Used(), "pair"), MinPairs)
	default:
		return false
	}
	return true
}

// slip is what the hits say happened to the plate since the take before.
type slip int

const (
	asTold slip = iota
	notMoved
	wrongWay
)

// slip compares the point with what earlier points let expect if the plate
// stands where it is said to stand, where it stood before, or as far on the
// other side; it moves the point to the setting that explains it and to the
// whole multiple of the reference period that lies nearest.
func (s State) slip(p *Point, referencePeriodMS float64) slip {
	if len(s.Points) == 0 {
		return asTold
	}
	last := s.Points[len(s.Points)-1]
	moved := p.Setting - last.Setting
	law, err := Fit(s.Points, s.Prior)
	if err != nil || !(law.StepBeats > 0) {
		return s.blindSlip(p, last)
	}
	type guess struct{ miss, sd, lag float64 }
	try := func(setting int) guess {
		expected, sd := law.Lag(p.PeriodMS, float64(setting))
		lag := p.LagMS
		if referencePeriodMS > 0 {
			lag += referencePeriodMS * math.Round((expected-lag)/referencePeriodMS)
		}
		return guess{math.Abs(lag - expected), math.Hypot(sd, p.SDMS), lag}
	}
	told := try(p.Setting)
	step := math.Abs(float64(moved)) * law.StepMS(p.PeriodMS)
	found, best := asTold, told
	for kind, setting := range map[slip]int{notMoved: last.Setting, wrongWay: last.Setting - moved} {
		g := try(setting)
		clear := step > 4*g.sd && told.miss > math.Max(3*told.sd, step/2) && g.miss < math.Max(3*g.sd, step/4)
		if clear && g.miss < best.miss {
			found, best = kind, g
		}
	}
	p.LagMS = best.lag
	switch found {
	case notMoved:
		p.Setting = last.Setting
	case wrongWay:
		p.Setting = last.Setting - moved
	}
	return found
}

// sameTempo is how far apart two periods may lie, as a share, for their lags to
// be compared without knowing the step size.
const sameTempo = 0.03

// blindSlip judges the last move while the step size is still unknown: only
// whether it moved the voice at all, and in which direction.
func (s State) blindSlip(p *Point, last Point) slip {
	moved := p.Setting - last.Setting
	if moved == 0 || math.Abs(p.PeriodMS/last.PeriodMS-1) > sameTempo {
		return asTold
	}
	earlier := last.LagMS - p.LagMS
	if moved < 0 {
		earlier = -earlier
	}
	switch noise := 3*math.Hypot(p.SDMS, last.SDMS) + 0.5; {
	case math.Abs(earlier) < noise:
		p.Setting = last.Setting
		return notMoved
	case earlier < 0:
		p.Setting = last.Setting - moved
		return wrongWay
	}
	return asTold
}

// trial asks for a move that teaches the step size.
func (a *Advice) trial(s State, was slip, halfWidth float64) {
	if math.Abs(a.LagMS)+halfWidth <= a.LimitMS {
		a.Outcome = Converged
		a.Do = "Tight: leave the plate"
		a.Why = fmt.Sprintf("The voice is %s, inside ±%.3g ms.", LateEarly(a.LagMS), a.LimitMS)
		a.explain(was)
		return
	}
	a.Outcome = Move
	a.Steps = TrialSteps
	if a.LagMS < 0 {
		a.Steps = -TrialSteps
	}
	a.Do = TurnWords(a.Steps)
	a.Why = fmt.Sprintf("The voice is %s at %.4g BPM. The step size is not known yet: this move teaches it.", LateEarly(a.LagMS), s.TargetBPM)
	a.explain(was)
}

// decide chooses between converged, a move, and a repeat, once the law is known.
func (a *Advice) decide(s State, was slip, r Reading) {
	halfWidth := r.HalfWidthMS()
	lag := fmt.Sprintf("The voice is %s (± %.1f) at %.4g BPM%s", LateEarly(a.LagMS), halfWidth, s.TargetBPM, a.corrected(r))
	inside := math.Abs(a.LagMS)+halfWidth <= a.LimitMS
	// On the edge between two settings a move gains next to nothing, and the
	// loop would swing to and fro for ever.
	worth := math.Max(halfWidth, a.StepMS/10)
	nearest := math.Abs(a.LagMS)-math.Abs(a.Rest) < worth && math.Abs(a.LagMS) <= a.LimitMS+worth
	switch {
	case inside, nearest && halfWidth <= a.LimitMS/2:
		a.Outcome, a.Steps, a.Rest = Converged, 0, a.LagMS
		a.Do = "Tight: leave the plate"
		a.Why = lag + fmt.Sprintf(", inside ±%.1f ms.", a.LimitMS)
		if !inside {
			a.Why = lag + fmt.Sprintf(", as near as the plate goes: one step is %.1f ms.", a.StepMS)
		}
	case halfWidth > math.Max(a.LimitMS, math.Abs(a.LagMS)/5), a.Steps == 0:
		a.Outcome, a.Steps, a.Rest = TooNoisy, 0, a.LagMS
		a.Do = "Play a longer, steadier take"
		a.Why = lag + ": too wide an interval to choose a step by. More hits narrow it."
	default:
		a.Outcome = Move
		a.Do = TurnWords(a.Steps)
		a.Why = lag + fmt.Sprintf("; one step is %.1f ms. Expect %s after the move.", a.StepMS, LateEarly(a.Rest))
	}
	a.explain(was)
}

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
