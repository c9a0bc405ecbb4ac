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
	Take           *machine.Take // to be read only, as what was heard in it is
	*machine.Heard               // voice, channel, reading and hits
	Setting        int           // where the plate stood as far as the takes tell, steps
	Told           int           // where it stood as the moves were told

	Outcome Outcome
	Steps   int     // to turn from Setting; positive = ahead, 0 = leave it
	ShiftMS float64 // whole reference periods added to the reading's lag, which cannot tell them apart
	LagMS   float64 // the reading's lag, shifted and brought to the target tempo; positive = late
	HalfMS  float64 // half the 95 % interval of LagMS
	StepMS  float64 // what one step is worth at the target tempo; 0 = not known yet
	LimitMS float64 // the lag has to lie within ± this to be tight
	Unfit   string  // why the reading tells nothing of the voice, in a sentence; empty where it does

	fit    *fitted
	take   int         // index
	voice  int         // index; -1 = the machine has none of that name
	played calib.Point // the reading at the tempo nearest to the target's that was played, shifted
	apart  string      // why it cannot be brought together with the others at all; empty where it can
}

// TightSetting is a setting at which voice and reference were found to strike together.
type TightSetting struct {
	Target  machine.Target
	Setting int      // steps, positive = ahead
	LagMS   float64  // what is left of the lag at the target tempo by all takes; positive = late
	HalfMS  float64  // half the 95 % interval of LagMS
	TakeID  int      // the take that found it
	Stands  Standing // as a Song of this voice alone does

	take int // index of that take
}

// settled returns the setting of every target that has one. The latest take at a
// target that could be read decides: one that asks for a move elsewhere takes it off the list.
// So do all takes together where they expect another lag there by now, as after a changed gate.
func (v *View) settled() []TightSetting {
	latest := map[machine.Target][]*Result{} // by song and tempo, and then by voice
	for i, t := range v.Machine.Takes {
		t.Target.Voice = ""
		if latest[t.Target] == nil {
			latest[t.Target] = make([]*Result, len(v.fit.voices))
		}
		at := latest[t.Target]
		for j := range v.Results[i] {
			switch r := &v.Results[i][j]; {
			case t.LeftOut:
			case r.Outcome == Converged:
				at[r.voice] = r
			case r.Outcome == Move && at[r.voice] != nil && at[r.voice].Setting != r.Setting+r.Steps:
				at[r.voice] = nil
			}
		}
	}
	var all []TightSetting
	for _, at := range latest {
		for n, r := range at {
			if r == nil {
				continue
			}
			one := TightSetting{r.Target(), r.Setting, r.LagMS, r.HalfMS, r.Take.ID, Open, r.take}
			if v.fit.machine.Heard(n) {
				at := v.fit.machine.At(plan.Song{TempoBPM: r.Take.Target.TempoBPM, Voices: []int{n}, Tight: &plan.Tight{Setting: r.Setting, Take: r.take}}, v.fit.places[r.take])
				one.LagMS, one.HalfMS = at.Parts[0].LagMS, calib.Half95*at.Parts[0].SDMS
				one.Stands = v.stands(&at)
			}
			if math.Abs(one.LagMS) <= r.LimitMS+plan.WorthMS(r.StepMS, one.HalfMS) {
				all = append(all, one)
			}
		}
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
	all := make([]Result, len(t.Heard))
	for i := range all {
		r, h := &all[i], &t.Heard[i]
		*r = Result{Take: t, Heard: h, fit: v.fit, take: take, voice: v.fit.voice(h.Voice), Setting: v.fit.places[take].Setting, Told: v.fit.takes[take].Setting,
			LagMS: h.Reading.LagMS, HalfMS: h.Reading.HalfWidthMS(), LimitMS: v.fit.known.Limit(0)}
		used := v.fit.observation(take, r.voice)
		if used < 0 {
			if u, unfit := unfitFor(&r.Reading); unfit {
				r.Outcome, r.Unfit = u.outcome, u.because
				continue
			}
		}
		switch {
		case v.Err != nil:
			r.Outcome, r.apart = Disagrees, v.Err.Error()
		case r.voice < 0:
			r.Outcome, r.apart = Disagrees, i18n.F("The machine has no voice called %s.", r.Voice)
		default:
			v.judge(r, v.fit.machine.Aside(take, r.voice) != plan.Fine)
		}
	}
	return all
}

// unfit is why a reading cannot be acted on.
type unfit struct {
	outcome Outcome
	do, why string
	because string // the same as its warning says it
}

// unfitFor returns why a reading by itself cannot be acted on, where it cannot.
func unfitFor(r *calib.Reading) (u unfit, is bool) {
	switch {
	case u.warned(r, calib.WarnDeadChannel, calib.WarnDropOut):
		u.outcome, u.do = CableSuspect, i18n.L("Stop the crank, then check the cable")
		u.why = i18n.L("A microphone channel carries no hits, or dropped out during the take. Stop the crank, wait for rest, then check plugs and clips. The plate stays where it is.")
	case u.warned(r, calib.WarnSwapped):
		u.outcome, u.do = Doubtful, i18n.L("Stop the crank, then check which microphone is which")
		u.why = u.because + " " + i18n.L("Until then no move follows from this take: the plate stays where it is.")
	case r.Used() < calib.MinPairs || !(r.TempoBPM > 0):
		u.outcome, u.do = TooFewHits, i18n.L("Play a longer take")
		u.why = i18n.N(r.Used(),
			"%d pair of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.",
			"%d pairs of voice and reference could be used; a reading needs %d. Let the voice strike eight times or more.", r.Used(), calib.MinPairs)
		u.because = u.why
	case u.warned(r, calib.WarnDoubtful, calib.WarnRival):
		u.outcome, u.do = Doubtful, i18n.L("Look at the hits, or play again")
		u.why = i18n.F("The voice seems %s, but the hits are in doubt, so no move follows from it. Strike out or move the false ones. Or stop the crank, wait for rest, then put right what is wrong and play again.", calib.Seems(r.LagMS))
	default:
		return u, false
	}
	return u, true
}

// warned reports whether a reading carries a warning with one of the codes, and keeps what
// the first of them says.
func (u *unfit) warned(r *calib.Reading, codes ...string) bool {
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

// judge says what a reading, which the plan may set aside, means by the law of all takes.
func (v *View) judge(r *Result, aside bool) {
	voice, at := r.voice, v.fit.places[r.take]
	target := calib.PeriodMS(r.Take.Target.TempoBPM)
	r.played, _ = r.Reading.Point(r.Take.Target.TempoBPM)
	slope := v.fit.machine.Slope(voice, at)
	if r.played.WrapMS > 0 {
		hits := math.Round((v.fit.machine.Lag(voice, at, r.played.PeriodMS) - r.played.LagMS) / r.played.WrapMS)
		r.ShiftMS = hits * r.Reading.ReferencePeriodMS
		r.played.LagMS += hits * r.played.WrapMS
	}
	off := target - r.played.PeriodMS
	r.LagMS = r.played.LagMS + off*slope.Mean
	r.HalfMS = math.Hypot(r.played.HalfMS, calib.Half95*off*slope.SD)
	if math.Abs(off) > notNear*target {
		if lag, sd := v.fit.machine.Expect(voice, at, target); calib.Half95*sd > r.HalfMS {
			r.LagMS, r.HalfMS = lag, calib.Half95*sd // that far off it counts that another beat may have been heard
		}
	}
	step := v.fit.step.Mean * target
	if !v.StepKnown {
		r.Steps = trialSteps(r.LagMS, step)
	} else {
		r.StepMS, r.LimitMS = step, v.fit.known.Limit(step)
		r.Steps = int(math.Round(r.LagMS / step))
	}
	if aside {
		r.Outcome = Disagrees
		return
	}
	r.decide()
}

// missed returns by which share of the target tempo the nearest that was played misses it.
func (r *Result) missed() float64 {
	return math.Abs(calib.TempoBPM(r.played.PeriodMS)/r.Take.Target.TempoBPM - 1)
}

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
	// On the edge between two settings a move gains next to nothing, and the
	// loop would swing to and fro for ever.
	worth := plan.WorthMS(r.StepMS, r.HalfMS)
	nearest := r.StepMS > 0 && math.Abs(r.LagMS)-math.Abs(r.LagMS-float64(r.Steps)*r.StepMS) < worth && math.Abs(r.LagMS) <= r.LimitMS+worth
	tight := r.inside() || nearest && r.HalfMS <= r.LimitMS/2
	switch off := r.missed(); {
	case off > farOff, tight && off > notNear:
		r.Outcome = TooFar
	case tight:
		r.Outcome = Converged
	case r.vague() && r.played.HalfMS < r.HalfMS/2:
		r.Outcome = TooFar
	case r.vague(), r.Steps == 0:
		r.Outcome = TooNoisy
	default:
		r.Outcome = Move
		return
	}
	r.Steps = 0
}

// inside reports whether the lag is inside the limit with all its interval, and vague whether
// that is too wide to choose a step.
func (r *Result) inside() bool { return math.Abs(r.LagMS)+r.HalfMS <= r.LimitMS }
func (r *Result) vague() bool  { return r.HalfMS > math.Max(r.LimitMS, math.Abs(r.LagMS)/5) }

// Do says what to do, in a few words, and Why why, in a sentence or two.
func (r *Result) Do() string {
	do, _ := r.words()
	return do
}

// Why says why, in a sentence or two.
func (r *Result) Why() string {
	_, why := r.words()
	return why
}

func (r *Result) words() (do, why string) {
	if u, unfit := unfitFor(&r.Reading); unfit {
		return u.do, u.why
	}
	if r.apart != "" {
		return i18n.L("Play again"), r.apart
	}
	lag, nearer := r.atTarget(), i18n.F("Play nearer to %.4g BPM", r.Take.Target.TempoBPM)
	switch far := r.farWords(); r.Outcome {
	case Disagrees:
		if do = i18n.L("Look at the hits, or play again"); far != "" {
			do = nearer
		}
		return do, far + i18n.F("Take %d disagrees with the others, so no move follows from it: the %s seems %s. Stop the crank, wait for rest, then see whether plate, drop, pins, cable or microphone have moved.", r.Take.ID, r.Voice, calib.Seems(r.Reading.LagMS))
	case TooFar:
		if far == "" && r.vague() {
			return nearer, i18n.F("%s: the law cannot tell yet what that means at the target tempo.", lag)
		}
		return nearer, i18n.F("%s: too far from the target tempo to turn by. The law still learns from it.", lag)
	case TooNoisy:
		return i18n.L("Play a longer, steadier take"), i18n.F("%s: the interval is too wide to choose a step. More hits will narrow it.", lag)
	case Converged:
		if do = leaveWords(!r.inside()); r.inside() {
			return do, i18n.F("%s, inside ±%.1f\u00a0ms.", lag, r.LimitMS)
		}
		return do, i18n.F("%s, as near as the plate goes: one step is %.1f ms.", lag, r.StepMS)
	}
	if do = calib.TurnWords(r.Steps); r.StepMS == 0 {
		return do, i18n.F("%s. The step size is not known well yet: this move teaches it.", lag)
	}
	at := r.fit.places[r.take]
	rest, sd := r.fit.machine.Given(r.take, r.voice).Expect(r.voice, at.To(at.Setting+r.Steps), calib.PeriodMS(r.Take.Target.TempoBPM))
	return do, i18n.F("%s; one step is %.1f ms. Expect %s (± %.1f) after the move.", lag, r.StepMS, calib.LateEarly(rest), calib.Half95*sd)
}

// leaveWords says what to do where the plate stands right, or comes no nearer.
func leaveWords(onEdge bool) string {
	return i18n.Either(onEdge, "As near as the plate goes: leave it", "Tight: leave the plate")
}

// atTarget says the lag at the target, and what was played where that is not it.
func (r *Result) atTarget() string {
	target := r.Take.Target.TempoBPM
	if math.Abs(r.LagMS-r.played.LagMS) < worthSaying {
		return i18n.F("The %s is %s (±\u00a0%.1f) at %.4g BPM", r.Voice, calib.LateEarly(r.LagMS), r.HalfMS, target)
	}
	return i18n.F("The %s is %s (±\u00a0%.1f) at %.4g BPM (as played, at %.1f BPM: %s)", r.Voice, calib.LateEarly(r.LagMS), r.HalfMS, target, calib.TempoBPM(r.played.PeriodMS), calib.LateEarly(r.played.LagMS))
}
