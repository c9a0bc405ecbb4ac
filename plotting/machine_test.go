package plotting

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// The machine's drum falls 245 ms, its block 240, and a beat has 72 steps.
const drumMS, blockMS = 245, 240

var (
	weirPlate = calib.Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6}
	cardDay   = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
)

// weirMachine is a machine of two voices, the first tuned at two tempos; the fourth
// take reads a whole beat out.
func weirMachine() machine.Machine {
	m := machine.Machine{
		ToleranceMS: 5,
		Build:       machine.Build{Name: "Weir Lane No. 2", Plate: weirPlate, Voices: []string{"tub drum", "elm block"}},
		Target:      machine.Target{TempoBPM: 120, Voice: "tub drum"},
	}
	for i, one := range []struct {
		voice        string
		delayMS, bpm float64
		setting      int
		shiftMS      float64
	}{{"tub drum", drumMS, 72, 0, 0}, {"tub drum", drumMS, 72, 21, 0}, {"elm block", blockMS, 72, 0, 0},
		{"tub drum", drumMS, 120, 0, 500}, {"tub drum", drumMS, 120, 21, 0}, {"tub drum", drumMS, 120, 35, 0}} {
		lag, _ := calib.Law{DelayMS: one.delayMS, StepBeats: weirPlate.StepBeats()}.Lag(calib.PeriodMS(one.bpm), float64(one.setting))
		lag -= one.shiftMS
		var pairs []calib.Pair
		for beat := range 5 {
			pairs = append(pairs, calib.Pair{ReferenceS: float64(beat), LagMS: lag, Used: beat > 0})
		}
		if i > 0 {
			m.Takes[i-1].Moved = &machine.Move{Steps: one.setting - m.Setting(), For: m.Target}
		}
		m.Takes = append(m.Takes, machine.Take{
			ID: i + 1, Target: machine.Target{TempoBPM: one.bpm, Voice: one.voice}, At: time.Date(2026, 11, i+1, 9, 0, 0, 0, time.UTC),
			Heard: []machine.Heard{{Voice: one.voice, Reading: calib.Reading{TempoBPM: one.bpm, ReferencePeriodMS: calib.PeriodMS(one.bpm),
				LagMS: lag, LagCI95MS: [2]float64{lag - 1, lag + 1}, Pairs: pairs}}},
		})
	}
	return m
}

// setList is weirMachine with a set list that is not in order of tempo. All voices play
// the last song.
func setList() machine.Machine {
	m := weirMachine()
	m.Songs = []machine.Song{
		{Name: "Barge horn", TempoBPM: 120, Voices: []string{"tub drum"}},
		{Name: "Sluice", TempoBPM: 72, Voices: []string{"tub drum"}},
		{Name: "Towpath", TempoBPM: 96},
	}
	return m
}

func look(m machine.Machine) *loop.View {
	v := loop.Look(m)
	return &v
}

func TestCurveOf(t *testing.T) {
	v := look(weirMachine())
	c := CurveOf(v, "tub drum")
	if c.Title != "Weir Lane No. 2" || c.Voice != "tub drum" || c.TargetBPM != 120 || c.ToleranceMS != 5 {
		t.Errorf("curve of %q, %q, wanted %g, ±%g", c.Title, c.Voice, c.TargetBPM, c.ToleranceMS)
	}
	if len(c.Takes) != 5 { // not the other voice's
		t.Fatalf("%d takes, want 5", len(c.Takes))
	}
	shifted := c.Takes[2]
	if math.Abs(shifted.LagMS-drumMS) > 1e-9 || math.Abs(shifted.CI95MS[0]-244) > 1e-9 {
		t.Errorf("the take a beat out is drawn at %.1f ms %v, want 245 ± 1", shifted.LagMS, shifted.CI95MS)
	}
	if !c.Takes[1].Converged || c.Takes[0].Converged || !c.Takes[4].Current || c.Takes[0].Current {
		t.Errorf("converged and current takes are mixed up: %+v", c.Takes)
	}
	for i, take := range c.Shown(2, "tub drum").Takes {
		if take.Current != (i == 1) {
			t.Errorf("take 2 shown, the halo on take %d: %v", take.Take, take.Current)
		}
	}
	var settings []int
	for _, law := range c.Laws {
		settings = append(settings, law.Setting)
		if law.Current != (law.Setting == 35) {
			t.Errorf("law at %d: current is %v", law.Setting, law.Current)
		}
	}
	if !slices.Equal(settings, []int{35, 21}) {
		t.Errorf("laws at %v, want 35 (where the plate stands) and 21", settings)
	}
	// Where the law says the voice is tight, its line crosses zero.
	lag, _ := c.Laws[0].LagMS(drumMS * 72 / 35.0)
	if math.Abs(lag) > 1 {
		t.Errorf("the law at +35 is %.2f ms where it should strike together", lag)
	}
	if other := CurveOf(v, "elm block"); other.TargetBPM != 0 || len(other.Takes) != 1 {
		t.Errorf("the other voice: wanted %g, %d takes", other.TargetBPM, len(other.Takes))
	}
	both := CurveOf(v, "elm block", "tub drum")
	if both.Voice != "" || both.TargetBPM != 120 || len(both.Takes) != 6 || len(both.Laws) != 3 || !both.Takes[5].Current || both.Takes[2].Voice != "elm block" {
		t.Errorf("both voices: %+v", both)
	}
	if empty := CurveOf(look(machine.Machine{}), "tub drum"); len(empty.Takes) != 0 || len(empty.Laws) != 0 {
		t.Errorf("a machine without takes has curve %+v", empty)
	}
}

// What is left out is not on the curve, nor what has no pairs; what does not count is a cross,
// and what is tight at its target is so where it was played only if it is tight there.
func TestCurveOfUsableTakes(t *testing.T) {
	m := weirMachine()
	m.Takes[4].LeftOut = true
	m.Takes[5].Heard[0].Reading.Warnings = []calib.Warning{{Code: calib.WarnDropOut}}
	c := CurveOf(look(m), "tub drum")
	if len(c.Takes) != 4 || !c.Takes[3].Current || !c.Takes[3].Disputed || c.Takes[2].Disputed || c.Takes[2].Setting != 0 {
		t.Errorf("takes %+v, want the first three of the drum, and its last as one that does not count", c.Takes)
	}
	if key := svgTexts(t, c.Figure(inks)); !slices.Contains(key, "take not counted") {
		t.Errorf("the key does not say what a cross means: %q", key)
	}
	m.Takes[5].Heard[0].Reading.Pairs = nil
	if c = CurveOf(look(m), "tub drum"); len(c.Takes) != 3 {
		t.Errorf("%d takes with one of no pairs, want 3", len(c.Takes))
	}
	v := look(weirMachine())
	for i := range v.Results[1] {
		v.Results[1][i].Reading.LagMS += 50 // as where a sweep's mean lies
	}
	if c = CurveOf(v, "tub drum"); c.Takes[1].Converged {
		t.Errorf("a take %g ms late where it was played is drawn as tight", c.Takes[1].LagMS)
	}
}

func TestCardOf(t *testing.T) {
	c := cardOf(t, weirMachine())
	if c.Machine != "Weir Lane No. 2" || c.NotchesPerTurn != 120 {
		t.Errorf("card of %q, %d notches", c.Machine, c.NotchesPerTurn)
	}
	if len(c.Lines) != 2 {
		t.Fatalf("%d lines, want 2: %+v", len(c.Lines), c.Lines)
	}
	first, second := c.Lines[0], c.Lines[1]
	if first.Stands != loop.Verified || second.Stands != loop.Verified || !(first.RestMS > 0 && first.RestMS <= 1.01) || math.Abs(first.LagMS-1.94) > 0.1 {
		t.Errorf("first line %+v", first)
	}
	if first.TempoBPM != 72 || first.SettingSteps != 21 || first.MoveSteps != 21 || first.Date.Day() != 2 {
		t.Errorf("first line %+v", first)
	}
	if second.TempoBPM != 120 || second.SettingSteps != 35 || second.MoveSteps != 14 || second.Voice != "tub drum" {
		t.Errorf("second line %+v", second)
	}
}

// A song that is added takes nothing off the card: the settings of other tempos follow it.
func TestCardKeepsSettingsBesideSongs(t *testing.T) {
	m := weirMachine()
	m.Songs = []machine.Song{{Name: "Mill tune", TempoBPM: 100}}
	c := cardOf(t, m)
	if len(c.Lines) != 3 || c.Lines[0].Song != "Mill tune" {
		t.Fatalf("lines %+v, want the song's and two settings", c.Lines)
	}
	for i, want := range []struct {
		bpm     float64
		setting int
	}{{72, 21}, {120, 35}} {
		line, before := c.Lines[i+1], c.Lines[i]
		if line.TempoBPM != want.bpm || line.SettingSteps != want.setting || line.Stands < loop.Sure || line.MoveSteps != line.SettingSteps-before.SettingSteps {
			t.Errorf("line %+v, want %g BPM at %+d", line, want.bpm, want.setting)
		}
	}
	m.Songs = append(m.Songs, machine.Song{Name: "Lock tune", TempoBPM: 72})
	if c = cardOf(t, m); len(c.Lines) != 3 {
		t.Errorf("a setting that a song has stands twice: %+v", c.Lines)
	}
}

func TestFanOf(t *testing.T) {
	r, _ := look(weirMachine()).Result(1, "tub drum")
	f := fanOf(r.Reading, r.LimitMS, 5)
	if len(f.Pairs) != 5 || f.Pairs[0].Used || !f.Pairs[4].Used || f.LagMS != 245 || f.LagCI95MS != [2]float64{244, 246} || f.ToleranceMS != r.LimitMS {
		t.Errorf("fan %+v", f)
	}
}

// A report says what the take led to by the takes up to it, with what was done after it.
func TestReportOf(t *testing.T) {
	m := weirMachine()
	m.Takes[3].LeftOut, m.Takes[3].Notes, m.Takes[3].Target.Song = true, "the gate sticks", "Mill tune"
	m.Takes[3].Heard[0].ByHand = &machine.ByHand{Edits: make([]machine.Edit, 2)}
	r, _ := look(m).Result(4, "tub drum")
	report := ReportOf(look(m), r)
	if report.Setting != 0 || report.Take.ID != 4 || report.Voice != "tub drum" || report.Do != "Stop the crank, then turn the plate 35 steps ahead" || !report.Reach {
		t.Errorf("report %+v", report)
	}
	words := report.Words()
	for _, want := range []string{"Take 4 · ", "song: Mill tune\n", "target 120 BPM", "This take is left out", "Hits changed by hand: 2.", "the gate sticks", "Then it was turned 21 ahead."} {
		if !strings.Contains(words, want) {
			t.Errorf("the words lack %q:\n%s", want, words)
		}
	}
	r, _ = look(m).Result(6, "tub drum")
	if report = ReportOf(look(m), r); report.Setting != 35 || report.Reach || report.Take.LeftOut || report.Take.Moved != nil || report.LimitMS != 5 {
		t.Errorf("report of a tight take %+v", report)
	}
	first := weirMachine()
	first.Takes = first.Takes[:1]
	first.Takes[0].Moved, first.Target = nil, first.Takes[0].Target
	then := look(first)
	r, _ = look(m).Result(1, "tub drum")
	if report = ReportOf(look(m), r); report.Do != then.Do || report.Why != then.Why || report.Why == r.Why() {
		t.Errorf("the loop said %q of the first take, and the report says %q: %s", then.Do, report.Do, report.Why)
	}
}

func cardOf(t *testing.T, m machine.Machine) Card {
	t.Helper()
	v := look(m)
	if v.Err != nil {
		t.Fatal(v.Err)
	}
	return CardOf(v, cardDay)
}

// So many of a beat's 72 steps ahead a voice strikes on the beat; the card says what
// the view does.
func TestCardOfSetList(t *testing.T) {
	m := setList()
	v, c := look(m), cardOf(t, m)
	if len(c.Lines) != 3 {
		t.Fatalf("%d lines, want a line a song: %+v", len(c.Lines), c.Lines)
	}
	before := 0
	for i, line := range c.Lines {
		song, one := m.Songs[i], v.Songs[i]
		steps := drumMS / (60000 / song.TempoBPM) * 72
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
		worst := one.Worst()
		if line.SettingSteps != one.Setting || line.LagMS != worst.LagMS || line.RestMS != worst.HalfMS || len(line.Rests) != len(one.Parts) ||
			line.WindowBPM != [2]float64{one.LowBPM, one.HighBPM} || line.Stands != one.Stands || line.Stands.Enough() == line.Date.IsZero() {
			t.Errorf("line %+v of %+v", line, one)
		}
	}
	if last := c.Lines[2]; last.Voice != "tub drum, elm block" || !slices.Contains(m.Build.Voices, last.LagVoice) {
		t.Errorf("of all voices: %+v", last)
	}
	if first := c.Lines[0]; first.Voice != "tub drum" || first.LagVoice != "" {
		t.Errorf("of one voice: %+v", first)
	}
}

func TestCardOfSetListOnPaper(t *testing.T) {
	c := cardOf(t, setList())
	f := c.Figure(A5)
	words := strings.Join(strings.Fields(poppler(t, "pdftotext", "-layout", savePDF(t, f), "-")), " ")
	words = strings.ReplaceAll(words, "–", "−") // the same glyph in its font
	for _, line := range c.Lines {
		for _, want := range []string{line.Song, calib.SettingWords(line.SettingSteps), moveWord(line.MoveSteps), windowWords(line.WindowBPM, line.TempoBPM)} {
			if want == "" || !strings.Contains(words, want) {
				t.Errorf("%s: the page lacks %q:\n%s", line.Song, want, words)
			}
		}
	}
}

// What no take has read is not claimed.
func TestCardOfSetListBeforeItsTakes(t *testing.T) {
	m := setList()
	m.Takes = slices.Delete(m.Takes, 2, 3) // the block's
	c := cardOf(t, m)
	if !finite(c.Lines[0].LagMS) || c.Lines[0].RestMS == 0 {
		t.Errorf("a song whose voice has takes: %+v", c.Lines[0])
	}
	unread := c.Lines[2]
	if len(unread.Rests) != 1 || unread.Rests[0].Voice != "tub drum" {
		t.Errorf("of the voices with takes: %+v", unread.Rests)
	}
	if unread.Stands >= loop.Sure || finite(unread.LagMS) || unread.RestMS != 0 || unread.WindowBPM != [2]float64{} || !slices.Contains(c.Lines[2].words("").details, listenFirst()) {
		t.Errorf("a song with a voice that has none: %+v", unread)
	}
	m.Takes = nil
	if c := cardOf(t, m); len(c.Lines) != 0 {
		t.Errorf("settings out of nothing: %+v", c.Lines)
	}
	m.Build.Voices = nil
	if _, err := DrawCard(look(m), A5); err == nil {
		t.Error("a card of a machine without voices")
	}
}

func TestSetListCurveOf(t *testing.T) {
	m := setList()
	v := look(m)
	c := SetListCurveOf(v, 1)
	if c.Voice != "" || len(c.Takes) != 6 || len(c.Songs) != 3 || len(c.Laws) != 2 {
		t.Fatalf("curve of %q with %d takes, %d songs and %d laws", c.Voice, len(c.Takes), len(c.Songs), len(c.Laws))
	}
	for i, song := range c.Songs {
		one := v.Songs[i]
		if song.Name != m.Songs[i].Name || song.TempoBPM != m.Songs[i].TempoBPM || song.Setting != one.Setting ||
			song.WindowBPM != [2]float64{one.LowBPM, one.HighBPM} || song.Picked != (i == 1) || len(song.Laws) != len(one.Parts) {
			t.Errorf("%+v of %+v", song, one)
		}
	}
	m.Songs = nil
	if c := SetListCurveOf(look(m), 0); c.Voice != "tub drum" || len(c.Songs) != 0 || len(c.CoversBPM) != len(m.SetList()) {
		t.Errorf("without songs: %+v", c)
	}
}
