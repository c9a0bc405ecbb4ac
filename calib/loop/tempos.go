package loop

import (
	"math"
	"slices"

	"lagwright/calib"
)

// SettingRange is a setting with the tempos at which it keeps voices tight, by what all takes
// tell.
type SettingRange struct {
	Setting int     // steps, as View.Setting
	Likely  Tempos  // where every voice is expected within the limit
	Sure    Tempos  // where each is so with all its 95 % interval; it lies within Likely
	BestBPM float64 // where it brings the voices nearest to their beat
}

// Tempos is a range in BPM; both are 0 where there is none.
type Tempos struct{ FromBPM, ToBPM float64 }

// None reports whether there is no tempo.
func (t Tempos) None() bool { return t.ToBPM == 0 }

// with returns the range with another tempo at its end.
func (t Tempos) with(bpm float64) Tempos {
	if t.None() {
		return Tempos{bpm, bpm}
	}
	return Tempos{math.Min(t.FromBPM, bpm), math.Max(t.ToBPM, bpm)}
}

// tempoGrain is how finely tempos are tried, BPM: a player does not hear less.
const tempoGrain = 0.5

// SettingRanges returns each setting that keeps the given voices tight at some of the tempos
// from one to another in BPM, in the order of settings: for a song called out at 103, a
// setting is looked up and not measured. Voices that no take that counts has heard have
// no say; without any other there are no settings. Limits are those of advice: the
// tolerance, or half a step where that is more.
func (v *View) SettingRanges(voices []string, fromBPM, toBPM float64) (all []SettingRange) {
	voices = slices.DeleteFunc(slices.Clone(voices), func(voice string) bool { return !v.heard(voice) })
	low, high := math.Inf(1), math.Inf(-1) // at one end or the other every setting is the best
	for _, voice := range voices {
		for _, bpm := range [2]float64{fromBPM, toBPM} {
			period := calib.PeriodMS(bpm)
			lag, step := v.fit.machine.Lag(v.fit.voice(voice), v.fit.place.To(0), period), v.fit.step.Mean*period
			best, reach := lag/step, v.fit.known.Limit(step)/math.Abs(step)+play
			low, high = math.Min(low, best-reach), math.Max(high, best+reach)
		}
	}
	if n := high - low; !(n >= 0 && n < mostStays) {
		return nil
	}
	for setting := int(math.Ceil(low)); setting <= int(high); setting++ {
		s, least := SettingRange{Setting: setting}, math.Inf(1)
		for bpm := math.Ceil(fromBPM/tempoGrain) * tempoGrain; bpm <= toBPM; bpm += tempoGrain {
			off, sure, ok := v.worstAt(voices, setting, calib.PeriodMS(bpm))
			if !ok {
				continue
			}
			s.Likely = s.Likely.with(bpm)
			if sure {
				s.Sure = s.Sure.with(bpm)
			}
			if off < least {
				s.BestBPM, least = bpm, off
			}
		}
		if !s.Likely.None() {
			all = append(all, s)
		}
	}
	return all
}

// play is how many steps the play of a plate may take, and mostStays as many settings as
// are worth a look.
const (
	play      = 3
	mostStays = 2000
)

// worstAt returns the largest lag in ms of the voices at a setting and a beat period in
// ms; ok reports whether all stay within the limit, and sure whether they do with all
// their 95 % intervals.
func (v *View) worstAt(voices []string, setting int, periodMS float64) (worst float64, sure, ok bool) {
	limit := v.fit.known.Limit(v.fit.step.Mean * periodMS)
	sure = true
	for _, voice := range voices {
		lag := v.fit.machine.Lag(v.fit.voice(voice), v.fit.place.To(setting), periodMS)
		if worst = math.Max(worst, math.Abs(lag)); worst > limit {
			return worst, false, false
		}
		_, sd, _ := v.Lag(voice, setting, periodMS)
		sure = sure && math.Abs(lag)+calib.Half95*sd <= limit
	}
	return worst, sure, true
}
