package plotting

import (
	"slices"
	"time"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// CurveOf returns the curve of voices of a session, of one as a rule: their
// usable takes, and each voice's law at the setting where the plate stands and at
// every settled one.
func CurveOf(s session.Session, voices ...string) Curve {
	c := Curve{Title: s.Machine.Name, ToleranceMS: s.ToleranceMS}
	if slices.Contains(voices, s.Target.Voice) {
		c.TargetBPM = s.Target.TempoBPM
	}
	if len(voices) == 1 {
		c.Voice = voices[0]
	}
	latest := -1
	for _, voice := range voices {
		ways, err := s.Explain(voice)
		if err != nil {
			continue
		}
		if last := c.addTakes(s, voice, ways[0].Points); last > latest {
			latest = last
			for i := range c.Takes {
				c.Takes[i].Current = i == len(c.Takes)-1
			}
		}
		c.addLaws(s, voice, ways[0].Law)
	}
	return c
}

// addTakes adds the takes of a voice, their whole beats resolved in the points, in
// the same order; it returns the place of the last one in the session.
func (c *Curve) addTakes(s session.Session, voice string, resolved []calib.Point) (last int) {
	for i, take := range s.Takes {
		t, _ := take.As(voice)
		p, ok := t.Point()
		if !ok {
			continue
		}
		last = i
		p, resolved = resolved[0], resolved[1:]
		half := t.Reading.HalfWidthMS()
		c.Takes = append(c.Takes, CurveTake{
			TempoBPM:  t.Reading.TempoBPM,
			LagMS:     p.LagMS,
			CI95MS:    [2]float64{p.LagMS - half, p.LagMS + half},
			Setting:   p.Setting,
			Voice:     voice,
			Converged: t.Advice.Outcome == calib.Converged,
		})
	}
	return last
}

// addLaws adds a voice's law at each setting of interest, once.
func (c *Curve) addLaws(s session.Session, voice string, law calib.Law) {
	now := s.Setting()
	settings := []int{now}
	for _, one := range s.Settings() {
		if one.Target.Voice == voice && !slices.Contains(settings, one.Setting) {
			settings = append(settings, one.Setting)
		}
	}
	for _, setting := range settings {
		c.Laws = append(c.Laws, CurveLaw{
			Setting: setting,
			Voice:   voice,
			LagMS:   func(periodMS float64) (lag, sd float64) { return law.Lag(periodMS, float64(setting)) },
			Current: setting == now,
		})
	}
}

// FanOf returns the hit fan of a take.
func FanOf(t session.Take, toleranceMS float64) Fan { return fanOf(t.Reading, t.Advice, toleranceMS) }

func fanOf(r calib.Reading, a calib.Advice, toleranceMS float64) Fan {
	f := Fan{CentreMS: r.LagMS, CI95MS: r.LagCI95MS, ToleranceMS: toleranceMS}
	if isLag(a.LimitMS) {
		f.ToleranceMS = max(toleranceMS, a.LimitMS)
	}
	for _, p := range r.Pairs {
		f.LagsMS = append(f.LagsMS, p.LagMS)
		f.Used = append(f.Used, p.Used)
	}
	return f
}

// PictureOf returns the picture of a take, to which the sound must be added.
func PictureOf(t session.Take) Picture {
	return Picture{
		Title:          i18n.F("Take %d · %s at %.1f BPM · plate at %s", t.ID, t.Target.Voice, t.Reading.TempoBPM, signed(t.Setting)),
		ReferenceHitsS: t.Reading.ReferenceHitsS,
		Pairs:          t.Reading.Pairs,
	}
}

// ReportOf returns the report of a take of a session, to which the sound must be
// added.
func ReportOf(s session.Session, t session.Take) Report {
	r := Report{
		Machine: s.Machine.Name, Session: s.Name, Song: t.Target.Song, Voice: t.Target.Voice, Take: t.ID, At: t.At,
		Source: joined(t.File, t.OriginWords()), TargetBPM: t.Target.TempoBPM, Setting: t.Setting, Reading: t.Reading, Advice: t.Advice,
		LeftOut: t.LeftOut, Notes: t.Notes, ToleranceMS: s.ToleranceMS, Picture: PictureOf(t),
	}
	if t.Moved != nil {
		r.Moved = movedWords(*t.Moved)
	}
	if t.ByHand != nil {
		r.ByHand = len(t.ByHand.Edits)
	}
	return r
}

// movedWords says what was done to the plate after a take.
func movedWords(m session.Move) string {
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

// CardOf returns the setting card of a session: the songs of its set list in
// playing order, by the plan that the takes give, or every settled setting where
// there are no songs. Each line has the move from the line before it, the first
// from setting 0. It fails where the takes cannot be brought together.
func CardOf(s session.Session, date time.Time) (Card, error) {
	c := Card{Machine: s.Machine.Name, Session: s.Name, Date: date, NotchesPerTurn: s.Machine.Plate.NotchesPerTurn, ToleranceMS: s.ToleranceMS}
	if len(s.Songs) == 0 {
		c.Lines = settledLines(s)
		return c, nil
	}
	made, err := bench.PlanOf(s)
	if err != nil {
		return Card{}, i18n.Errorf("cannot make the setting card: %w", err)
	}
	c.Lines = songLines(s, made.Songs)
	return c, nil
}

// settledLines are the card's lines for a session without songs.
func settledLines(s session.Session) []Settled {
	var lines []Settled
	previous := 0 // the card's first move starts from setting 0
	for _, one := range s.Settings() {
		line := Settled{
			Song: one.Target.Song, TempoBPM: one.Target.TempoBPM, Voice: one.Target.Voice,
			SettingSteps: one.Setting, MoveSteps: one.Setting - previous, LagMS: one.LagMS,
			RestMS: (one.CI[1] - one.CI[0]) / 2, Verified: true,
		}
		line.Rests = []VoiceRest{{line.Voice, line.LagMS, line.RestMS}}
		for _, t := range s.Takes {
			if t.ID == one.TakeID {
				line.Date = t.At
			}
		}
		lines = append(lines, line)
		previous = one.Setting
	}
	return lines
}
