package plotting

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// weirSession is a session of the scenario: two voices, the first tuned at two
// tempos, one take of it a whole beat out, and one take that could not be used.
func weirSession() session.Session {
	plate := calib.Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6}
	law := calib.Law{DelayMS: 245, StepBeats: plate.StepBeats()}
	take := func(id int, voice string, bpm float64, setting int, shift float64, outcome calib.Outcome) session.Take {
		lag, _ := law.Lag(calib.PeriodMS(bpm), float64(setting))
		var pairs []calib.Pair
		for i := range 5 {
			pairs = append(pairs, calib.Pair{ReferenceS: float64(i), LagMS: lag - shift, Used: i > 0, Reason: ""})
		}
		return session.Take{
			ID: id, Target: session.Target{TempoBPM: bpm, Voice: voice}, Setting: setting, At: time.Date(2026, 11, id, 9, 0, 0, 0, time.UTC),
			Reading: calib.Reading{TempoBPM: bpm, ReferencePeriodMS: calib.PeriodMS(bpm), LagMS: lag - shift, LagCI95MS: [2]float64{lag - shift - 1, lag - shift + 1}, Pairs: pairs},
			Advice:  calib.Advice{Outcome: outcome, At: setting, ShiftMS: shift, LagMS: lag},
		}
	}
	return session.Session{
		Name: "Lock gate rehearsal", ToleranceMS: 5,
		Machine: session.Machine{Name: "Weir Lane No. 2", Plate: plate, Voices: []string{"tub drum", "elm block"}},
		Target:  session.Target{TempoBPM: 120, Voice: "tub drum"},
		Takes: []session.Take{
			take(1, "tub drum", 72, 0, 0, calib.Move),
			take(2, "tub drum", 72, 21, 0, calib.Converged),
			take(3, "elm block", 72, 21, 0, calib.Move),
			take(4, "tub drum", 120, 0, 500, calib.Move),
			take(5, "tub drum", 120, 21, 0, calib.TooNoisy),
			take(6, "tub drum", 120, 35, 0, calib.Converged),
		},
	}
}

func TestCurveOf(t *testing.T) {
	s := weirSession()
	c := CurveOf(s, "tub drum")
	if c.Title != "Weir Lane No. 2" || c.Voice != "tub drum" || c.TargetBPM != 120 || c.ToleranceMS != 5 {
		t.Errorf("curve of %q, %q, wanted %g, ±%g", c.Title, c.Voice, c.TargetBPM, c.ToleranceMS)
	}
	if len(c.Takes) != 5 { // not the other voice's
		t.Fatalf("%d takes, want 5", len(c.Takes))
	}
	shifted := c.Takes[2]
	if math.Abs(shifted.LagMS-245) > 1e-9 || math.Abs(shifted.CI95MS[0]-244) > 1e-9 {
		t.Errorf("the take a beat out is drawn at %.1f ms %v, want 245 ± 1", shifted.LagMS, shifted.CI95MS)
	}
	if !c.Takes[1].Converged || c.Takes[0].Converged || !c.Takes[4].Current || c.Takes[0].Current {
		t.Errorf("converged and current takes are mixed up: %+v", c.Takes)
	}
	var settings []int
	for _, law := range c.Laws {
		settings = append(settings, law.Setting)
		if law.Current != (law.Setting == 35) {
			t.Errorf("law at %d: current is %v", law.Setting, law.Current)
		}
	}
	if len(settings) != 2 || settings[0] != 35 || settings[1] != 21 {
		t.Errorf("laws at %v, want 35 (where the plate stands) and 21", settings)
	}
	// Where the law says the voice is tight, its line crosses zero.
	lag, _ := c.Laws[0].LagMS(245 * 72 / 35.0)
	if math.Abs(lag) > 1 {
		t.Errorf("the law at +35 is %.2f ms where it should strike together", lag)
	}
	if other := CurveOf(s, "elm block"); other.TargetBPM != 0 || len(other.Takes) != 1 {
		t.Errorf("the other voice: wanted %g, %d takes", other.TargetBPM, len(other.Takes))
	}
	both := CurveOf(s, "elm block", "tub drum")
	if both.Voice != "" || both.TargetBPM != 120 || len(both.Takes) != 6 || len(both.Laws) != 3 || !both.Takes[5].Current || both.Takes[0].Current || both.Takes[0].Voice != "elm block" {
		t.Errorf("both voices: %+v", both)
	}
	if turned := CurveOf(s, "tub drum", "elm block"); !turned.Takes[4].Current || turned.Takes[5].Current {
		t.Errorf("the latest take is not the current one: %+v", turned.Takes)
	}
	if empty := CurveOf(session.Session{}, "tub drum"); len(empty.Takes) != 0 || len(empty.Laws) != 0 {
		t.Errorf("a session without takes has curve %+v", empty)
	}
}

func TestCardOf(t *testing.T) {
	c, err := CardOf(weirSession(), time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	if c.Machine != "Weir Lane No. 2" || c.Session != "Lock gate rehearsal" || c.NotchesPerTurn != 120 {
		t.Errorf("card of %q, %q, %d notches", c.Machine, c.Session, c.NotchesPerTurn)
	}
	if len(c.Lines) != 2 {
		t.Fatalf("%d lines, want 2", len(c.Lines))
	}
	first, second := c.Lines[0], c.Lines[1]
	if !first.Verified || first.RestMS != 0 || c.words()[0].before != 0 {
		t.Errorf("first line %+v", first)
	}
	if first.TempoBPM != 72 || first.SettingSteps != 21 || first.MoveSteps != 21 || first.Date.Day() != 2 {
		t.Errorf("first line %+v", first)
	}
	if second.TempoBPM != 120 || second.SettingSteps != 35 || second.MoveSteps != 14 || second.Voice != "tub drum" {
		t.Errorf("second line %+v", second)
	}
}

func TestFanOf(t *testing.T) {
	f := FanOf(weirSession().Takes[0], 5)
	if len(f.LagsMS) != 5 || f.Used[0] || !f.Used[4] || f.CentreMS != 245 || f.CI95MS != [2]float64{244, 246} || f.ToleranceMS != 5 {
		t.Errorf("fan %+v", f)
	}
}

// setList is weirSession, its moves told, with a set list that is not in order of
// tempo. All voices play the last song.
func setList() session.Session {
	s := weirSession()
	for i := range s.Takes[1:] {
		s.Takes[i].Moved = &session.Move{Steps: s.Takes[i+1].Setting - s.Takes[i].Setting}
	}
	s.Songs = []session.Song{
		{Name: "Barge horn", TempoBPM: 120, Voices: []string{"tub drum"}},
		{Name: "Sluice", TempoBPM: 72, Voices: []string{"tub drum"}},
		{Name: "Towpath", TempoBPM: 96},
	}
	return s
}

func cardOf(t *testing.T, s session.Session) Card {
	t.Helper()
	c, err := CardOf(s, time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// The scenario's voice takes 245 ms, and a beat of 60,000/BPM ms has 72 steps (120
// notches a turn, 0.6 turns a beat): so many steps ahead it strikes on the beat.
func TestCardOfSetList(t *testing.T) {
	s := setList()
	c := cardOf(t, s)
	if len(c.Lines) != 3 {
		t.Fatalf("%d lines, want a line a song: %+v", len(c.Lines), c.Lines)
	}
	before := 0
	for i, line := range c.Lines {
		song := s.Songs[i]
		steps := 245 / (60000 / song.TempoBPM) * 120 * 0.6
		if line.Song != song.Name || line.TempoBPM != song.TempoBPM || math.Abs(float64(line.SettingSteps)-steps) > 1 {
			t.Errorf("line %d is %s, %g BPM at %+d; want %s, %g BPM at %+.1f", i+1, line.Song, line.TempoBPM, line.SettingSteps, song.Name, song.TempoBPM, steps)
		}
		if line.MoveSteps != line.SettingSteps-before {
			t.Errorf("%s: move %+d from %+d to %+d", line.Song, line.MoveSteps, before, line.SettingSteps)
		}
		before = line.SettingSteps
		if !(line.WindowBPM[0] < song.TempoBPM && song.TempoBPM < line.WindowBPM[1]) || !(line.RestMS > 0 && line.RestMS < 20) {
			t.Errorf("%s: window %v, rest ± %g", line.Song, line.WindowBPM, line.RestMS)
		}
	}
	if last := c.Lines[2]; last.Voice != "tub drum, elm block" || !slices.Contains(s.Machine.Voices, last.LagVoice) {
		t.Errorf("of all voices: %+v", last)
	}
	if first := c.Lines[0]; first.Voice != "tub drum" || first.LagVoice != "" {
		t.Errorf("of one voice: %+v", first)
	}
}

func TestCardOfSetListAgreesWithThePlan(t *testing.T) {
	s := setList()
	made, err := bench.PlanOf(s)
	if err != nil {
		t.Fatal(err)
	}
	c := cardOf(t, s)
	for i, line := range c.Lines {
		one := made.Songs[i]
		worst := one.Worst()
		if line.SettingSteps != one.Setting || line.LagMS != worst.LagMS || line.RestMS != worst.HalfMS ||
			line.WindowBPM != [2]float64{one.LowBPM, one.HighBPM} || line.Verified != one.Verified {
			t.Errorf("line %+v of %+v", line, one)
		}
		if i > 0 && line.MoveSteps != one.Move {
			t.Errorf("%s: move %+d, the plan says %+d", line.Song, line.MoveSteps, one.Move)
		}
		for j, rest := range line.Rests {
			if part := one.Parts[j]; rest != (VoiceRest{part.Voice, part.LagMS, part.HalfMS}) {
				t.Errorf("%s: rest %+v of %+v", line.Song, rest, part)
			}
		}
		if len(line.Rests) != len(one.Parts) {
			t.Errorf("%s: %d rests of %d voices", line.Song, len(line.Rests), len(one.Parts))
		}
		if line.Verified == line.Date.IsZero() {
			t.Errorf("%s: verified %v on %v", line.Song, line.Verified, line.Date)
		}
	}
}

func TestCardOfSetListOnPaper(t *testing.T) {
	s := setList()
	f, err := cardOf(t, s).Figure()
	if err != nil {
		t.Fatal(err)
	}
	words := strings.Join(strings.Fields(poppler(t, "pdftotext", "-layout", savePDF(t, f), "-")), " ")
	words = strings.ReplaceAll(words, "–", "−") // the same glyph in its font
	for _, line := range cardOf(t, s).Lines {
		for _, want := range []string{line.Song, signed(line.SettingSteps), moveWord(line.MoveSteps), windowWords(line.WindowBPM)} {
			if want == "" || !strings.Contains(words, want) {
				t.Errorf("%s: the page lacks %q:\n%s", line.Song, want, words)
			}
		}
	}
}

// What no take has read is not claimed.
func TestCardOfSetListBeforeItsTakes(t *testing.T) {
	s := setList()
	s.Takes = slices.DeleteFunc(s.Takes, func(t session.Take) bool { return t.Target.Voice == "elm block" })
	c := cardOf(t, s)
	if !finite(c.Lines[0].LagMS) || c.Lines[0].RestMS == 0 {
		t.Errorf("a song whose voice has takes: %+v", c.Lines[0])
	}
	unread := c.Lines[2]
	if len(unread.Rests) != 1 || unread.Rests[0].Voice != "tub drum" {
		t.Errorf("of the voices with takes: %+v", unread.Rests)
	}
	if unread.Verified || finite(unread.LagMS) || unread.RestMS != 0 || unread.WindowBPM != [2]float64{} || !slices.Contains(c.words()[2].details, listenFirst()) {
		t.Errorf("a song with a voice that has none: %+v", unread)
	}
	s.Takes = nil
	if c := cardOf(t, s); len(c.Lines) != 0 {
		t.Errorf("settings out of nothing: %+v", c.Lines)
	}
	s.Songs[1].Voices = []string{"gong"}
	if _, err := CardOf(s, time.Now()); err == nil || !strings.Contains(err.Error(), "gong") {
		t.Errorf("a voice that the machine has not got: %v", err)
	}
}

func TestSetListCurveOf(t *testing.T) {
	s := setList()
	made, err := bench.PlanOf(s)
	if err != nil {
		t.Fatal(err)
	}
	c := SetListCurveOf(s, made, 1)
	if c.Voice != "" || len(c.Takes) != 6 || len(c.Songs) != 3 {
		t.Fatalf("curve of %q with %d takes and %d songs", c.Voice, len(c.Takes), len(c.Songs))
	}
	for i, song := range c.Songs {
		one := made.Songs[i]
		if song.Name != s.Songs[i].Name || song.TempoBPM != s.Songs[i].TempoBPM || song.Setting != one.Setting ||
			song.WindowBPM != [2]float64{one.LowBPM, one.HighBPM} || song.Picked != (i == 1) {
			t.Errorf("%+v of %+v", song, one)
		}
	}
	s.Songs = nil
	if c := SetListCurveOf(s, bench.Plan{}, 0); c.Voice != "tub drum" || len(c.Songs) != 0 {
		t.Errorf("without songs: %+v", c)
	}
}
