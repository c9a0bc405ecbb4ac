package loop

import (
	"math"

	"lagwright/calib"
)

// Stay is a setting with the tempos at which it keeps voices tight, by what all takes
// tell.
type Stay struct {
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

// Stays returns each setting that keeps the given voices tight at some of the tempos
// from one to another in BPM, in the order of settings: for a song called out at 103, a
// setting is looked up and not measured. Voices that no take that counts has heard have
// no say; without any other there are no settings. Limits are those of advice: the
// tolerance, or half a step where that is more.
func (v *View) Stays(voices []string, fromBPM, toBPM float64) []Stay {
	known := map[int]*Stay{}
	least := map[int]float64{}
	low, high := math.MaxInt, math.MinInt
	for bpm := math.Ceil(fromBPM/tempoGrain) * tempoGrain; bpm <= toBPM; bpm += tempoGrain {
		for _, setting := range v.near(voices, calib.PeriodMS(bpm)) {
			off, sure, ok := v.worstAt(voices, setting, calib.PeriodMS(bpm))
			if !ok {
				continue
			}
			s := known[setting]
			if s == nil {
				s = &Stay{Setting: setting}
				known[setting], least[setting] = s, math.Inf(1)
				low, high = min(low, setting), max(high, setting)
			}
			s.Likely = s.Likely.with(bpm)
			if sure {
				s.Sure = s.Sure.with(bpm)
			}
			if off < least[setting] {
				s.BestBPM, least[setting] = bpm, off
			}
		}
	}
	var all []Stay
	for setting := low; setting <= high; setting++ {
		if s := known[setting]; s != nil {
			all = append(all, *s)
		}
	}
	return all
}

// near returns the settings at which all voices may stay within the limit.
func (v *View) near(voices []string, periodMS float64) []int {
	low, high := math.Inf(-1), math.Inf(1)
	for _, voice := range voices {
		at, _, heard := v.Lag(voice, 0, periodMS)
		one, _, _ := v.Lag(voice, 1, periodMS)
		if s := at / (at - one); heard && !math.IsNaN(s) && !math.IsInf(s, 0) {
			const play, most = 3, 1000 // steps: of the plate, and as many as are worth a look
			reach := math.Min(v.limitMS(at-one)/math.Abs(at-one)+play, most)
			low, high = math.Max(low, s-reach), math.Min(high, s+reach)
		}
	}
	if math.IsInf(low, 0) {
		return nil
	}
	var all []int
	for s := math.Ceil(low); s <= high; s++ {
		all = append(all, int(s))
	}
	return all
}

// limitMS returns how far from its beat a voice may be, in ms, where a step moves it by
// so many ms: the tolerance, or half a step where that is more.
func (v *View) limitMS(stepMS float64) float64 {
	return math.Max(v.toleranceMS(), math.Abs(stepMS)/2)
}

// worstAt returns the largest lag in ms of the voices at a setting and a beat period in
// ms; ok reports whether all stay within the limit, and sure whether they do with all
// their 95 % intervals.
func (v *View) worstAt(voices []string, setting int, periodMS float64) (worst float64, sure, ok bool) {
	sure = true
	for _, voice := range voices {
		lag, sd, heard := v.Lag(voice, setting, periodMS)
		if !heard {
			continue
		}
		next, _, _ := v.Lag(voice, setting+1, periodMS)
		limit := v.limitMS(lag - next)
		worst, ok = math.Max(worst, math.Abs(lag)), true
		sure = sure && math.Abs(lag)+1.96*sd <= limit
		if math.Abs(lag) > limit {
			return worst, false, false
		}
	}
	return worst, sure, ok
}
