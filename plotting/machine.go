package plotting

import (
	"math"
	"slices"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting/sketch"
)

// CurveOf returns the curve of voices of a machine, of one as a rule: their takes with
// a lag, those that do not count among them, and each voice's law at the setting where the plate stands and at every
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
			if !slices.Contains(voices, r.Voice) || r.Take.LeftOut || r.Reading.Used() == 0 {
				continue
			}
			lag, half := r.Reading.LagMS+r.ShiftMS, r.Reading.HalfWidthMS() // its whole beats resolved
			take := CurveTake{
				Take: r.Take.ID, TempoBPM: r.Reading.TempoBPM, LagMS: lag, CI95MS: [2]float64{lag - half, lag + half},
				Setting: r.Setting, Voice: r.Voice, Disputed: !r.Outcome.Read(), Sweep: r.Reading.Law.Determined(),
				Converged: r.Outcome == loop.Converged && math.Abs(lag) <= r.LimitMS, // played elsewhere it is tight at the target alone
			}
			if take.Sweep && !take.Disputed {
				take.Hits = hitsOf(v, r)
			}
			c.Takes = append(c.Takes, take)
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

// hitsOf are the used hits of a sweep, each at its own tempo, with the lag that it would have
// where the plate stands now: beside the law there, however far the plate was turned since.
func hitsOf(v *loop.View, r loop.Result) []sketch.Strike {
	hits := slices.DeleteFunc(sketch.Strikes(r.Reading, r.ShiftMS), func(hit sketch.Strike) bool { return !hit.Used })
	for i := range hits {
		now, _, _ := v.Lag(r.Voice, v.Setting, calib.PeriodMS(hits[i].TempoBPM))
		then, _, _ := v.Lag(r.Voice, r.Setting, calib.PeriodMS(hits[i].TempoBPM)) // neither where there is no law
		hits[i].LagMS += now - then
	}
	return evenly(hits, mostHits, func(sketch.Strike) bool { return false })
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
		Title:   i18n.F("Take %d · %s at %.1f BPM · plate at %s", r.Take.ID, r.Voice, r.Reading.TempoBPM, calib.SettingWords(r.Setting)),
		Reading: r.Reading,
	}
}

// ReportOf returns the report of a take of a machine, to which the sound must be
// added. Its advice is what the loop said right after the take, by the takes up to it.
func ReportOf(v *loop.View, r loop.Result) Report {
	m := v.Machine
	at := slices.IndexFunc(m.Takes, func(t machine.Take) bool { return t.ID == r.Take.ID })
	then := m.After(at)
	then.Takes, then.Target = slices.Clone(then.Takes), r.Take.Target
	then.Takes[at].Moved, then.Takes[at].LeftOut = nil, false
	said := loop.Look(then)
	one, _ := said.Result(r.Take.ID, r.Voice)
	do, why, reach := one.Do(), one.Why(), one.Outcome.HandsOn()
	if said.Follows(one) {
		do, why, reach = said.Do, said.Why, said.Reach // as the loop says it, of all voices of a song together
	}
	return Report{
		Machine: m.Build.Name, Take: *r.Take, Voice: r.Voice, Setting: r.Setting, Reading: r.Reading,
		Do: do, Why: why, Reach: reach, LimitMS: r.LimitMS, ToleranceMS: m.ToleranceMS, SongsBPM: m.SongsBPM(), Picture: PictureOf(r),
	}
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
// playing order, by the plan that the takes give, or all songs and every setting that was
// found tight at a tempo of none of them. Each line has the move from the line before it, the first
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
			LagMS: one.LagMS, RestMS: one.HalfMS, Rests: []VoiceRest{{target.Voice, one.LagMS, one.HalfMS}}, Stands: one.Stands,
		}
		if t := m.Take(one.TakeID); t != nil {
			line.Date = t.At
		}
		c.Lines = append(c.Lines, line)
	}
	return c
}

// Draw draws one of the figures of a machine for a paper. A view is never changed, so it
// may be called on any goroutine. It fails where the takes cannot be brought together.
type Draw func(v *loop.View, paper Paper) (*Figure, error)

// The figures of a machine: the setting card of today, each setting with the tempos at
// which it stays tight, and how the voices' lags have moved from day to day.
var (
	DrawCard  = drawn(func(v *loop.View, p Paper) *Figure { return CardOf(v, time.Now()).Figure(p) })
	DrawTable = drawn(func(v *loop.View, p Paper) *Figure { return StaircaseOf(v).Figure(p) })
	DrawDays  = drawn(func(v *loop.View, p Paper) *Figure { return DaysOf(v).Figure(p) })
)

// DrawCurve draws the curve with the set list on it and a song of it in hand; -1 is none.
func DrawCurve(song int) Draw {
	return drawn(func(v *loop.View, p Paper) *Figure { return p.onSide(SetListCurveOf(v, song).view(inks).paint) })
}

func drawn(draw func(v *loop.View, p Paper) *Figure) Draw {
	return func(v *loop.View, p Paper) (*Figure, error) {
		if v.Err != nil {
			return nil, v.Err
		}
		return draw(v, p), nil
	}
}

// DrawFan draws the hit fan of a reading as the window does, or a sweep with songs' tempos;
// limitMS is within what it is tight, if known.
func DrawFan(r calib.Reading, limitMS, toleranceMS float64, songsBPM ...float64) *Figure {
	return fanOf(r, limitMS, toleranceMS, songsBPM...).figure()
}

// hitFan is the hit fan on a page.
type hitFan sketch.Fan

func fanOf(r calib.Reading, limitMS, toleranceMS float64, songsBPM ...float64) hitFan {
	if sketch.IsLag(limitMS) {
		toleranceMS = max(toleranceMS, limitMS)
	}
	return hitFan(sketch.FanOf(r, toleranceMS, songsBPM...))
}

func (f hitFan) figure() *Figure { return printed(210*mm, 105*mm, f.paint) }

func (f hitFan) paint(p pen) {
	sketch.Fan(f).Draw(p.Pen, inks, p.base(),
		i18n.L("No pairs yet: once reference and voice have struck, every pair is laid over the others here."))
}

// songLines are the card's lines for the songs of the set list. Before the first take
// there are none: no setting stands on anything yet.
func songLines(v *loop.View) []Settled {
	read, latest := readVoices(v)
	if len(read) == 0 {
		return nil
	}
	var lines []Settled
	for i, one := range v.Songs {
		line := songLine(one, read)
		if i == 0 {
			line.MoveSteps = one.Setting // the card's first move starts from setting 0
		}
		if line.Stands.Enough() {
			line.Date = latest
		}
		lines = append(lines, line)
	}
	return lines
}

// songLine is a song's line. What is left of a voice that no take has read would
// be a guess, and stays unknown.
func songLine(one loop.Song, read map[string]bool) Settled {
	line := Settled{
		Song: one.Name, TempoBPM: one.TempoBPM, SettingSteps: one.Setting, MoveSteps: one.Move,
		LagMS: math.NaN(),
	}
	var voices []string
	known := true
	for _, part := range one.Parts {
		voices = append(voices, part.Voice)
		known = known && read[part.Voice]
		if read[part.Voice] {
			line.Rests = append(line.Rests, VoiceRest{part.Voice, part.LagMS, part.HalfMS})
		}
	}
	line.Voice = strings.Join(voices, ", ")
	if !known || len(voices) == 0 {
		return line
	}
	worst := one.Worst()
	if len(voices) > 1 {
		line.LagVoice = worst.Voice
	}
	line.WindowBPM = [2]float64{one.LowBPM, one.HighBPM}
	line.LagMS, line.RestMS, line.Stands = worst.LagMS, worst.HalfMS, one.Stands
	return line
}

// readVoices returns the voices that a usable take has read, and when the latest
// such take was made.
func readVoices(v *loop.View) (read map[string]bool, latest time.Time) {
	read = map[string]bool{}
	for _, results := range v.Results {
		for _, r := range results {
			if !r.Take.LeftOut && r.Outcome.Read() {
				read[r.Voice], latest = true, r.Take.At
			}
		}
	}
	return read, latest
}

// SetListCurveOf returns the curve of a machine with a set list: of all voices, with
// the laws and the songs; picked is the index of the song picked, -1 for none. Without
// songs it is that of the voice aimed at.
func SetListCurveOf(v *loop.View, picked int) Curve {
	voices := v.Machine.Build.Voices
	if len(v.Songs) == 0 {
		voices = []string{v.Machine.Target.Voice}
	}
	c := CurveOf(v, voices...)
	c.CoversBPM = v.Machine.SongsBPM()
	c.Laws = slices.DeleteFunc(c.Laws, func(law CurveLaw) bool { return len(v.Songs) > 0 && !law.Current })
	for i, line := range songLines(v) {
		song := CurveSong{
			Name: line.Song, TempoBPM: line.TempoBPM, Setting: line.SettingSteps, WindowBPM: line.WindowBPM, Picked: i == picked,
		}
		for _, rest := range line.Rests {
			song.Laws = append(song.Laws, lawOf(v, rest.Voice, line.SettingSteps, false))
		}
		c.Songs = append(c.Songs, song)
	}
	return c
}
