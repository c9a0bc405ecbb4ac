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
	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// Check is what the takes of another day tell of the settings that were sure before it.
type Check struct {
	Since   time.Time // of the last take before that day
	Take    int       // id of the last take that tells
	Kept    []Kept    // the songs that were sure, in playing order; without a set list the tempos that were tight
	Changes []Change  // the voices whose lag has changed, the furthest first
	Plate   int       // steps that the plate stands further ahead than told, since that day; negative = back
	Words   string    // all of it, in a few sentences
}

// Kept is a setting that stands on the card.
type Kept struct {
	session.Song
	Setting int     // as on the card
	Now     int     // where the plate belongs by the takes of the day too
	Chance  float64 // that every voice still passes there, or comes as near as the plate goes
}

// Change is by how much a voice strikes later than before, where the plate stood in a take.
type Change struct {
	Voice    string
	ByMS     float64 // positive = later
	HalfMS   float64 // half the 95 % interval of ByMS
	TempoBPM float64 // of the take
}

// A setting holds where it passes with holds, and fails where it does so with fails at
// most; between the two nobody can tell yet. Of a hundred checks of an unchanged machine
// fewer than falseAlarms times a hundred may find that some voice has changed.
const (
	holds       = 0.9
	fails       = 0.1
	falseAlarms = 0.01
)

// Holds reports whether the setting is still right.
func (k Kept) Holds() bool { return k.Chance >= holds }

// Fails reports whether it is no longer.
func (k Kept) Fails() bool { return k.Chance <= fails }

// Hold reports whether every setting does.
func (c *Check) Hold() bool {
	return !slices.ContainsFunc(c.Kept, func(k Kept) bool { return !k.Holds() })
}

// Fail reports whether some setting does.
func (c *Check) Fail() bool { return slices.ContainsFunc(c.Kept, Kept.Fails) }

// stood says for how long the machine has stood since its last take, or what was worked on;
// empty where neither is so, or it stood and nothing was settled before.
func (v *View) stood(now time.Time) string {
	var parts []string
	for _, w := range v.Session.Since(now) {
		if part := session.PartWords(w.Part); w.Part != session.Other && !slices.Contains(parts, part) {
			parts = append(parts, part)
		}
	}
	switch days := int(math.Ceil(v.Session.DaysSince(now))); {
	case len(parts) > 0 && len(v.Settings) == 0:
		return i18n.F("You changed this after the last take: %s. Play a new one at %.4g BPM.", strings.Join(parts, ", "), v.Session.Target.TempoBPM)
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
	s := v.Session
	day := s.DayOf(len(s.Takes) - 1)
	last := v.fit.heardBefore(len(s.Takes))
	if v.Err != nil || day <= 0 || last < day {
		return nil
	}
	s = s.After(day - 1)
	before := look(s, time.Time{})
	if before.Err != nil {
		return nil
	}
	c := Check{Since: s.Takes[day-1].At, Take: v.Session.Takes[last].ID, Kept: v.kept(&before)}
	if len(c.Kept) == 0 {
		return nil
	}
	for _, f := range v.fit.machine.Findings() {
		if (f.Kind == plan.NotTold || f.Kind == plan.Miscounted) && f.Take >= day {
			c.Plate += f.Steps
		}
	}
	c.Changes = v.changes(&before, day)
	c.Words = c.words()
	return &c
}

// kept says of each setting that was sure before how likely it is still right.
func (v *View) kept(before *View) (all []Kept) {
	for _, song := range before.Songs {
		if song.Verified {
			all = append(all, Kept{Song: song.Song, Setting: song.Setting})
		}
	}
	if len(before.Songs) == 0 {
		for _, one := range before.Settings {
			all = append(all, Kept{Song: session.Song{Name: one.Target.Song, TempoBPM: one.Target.TempoBPM, Voices: []string{one.Target.Voice}}, Setting: one.Setting})
		}
	}
	for i := range all {
		k := &all[i]
		song := v.planSong(k.Song)
		k.Chance = v.fit.machine.At(song, v.fit.place.To(k.Setting)).Near
		k.Now = v.fit.machine.Make([]plan.Song{song}, plan.Bench{At: v.fit.place}).Songs[0].Steps
	}
	return all
}

// changes lists the voices that the takes from a day on hear at another lag than was
// foreseen before it. The more voices are heard, the more one has to differ (Bonferroni).
func (v *View) changes(before *View, day int) (all []Change) {
	heard := map[string]bool{}
	sure := distuv.UnitNormal.Quantile(1 - falseAlarms/2/float64(len(v.fit.voices)))
	for take := len(v.Session.Takes) - 1; take >= day; take-- {
		for _, h := range v.Session.Takes[take].Heard {
			voice := v.fit.voice(h.Voice)
			if aside, ok := v.fit.verdict(take, voice); heard[h.Voice] || !ok || aside != plan.Fine {
				continue
			}
			heard[h.Voice] = true
			period, at := calib.PeriodMS(h.Reading.TempoBPM), v.fit.places[take]
			was, wasSD, known := before.Lag(h.Voice, at.Setting, period)
			sd := math.Hypot(wasSD, v.fit.machine.LagSD(voice, at, period))
			by := v.fit.machine.Lag(voice, at, period) - was
			if known && math.Abs(by) > sure*sd && math.Abs(by) > worthSaying {
				all = append(all, Change{h.Voice, by, sureSDs * sd, h.Reading.TempoBPM})
			}
		}
	}
	slices.SortFunc(all, func(a, b Change) int { return cmp.Compare(math.Abs(b.ByMS), math.Abs(a.ByMS)) })
	return all
}

// words says it all.
func (c *Check) words() string {
	var say []string
	day := c.Since.Local().Format(i18n.L("2 Jan 2006"))
	if c.Plate != 0 {
		ahead := i18n.N(c.Plate, "Since %[2]s the plate stands %[1]d step further ahead than told.", "Since %[2]s the plate stands %[1]d steps further ahead than told.", c.Plate, day)
		if c.Plate < 0 {
			ahead = i18n.N(-c.Plate, "Since %[2]s the plate stands %[1]d step further back than told.", "Since %[2]s the plate stands %[1]d steps further back than told.", -c.Plate, day)
		}
		say = append(say, ahead)
	}
	for _, one := range c.Changes {
		later := i18n.F("Since %s the %s strikes %.1f ms later (± %.1f) at %.4g BPM.", day, one.Voice, one.ByMS, one.HalfMS, one.TempoBPM)
		if one.ByMS < 0 {
			later = i18n.F("Since %s the %s strikes %.1f ms earlier (± %.1f) at %.4g BPM.", day, one.Voice, -one.ByMS, one.HalfMS, one.TempoBPM)
		}
		say = append(say, later)
	}
	if c.Hold() {
		say = append(say, i18n.N(len(c.Kept), "The setting of %[2]s still holds.", "All %d settings of %s still hold.", len(c.Kept), day))
	}
	var other, unsure, less []string
	for _, k := range c.Kept {
		switch name := k.named(); {
		case k.Holds() && k.Chance < plan.Sure:
			less = append(less, name)
		case k.Fails() && k.Now != k.Setting:
			other = append(other, i18n.F("%s: %s, not %s", name, calib.SettingWords(k.Now), calib.SettingWords(k.Setting)))
		case !k.Holds():
			unsure = append(unsure, name)
		}
	}
	if len(other) > 0 {
		say = append(say, i18n.F("Another setting is due for %s.", strings.Join(other, "; ")))
	}
	if len(unsure) > 0 {
		say = append(say, i18n.F("Not sure yet: %s. Another take at those tempos tells.", strings.Join(unsure, "; ")))
	}
	if len(less) > 0 && c.Hold() {
		say = append(say, i18n.F("Less sure than before: %s. Another take at those tempos tells.", strings.Join(less, "; ")))
	}
	return strings.Join(say, " ")
}

// named names a song, or what is played where it has no name.
func (k Kept) named() string {
	switch {
	case k.Name != "" && len(k.Voices) == 1:
		return i18n.F("%s (%s)", k.Name, k.Voices[0])
	case k.Name != "":
		return k.Name
	}
	return i18n.F("%s at %.4g BPM", strings.Join(k.Voices, ", "), k.TempoBPM)
}
