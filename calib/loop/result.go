package loop

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// Outcome is what a take means for the loop.
type Outcome string

// The outcomes of a take, for one of its voices.
const (
	Converged    Outcome = "converged"     // the voice strikes with the reference at the take's target
	Move         Outcome = "move"          // turn the plate by Steps
	TooFewHits   Outcome = "too-few-hits"  // not enough pairs to read a lag
	TooNoisy     Outcome = "too-noisy"     // the interval is too wide to act on
	TooFar       Outcome = "too-far"       // played too far from the target's tempo to go by
	CableSuspect Outcome = "cable-suspect" // a channel is dead or dropped out
	Doubtful     Outcome = "doubtful"      // the hits may not be the voice's own
	Disagrees    Outcome = "disagrees"     // the take fits nothing that the others say
)

// Again reports whether the outcome asks for another take at the same setting.
func (o Outcome) Again() bool { return o != Move && o != Converged }

// HandsOn reports whether somebody reaches into the machine for what the outcome asks.
func (o Outcome) HandsOn() bool {
	return o == Move || o == CableSuspect || o == Doubtful || o == Disagrees
}

// Read reports whether the take counts towards the law.
func (o Outcome) Read() bool {
	switch o {
	case TooFewHits, CableSuspect, Doubtful, Disagrees:
		return false
	}
	return true
}

// Result is what one take says of one voice, by all that is known now.
type Result struct {
	Take          *machine.Take // to be read only
	machine.Heard               // voice, channel, reading and hits
	Setting       int           // where the plate stood as far as the takes tell, steps
	Told          int           // where it stood as the moves were told

	Outcome Outcome
	Steps   int     // to turn from Setting; positive = ahead, 0 = leave it
	ShiftMS float64 // whole reference periods added to the reading's lag, which cannot tell them apart
	LagMS   float64 // the reading's lag, shifted and brought to the target tempo; positive = late
	HalfMS  float64 // half the 95 % interval of LagMS
	StepMS  float64 // what one step is worth at the target tempo; 0 = not known yet
	LimitMS float64 // the lag has to lie within ± this to be tight
	RestMS  float64 // the lag to expect after the move
	Do      string  // what to do, in a few words
	Why     string  // why, in a sentence or two
	Unfit   string  // why the reading tells nothing of the voice, in a sentence; empty where it does

	played calib.Point // the reading at the tempo nearest to the target's that was played, shifted
}

// say sets the outcome with its words.
func (r *Result) say(o Outcome, do, why string) { r.Outcome, r.Do, r.Why = o, do, why }

// TightSetting is a setting at which voice and reference were found to strike together.
type TightSetting struct {
	Target  machine.Target
	Setting int     // steps, positive = ahead
	LagMS   float64 // what is left of the lag at the target tempo by all takes; positive = late
	HalfMS  float64 // half the 95 % interval of LagMS
	TakeID  int     // the take that found it
}

// settled returns the setting of every target that has one. The latest take at a
// target that could be read decides: one that asks for a move elsewhere takes it off the list.
func (v *View) settled() []TightSetting {
	latest := map[machine.Target]TightSetting{}
	for i, results := range v.Results {
		for _, r := range results {
			target := r.Target()
			switch {
			case r.Take.LeftOut:
			case r.Outcome == Converged:
				one := TightSetting{target, r.Setting, r.LagMS, r.HalfMS, r.Take.ID}
				if v.heard(r.Voice) {
					n, period := v.fit.voice(r.Voice), calib.PeriodMS(target.TempoBPM)
					lag, sd := v.fit.machine.Expect(n, v.fit.places[i], period)
					one.LagMS, one.HalfMS = lag, sureSDs*sd
				}
				latest[target] = one
			case r.Outcome == Move && r.Setting+r.Steps != latest[target].Setting:
				delete(latest, target)
			}
		}
	}
	all := make([]TightSetting, 0, len(latest))
	for _, one := range latest {
		all = append(all, one)
	}
	slices.SortFunc(all, func(a, b TightSetting) int {
		return cmp.Or(cmp.Compare(a.Target.Voice, b.Target.Voice), cmp.Compare(a.Target.TempoBPM, b.Target.TempoBPM), cmp.Compare(a.Target.Song, b.Target.Song))
	})
	return all
}

// Target returns what the take aimed at, with this voice in the place of the one that
// the loop aimed at.
func (r Result) Target() machine.Target {
	t := r.Take.Target
	t.Voice = r.Voice
	return t
}

// results returns what a take of the machine says of each of its voices.
func (v *View) results(take int) []Result {
	t := &v.Machine.Takes[take]
	all, told := make([]Result, len(t.Heard)), v.Machine.SettingAt(take)
	for i, h := range t.Heard {
		r := &all[i]
		*r = Result{Take: t, Heard: h, Setting: v.fit.places[take].Setting, Told: told, LagMS: h.Reading.LagMS, HalfMS: h.Reading.HalfWidthMS(), LimitMS: v.toleranceMS()}
		if u, unfit := unfitFor(h.Reading); unfit {
			r.say(u.outcome, u.do, u.why)
			r.Unfit = u.because
			continue
		}
		if v.Err != nil {
			r.say(Disagrees, i18n.L("Play again"), v.Err.Error())
			continue
		}
		v.judge(r, take)
	}
	return all
}

func (v *View) toleranceMS() float64 {
	if v.Machine.ToleranceMS > 0 {
		return v.Machine.ToleranceMS
	}
	return calib.DefaultToleranceMS
}

// unfit is why a reading cannot be acted on.
type unfit struct {
	outcome Outcome
	do, why string
	because string // the same as its warning says it
}

// unfitFor returns why a reading by itself cannot be acted on, where it cannot.
func unfitFor(r calib.Reading) (u unfit, is bool) {
	switch {
	case u.warned(r, calib.WarnDeadChannel, calib.WarnDropOut):
		u.outcome, u.do = CableSuspect, i18n.L("Stop the crank, then check the cable")
		u.why = i18n.L("A microphone channel is silent or dropped out during the take. Stop the crank, wait for rest, then check plugs and clips. The plate stays where it is.")
	case u.warned(r, calib.WarnSwapped):
		u.outcome, u.do = Doubtful, i18n.L("Check which microphone is which")
		u.why = u.because + " " + i18n.L("Until then nothing is built on this take, and the plate stays where it is.")
	case r.Used() < calib.MinPairs || !(r.TempoBPM > 0):
		u.outcome, u.do = TooFewHits, i18n.L("Play a longer take")
		u.why = i18n.N(r.Used(),
			"%d pair of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.",
			"%d pairs of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.", r.Used(), calib.MinPairs)
		u.because = u.why
	case u.warned(r, calib.WarnDoubtful, calib.WarnRival):
		u.outcome, u.do = Doubtful, i18n.L("Look at the hits, or play again")
		u.why = i18n.F("The voice seems %s, but the hits are in doubt, so nothing is built on it. Strike out or move the false ones. Or stop the crank, wait for rest, then put right what is wrong and play again.", calib.Seems(r.LagMS))
	default:
		return u, false
	}
	return u, true
}

// warned reports whether a reading carries a warning with one of the codes, and keeps what
// the first of them says.
func (u *unfit) warned(r calib.Reading, codes ...string) bool {
	i := slices.IndexFunc(r.Warnings, func(w calib.Warning) bool { return slices.Contains(codes, w.Code) })
	if i >= 0 {
		u.because = r.Warnings[i].Sentence()
	}
	return i >= 0
}

// How far a tempo may be missed, as a share: beyond farOff a take answers another
// question, and beyond notNear it does not show that a voice is tight.
const (
	farOff  = 0.2
	notNear = 0.08
)

// worthSaying is a correction to the target tempo, in ms, that the words mention.
const worthSaying = 0.5

// sureSDs is half a 95 % interval in standard deviations.
const sureSDs = 1.96

// judge says what a reading means by the law of all takes.
func (v *View) judge(r *Result, take int) {
	voice := v.fit.voice(r.Voice)
	if voice < 0 {
		r.say(Disagrees, i18n.L("Play again"), i18n.F("The machine has no voice called %s.", r.Voice))
		return
	}
	target := calib.PeriodMS(r.Take.Target.TempoBPM)
	r.played, _ = r.Reading.Point(r.Take.Target.TempoBPM)
	here := v.fit.machine.Lag(voice, v.fit.places[take], r.played.PeriodMS)
	there := v.fit.machine.Lag(voice, v.fit.places[take], target)
	if r.played.WrapMS > 0 {
		hits := math.Round((here - r.played.LagMS) / r.played.WrapMS)
		r.ShiftMS = hits * r.Reading.ReferencePeriodMS
		r.played.LagMS += hits * r.played.WrapMS
	}
	off := target - r.played.PeriodMS
	r.LagMS = r.played.LagMS + there - here
	r.HalfMS = math.Hypot(r.played.HalfMS, sureSDs*math.Abs(off)*v.fit.machine.SlopeSD(voice, v.fit.places[take]))
	if lag, sd := v.fit.machine.Expect(voice, v.fit.places[take], target); math.Abs(off) > notNear*target && sureSDs*sd > r.HalfMS {
		r.LagMS, r.HalfMS = lag, sureSDs*sd // that far off it counts that another beat may have been heard
	}
	step := v.fit.step.Mean * target
	if !v.StepKnown {
		r.Steps = trialSteps(r.LagMS, step)
	} else {
		r.StepMS, r.LimitMS = step, math.Max(r.LimitMS, step/2)
		r.Steps = int(math.Round(r.LagMS / step))
		r.RestMS = r.LagMS - float64(r.Steps)*step
	}
	if aside, _ := v.fit.verdict(take, voice); aside != plan.Fine {
		do := i18n.L("Look at the hits, or play again")
		far := r.farWords()
		if far != "" {
			do = r.nearer()
		}
		r.say(Disagrees, do, far+i18n.F("Take %d disagrees with the others, so nothing is built on it: the %s seems %s. Stop the crank, wait for rest, then see whether plate, drop, pins, cable or microphone have moved.", r.Take.ID, r.Voice, calib.Seems(r.LagMS)))
		return
	}
	r.decide()
}

// missed returns by which share of the target tempo the nearest that was played misses it.
func (r *Result) missed() float64 {
	return math.Abs(calib.TempoBPM(r.played.PeriodMS)/r.Take.Target.TempoBPM - 1)
}

// nearer asks for a take nearer to the target tempo.
func (r *Result) nearer() string { return i18n.F("Play nearer to %.4g BPM", r.Take.Target.TempoBPM) }

// farWords says that the take was played far from its target tempo, which comes before all
// else that may be wrong with it, and ends in a space; empty where it was not.
func (r *Result) farWords() string {
	if r.missed() <= farOff {
		return ""
	}
	return i18n.F("Take %d was played at %.1f BPM instead of %.4g: play nearer to that first.", r.Take.ID, calib.TempoBPM(r.played.PeriodMS), r.Take.Target.TempoBPM) + " "
}

// trialSteps heads for a tight voice by a step size that is a guess.
func trialSteps(lagMS, guessMS float64) int {
	const least = 3
	steps := float64(calib.TrialSteps)
	if guessMS > 0 {
		steps = math.Min(math.Max(math.Round(math.Abs(lagMS)/guessMS), least), calib.TrialSteps)
	}
	return int(math.Copysign(steps, lagMS))
}

// decide chooses between converged, a move, and a take again.
func (r *Result) decide() {
	lag, nearer := r.atTarget(), r.nearer()
	inside := math.Abs(r.LagMS)+r.HalfMS <= r.LimitMS
	// On the edge between two settings a move gains next to nothing, and the
	// loop would swing to and fro for ever.
	worth := plan.WorthMS(r.StepMS, r.HalfMS)
	nearest := r.StepMS > 0 && math.Abs(r.LagMS)-math.Abs(r.RestMS) < worth && math.Abs(r.LagMS) <= r.LimitMS+worth
	tight := inside || nearest && r.HalfMS <= r.LimitMS/2
	off := r.missed()
	stay := func(o Outcome, do, why string) {
		r.Steps, r.RestMS = 0, r.LagMS
		r.say(o, do, why)
	}
	switch {
	case off > farOff, tight && off > notNear:
		stay(TooFar, nearer, i18n.F("%s: too far from the target tempo to turn by. The law still learns from it.", lag))
	case inside:
		stay(Converged, i18n.L("Tight: leave the plate"), i18n.F("%s, inside ±%.1f ms.", lag, r.LimitMS))
	case tight:
		stay(Converged, i18n.L("Tight: leave the plate"), i18n.F("%s, as near as the plate goes: one step is %.1f ms.", lag, r.StepMS))
	case r.HalfMS > math.Max(r.LimitMS, math.Abs(r.LagMS)/5) && r.played.HalfMS < r.HalfMS/2:
		stay(TooFar, nearer, i18n.F("%s: the law cannot tell yet what that means at the target tempo.", lag))
	case r.HalfMS > math.Max(r.LimitMS, math.Abs(r.LagMS)/5), r.Steps == 0:
		stay(TooNoisy, i18n.L("Play a longer, steadier take"), i18n.F("%s: the interval is too wide to choose a step. More hits will narrow it.", lag))
	case r.StepMS == 0:
		r.say(Move, calib.TurnWords(r.Steps), i18n.F("%s. The step size is not known well yet: this move teaches it.", lag))
	default:
		r.say(Move, calib.TurnWords(r.Steps), i18n.F("%s; one step is %.1f ms. Expect %s after the move.", lag, r.StepMS, calib.LateEarly(r.RestMS)))
	}
}

// atTarget says the lag at the target, and what was played where that is not it.
func (r *Result) atTarget() string {
	target := r.Take.Target.TempoBPM
	if math.Abs(r.LagMS-r.played.LagMS) < worthSaying {
		return i18n.F("The %s is %s (±\u00a0%.1f) at %.4g BPM", r.Voice, calib.LateEarly(r.LagMS), r.HalfMS, target)
	}
	return i18n.F("The %s is %s (±\u00a0%.1f) at %.4g BPM (as played, at %.1f BPM: %s)", r.Voice, calib.LateEarly(r.LagMS), r.HalfMS, target, calib.TempoBPM(r.played.PeriodMS), calib.LateEarly(r.played.LagMS))
}
