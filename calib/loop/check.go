package loop

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// Check is what the takes of another day tell of the settings that were sure before it.
type Check struct {
	Since   time.Time     // of the last take before that day
	Kept    []CardSetting // the songs that were sure, in playing order; without a set list the tempos that were tight
	Changes []Change      // the voices whose lag has changed, the furthest first
	Plate   int           // steps that the plate stands further ahead than entered, since that day; negative = back
	AsMoved int           // steps that it may as well stand further ahead, for all that the changes show; 0 = that would explain none
	Words   string        // all of it, in a few sentences
}

// CardSetting is a setting that stands on the card.
type CardSetting struct {
	machine.Song
	Setting int     // as on the card
	Now     int     // where the plate belongs by the takes of the day too
	Chance  float64 // that every voice still passes there, or comes as near as makes no difference
	InDoubt bool    // one of its voices was only heard in a take that may be a bad one
	Heard   bool    // a take of the day tells of one of its voices
	Unheard bool    // none tells of another

	inside float64 // the chance that every voice passes
	edge   bool    // the plate still belongs there, and comes no nearer
}

// Change is by how much a voice strikes later than before, where the plate stood in a take.
type Change struct {
	Voice    string
	ByMS     float64 // positive = later
	HalfMS   float64 // half the 95 % interval of ByMS
	TempoBPM float64 // of the take
	Take     int     // its id
	InDoubt  bool    // the take may be a bad one
}

// A setting holds where it passes with holds, and fails where it does so with fails at
// most; between the two nobody can tell yet.
const (
	holds = 0.9
	fails = 0.1
)

// A voice has changed where a reading lies beyond the limits of a Shewhart chart around what
// was foretold (NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2): those that a machine
// which did not change exceeds in falseAlarms of its checks. A take to check by has so many
// hits that half a step shows with found (the same, 7.2.2.2), but no fewer than usualHits and
// no more than mostHits.
const (
	falseAlarms         = 0.01
	found               = 0.9
	usualHits, mostHits = 8, 40
)

// limitSDs is half the distance of the limits in standard uncertainties. The more voices a
// take may show to have changed, the further one has to lie outside (Bonferroni).
func (f *fitted) limitSDs() float64 {
	voices := 0
	for n := range f.voices {
		if f.machine.Heard(n) {
			voices++
		}
	}
	return distuv.UnitNormal.Quantile(1 - falseAlarms/2/float64(max(voices, 1)))
}

// Holds reports whether the setting is still right.
func (k CardSetting) Holds() bool { return (k.Chance >= holds || k.edge) && !k.InDoubt && !k.Unheard }

// OnEdge reports whether it is so because it comes as near as the plate goes: the setting
// beside it may be as good.
func (k CardSetting) OnEdge() bool { return k.Holds() && k.inside < plan.Sure }

// Fails reports whether it is no longer.
func (k CardSetting) Fails() bool { return k.Chance <= fails && k.Heard }

// Hold reports whether every setting does.
func (c *Check) Hold() bool {
	return !slices.ContainsFunc(c.Kept, func(k CardSetting) bool { return !k.Holds() })
}

// Changed reports whether something is surely not as it was: not by a take that may be a bad one.
func (c *Check) Changed() bool {
	return c.Fail() || c.Plate != 0 || slices.ContainsFunc(c.Changes, func(one Change) bool { return !one.InDoubt })
}

// Fail reports whether some setting does.
func (c *Check) Fail() bool { return slices.ContainsFunc(c.Kept, CardSetting.Fails) }

// stood says for how long the machine has stood since its last take, or what was worked on;
// empty where neither is so, or it stood and nothing was settled before.
func (v *View) stood(now time.Time) string {
	var parts []string
	for _, w := range v.Machine.Since(now) {
		if part := machine.PartWords(w.Part); w.Part != machine.Other && !slices.Contains(parts, part) {
			parts = append(parts, part)
		}
	}
	switch days := int(math.Round(v.Machine.DaysSince(now))); {
	case len(parts) > 0 && len(v.Settings) == 0:
		return i18n.F("You changed this after the last take: %s.", strings.Join(parts, ", "))
	case len(v.Settings) == 0:
	case len(parts) > 0:
		return i18n.L("The machine was worked on since the last take: play one to see whether the settings still hold.")
	case days > 0:
		return i18n.N(days, "The machine has stood for %d day since the last take: play one to see whether the settings still hold.", "The machine has stood for %d days since the last take: play one to see whether the settings still hold.", days)
	}
	return ""
}

// check returns what the last day's takes tell of what was sure before it; nil where
// there was no other day, nothing was sure, or no take of the day can be used.
func (v *View) check() *Check {
	m := v.Machine
	day := m.DayOf(len(m.Takes) - 1)
	if v.Err != nil || day <= 0 {
		return nil
	}
	m = m.After(day - 1)
	before := look(m, time.Time{})
	if before.Err != nil {
		return nil
	}
	c := Check{Since: m.Takes[day-1].At, Kept: v.kept(&before, day)}
	if len(c.Kept) == 0 {
		return nil
	}
	c.Plate = v.movedSince(day, len(v.Machine.Takes))
	c.setChanges(v, &before, day)
	c.Words = strings.TrimSpace(c.words() + " " + v.whyUnheard(day, ""))
	return &c
}

// heardFrom reports whether a take that counts, from one on, tells of a voice.
func (v *View) heardFrom(take int, voice string) bool {
	n := v.fit.voice(voice)
	return slices.ContainsFunc(v.fit.takes[take:], func(t plan.Take) bool {
		return slices.ContainsFunc(t.Heard, func(h plan.Observation) bool { return h.Voice == n })
	})
}

// whyUnheard says of which voices no take from one on tells, and why, but for what is said
// already.
func (v *View) whyUnheard(from int, said string) string {
	var whys []string // the latest take's first
	voices, done := map[string][]string{}, map[string]bool{}
	for _, results := range slices.Backward(v.Results[from:]) {
		for _, r := range results {
			if done[r.Voice] || r.Unfit == "" || r.Unfit == said || r.Take.LeftOut || v.heardFrom(from, r.Voice) {
				continue
			}
			if done[r.Voice] = true; voices[r.Unfit] == nil {
				whys = append(whys, r.Unfit)
			}
			voices[r.Unfit] = append(voices[r.Unfit], r.Voice)
		}
	}
	for i, why := range whys {
		whys[i] = i18n.F("Could not be read: %s.", strings.Join(voices[why], ", ")) + " " + why
	}
	return strings.Join(whys, " ")
}

// kept says of each setting that was sure before how likely it is still right.
func (v *View) kept(before *View, day int) (all []CardSetting) {
	for _, song := range before.Songs {
		if song.Stands.Enough() {
			all = append(all, CardSetting{Song: song.Song, Setting: song.Setting})
		}
	}
	if len(before.Songs) == 0 {
		for _, one := range before.Settings {
			all = append(all, CardSetting{Song: machine.Song{Name: one.Target.Song, TempoBPM: one.Target.TempoBPM, Voices: []string{one.Target.Voice}}, Setting: one.Setting})
		}
	}
	for i := range all {
		k := &all[i]
		for _, voice := range v.fit.named(k.Voices) {
			heard := v.heardFrom(day, voice)
			k.Heard, k.Unheard = k.Heard || heard, k.Unheard || !heard
		}
		song := v.planSong(k.Song)
		song.Tight = nil // whether it is right where the plate stands today is asked
		at := v.fit.machine.At(song, v.fit.place.To(k.Setting))
		k.Now, k.Chance, k.inside = v.fit.machine.Best(song, v.fit.place).Steps, at.Near, at.Chance
		k.edge = k.Now == k.Setting && at.OnEdge()
	}
	return all
}

// movedSince returns by how many steps the plate stood further ahead than told in a take,
// for what the takes from a day on show.
func (v *View) movedSince(day, take int) (steps int) {
	for _, f := range v.fit.machine.Findings() {
		if f.Take >= day && f.Take <= take {
			steps += f.Steps
		}
	}
	return steps
}

// setChanges lists the voices that the takes from a day on hear at another lag than was
// foretold before it, each by the latest take not in doubt, or else by the latest.
func (c *Check) setChanges(v, before *View, day int) {
	latest := map[int]Change{}
	for take := day; take < len(v.Machine.Takes); take++ {
		at := before.fit.place.To(before.fit.place.Setting + v.Machine.SettingAt(take) - v.Machine.SettingAt(day) + v.movedSince(day, take))
		for _, h := range v.fit.takes[take].Heard {
			doubt := v.fit.machine.Counts(take, h.Voice) < holds
			if was, ok := latest[h.Voice]; !before.fit.machine.Heard(h.Voice) || ok && doubt && !was.InDoubt {
				continue
			}
			by, sd := before.fit.machine.Residual(h, at)
			latest[h.Voice] = Change{v.fit.voices[h.Voice], by, calib.Half95 * sd, calib.TempoBPM(h.PeriodMS), v.Machine.Takes[take].ID, doubt}
		}
	}
	limit := before.fit.limitSDs() / calib.Half95
	for _, one := range latest {
		if math.Abs(one.ByMS) > math.Max(limit*one.HalfMS, worthSaying) {
			c.Changes = append(c.Changes, one)
		}
	}
	slices.SortFunc(c.Changes, func(a, b Change) int {
		return cmp.Or(cmp.Compare(math.Abs(b.ByMS), math.Abs(a.ByMS)), cmp.Compare(a.Voice, b.Voice))
	})
	for i := range c.Kept {
		k := &c.Kept[i]
		k.InDoubt = slices.ContainsFunc(c.Changes, func(one Change) bool {
			return one.InDoubt && slices.Contains(v.fit.named(k.Voices), one.Voice)
		})
	}
	if !v.StepKnown || len(c.Changes) == 0 || len(c.Changes) < len(latest) {
		return
	}
	stepMS := func(one Change) float64 { return v.fit.step.Mean * calib.PeriodMS(one.TempoBPM) }
	steps := math.Round(-c.Changes[0].ByMS / stepMS(c.Changes[0]))
	if !slices.ContainsFunc(c.Changes, func(one Change) bool { return math.Abs(one.ByMS+steps*stepMS(one)) > limit*one.HalfMS }) {
		c.AsMoved = int(steps)
	}
}

// setHits sets how many hits the take has that checks a song, and says so. What was known at
// the last take counts, before the machine had stood.
func (v *View) setHits(song *Song) {
	then, err := fit(v.Machine, time.Time{})
	if err != nil {
		return
	}
	period, hits := calib.PeriodMS(v.Machine.Target.TempoBPM), float64(usualHits)
	sd := then.step.Mean * period / 2 / (then.limitSDs() + distuv.UnitNormal.Quantile(found))
	for _, r := range song.Parts {
		if voice := then.voice(r.Voice); then.machine.Heard(voice) {
			hits = math.Max(hits, then.machine.HitsFor(voice, then.place.To(song.Setting), period, sd))
		}
	}
	v.Hits = int(math.Min(hits, mostHits))
	ask := i18n.F("Let it strike %d times or more: then a change of half a step shows.", v.Hits)
	if hits > mostHits {
		ask = i18n.F("Let it strike %d times or more; a change of half a step may still not show.", v.Hits)
	}
	v.Why += " " + ask
}

// words says it all.
func (c *Check) words() string {
	var say []string
	day := c.Since.Local().Format(i18n.L("2 Jan 2006"))
	if c.Plate != 0 {
		say = append(say, i18n.Turn(c.Plate, "Since %[2]s the plate stands %[1]d step further ahead than entered.", "Since %[2]s the plate stands %[1]d steps further ahead than entered.",
			"Since %[2]s the plate stands %[1]d step further back than entered.", "Since %[2]s the plate stands %[1]d steps further back than entered.", day))
	}
	for _, one := range c.Changes {
		say = append(say, one.words(day))
	}
	if c.AsMoved != 0 {
		say = append(say, i18n.Turn(c.AsMoved, "The takes would fit a plate %d step further ahead than entered: stop the crank, wait for rest, then see where it stands.", "The takes would fit a plate %d steps further ahead than entered: stop the crank, wait for rest, then see where it stands.",
			"The takes would fit a plate %d step further back than entered: stop the crank, wait for rest, then see where it stands.", "The takes would fit a plate %d steps further back than entered: stop the crank, wait for rest, then see where it stands."))
	}
	if c.Hold() {
		say = append(say, i18n.N(len(c.Kept), "The setting of %[2]s still holds.", "All %d settings of %s still hold.", len(c.Kept), day))
	}
	var other, unheard, unsure, edge, less []string
	for _, k := range c.Kept {
		switch name := k.named(); {
		case k.Holds() && k.Chance < plan.Sure && !k.edge:
			less = append(less, name)
		case k.OnEdge():
			edge = append(edge, name)
		case k.Fails() && k.Now != k.Setting:
			other = append(other, i18n.F("%s needs another setting: %s instead of %s.", name, calib.SettingWords(k.Now), calib.SettingWords(k.Setting)))
		case k.Unheard:
			unheard = append(unheard, name)
		case !k.Holds():
			unsure = append(unsure, name)
		}
	}
	say = append(say, other...)
	if len(unheard) > 0 {
		say = append(say, i18n.F("Not heard again, so left open: %s.", strings.Join(unheard, "; ")))
	}
	if len(unsure) > 0 {
		say = append(say, i18n.F("Not sure yet: %s. Another take at those tempos will tell.", strings.Join(unsure, "; ")))
	}
	if len(edge) > 0 && c.Hold() {
		say = append(say, i18n.F("On the edge between two settings, as near as the plate goes: %s.", strings.Join(edge, "; ")))
	}
	if len(less) > 0 && c.Hold() {
		say = append(say, i18n.F("Less sure than before: %s. Another take at those tempos will tell.", strings.Join(less, "; ")))
	}
	return strings.Join(say, " ")
}

// words says a change since a day.
func (c Change) words(day string) string {
	later := i18n.F("Since %s the %s strikes %.1f ms later (± %.1f) at %.4g BPM.", day, c.Voice, c.ByMS, c.HalfMS, c.TempoBPM)
	if c.ByMS < 0 {
		later = i18n.F("Since %s the %s strikes %.1f ms earlier (± %.1f) at %.4g BPM.", day, c.Voice, -c.ByMS, c.HalfMS, c.TempoBPM)
	}
	if c.InDoubt {
		later += " " + i18n.F("Take %d by itself may be a bad one: play another to be sure.", c.Take)
	}
	return later
}

// named names a song, or what is played where it has no name.
func (k CardSetting) named() string {
	switch {
	case k.Name != "" && len(k.Voices) == 1:
		return i18n.F("%s (%s)", k.Name, k.Voices[0])
	case k.Name != "":
		return k.Name
	}
	return i18n.F("%s at %.4g BPM", strings.Join(k.Voices, ", "), k.TempoBPM)
}
