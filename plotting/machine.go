package plotting

import (
	"slices"
	"time"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// CurveOf returns the curve of voices of a machine, of one as a rule: their usable
// takes, and each voice's law at the setting where the plate stands and at every
// settled one.
func CurveOf(v *loop.View, voices ...string) Curve {
	m := v.Machine
	c := Curve{Title: m.Build.Name, ToleranceMS: m.ToleranceMS}
	if slices.Contains(voices, m.Target.Voice) {
		c.TargetBPM = m.Target.TempoBPM
	}
	if len(voices) == 1 {
		c.Voice = voices[0]
	}
	for _, results := range v.Results {
		for _, r := range results {
			if !slices.Contains(voices, r.Voice) || r.Take.LeftOut || !r.Outcome.Read() {
				continue
			}
			lag, half := r.Reading.LagMS+r.ShiftMS, r.Reading.HalfWidthMS() // its whole beats resolved
			c.Takes = append(c.Takes, CurveTake{
				Take: r.Take.ID, TempoBPM: r.Reading.TempoBPM, LagMS: lag, CI95MS: [2]float64{lag - half, lag + half},
				Setting: r.Setting, Voice: r.Voice, Converged: r.Outcome == loop.Converged,
			})
		}
	}
	if n := len(c.Takes); n > 0 {
		c.Takes[n-1].Current = true
	}
	for _, voice := range voices {
		c.addLaws(v, voice)
	}
	return c
}

// Shown returns the curve with the halo on the take that is shown elsewhere, as one of
// its voices has it; on none where the curve has it not.
func (c Curve) Shown(take int, voice string) Curve {
	c.Takes = slices.Clone(c.Takes)
	for i := range c.Takes {
		c.Takes[i].Current = c.Takes[i].Take == take && c.Takes[i].Voice == voice
	}
	return c
}

// addLaws adds a voice's law at each setting of interest, once.
func (c *Curve) addLaws(v *loop.View, voice string) {
	settings := []int{v.Setting}
	for _, one := range v.Settings {
		if one.Target.Voice == voice && !slices.Contains(settings, one.Setting) {
			settings = append(settings, one.Setting)
		}
	}
	for _, setting := range settings {
		if _, _, ok := v.Lag(voice, setting, 1); ok {
			c.Laws = append(c.Laws, lawOf(v, voice, setting, setting == v.Setting))
		}
	}
}

// lawOf is a voice's law at a setting by all takes together.
func lawOf(v *loop.View, voice string, setting int, current bool) CurveLaw {
	return CurveLaw{Setting: setting, Voice: voice, Current: current, LagMS: func(periodMS float64) (lag, sd float64) {
		lag, sd, _ = v.Lag(voice, setting, periodMS)
		return lag, sd
	}}
}

// PictureOf returns the picture of a take, to which the sound must be added.
func PictureOf(r loop.Result) Picture {
	return Picture{
		Title:   i18n.F("Take %d · %s at %.1f BPM · plate at %s", r.Take.ID, r.Voice, r.Reading.TempoBPM, signed(r.Setting)),
		Reading: r.Reading,
	}
}

// ReportOf returns the report of a take of a machine, to which the sound must be
// added.
func ReportOf(v *loop.View, r loop.Result) Report {
	m, t := v.Machine, r.Take
	do, why, reach := r.Do, r.Why, r.Outcome.HandsOn()
	if v.Follows(r) {
		do, why, reach = v.Do, v.Why, v.Reach // as the loop says it, of all voices of a song together
	}
	report := Report{
		Machine: m.Build.Name, Song: t.Target.Song, Voice: r.Voice, Take: t.ID, At: t.At,
		Source: joined(t.File, t.OriginWords()), TargetBPM: t.Target.TempoBPM, Setting: r.Setting, Reading: r.Reading,
		Do: do, Why: why, Reach: reach, LimitMS: r.LimitMS,
		LeftOut: t.LeftOut, Notes: t.Notes, ToleranceMS: m.ToleranceMS, Picture: PictureOf(r),
	}
	if t.Moved != nil {
		report.Moved = movedWords(*t.Moved)
	}
	if r.ByHand != nil {
		report.ByHand = len(r.ByHand.Edits)
	}
	return report
}

// movedWords says what was done to the plate after a take.
func movedWords(m machine.Move) string {
	words := i18n.L("The plate was left where it was.")
	switch {
	case m.Steps > 0:
		words = i18n.F("Then it was turned %d ahead.", m.Steps)
	case m.Steps < 0:
		words = i18n.F("Then it was turned %d back.", -m.Steps)
	}
	if note := m.NoteWords(); note != "" {
		words += " " + sentence(note)
	}
	return words
}

// CardOf returns the setting card of a machine: the songs of the set list in hand in
// playing order, by the plan that the takes give, or of all songs and every other
// setting that was found tight. Each line has the move from the line before it, the first
// from setting 0.
func CardOf(v *loop.View, date time.Time) Card {
	m := v.Machine
	c := Card{Machine: m.Build.Name, List: m.CurrentList, Date: date, NotchesPerTurn: m.Build.Plate.NotchesPerTurn, ToleranceMS: m.ToleranceMS, Lines: songLines(v)}
	if m.CurrentList != "" {
		return c
	}
	for _, one := range v.Settings { // tight where no song is, which is no reason to lose it
		target, from := one.Target, 0
		if slices.ContainsFunc(m.Songs, func(song machine.Song) bool { return song.TempoBPM == target.TempoBPM }) {
			continue
		}
		if n := len(c.Lines); n > 0 {
			from = c.Lines[n-1].SettingSteps
		}
		line := Settled{
			Song: target.Song, TempoBPM: target.TempoBPM, Voice: target.Voice, SettingSteps: one.Setting, MoveSteps: one.Setting - from,
			LagMS: one.LagMS, RestMS: one.HalfMS, Rests: []VoiceRest{{target.Voice, one.LagMS, one.HalfMS}}, Verified: true,
		}
		if t := m.Take(one.TakeID); t != nil {
			line.Date = t.At
		}
		c.Lines = append(c.Lines, line)
	}
	return c
}
