package plotting

import (
	"math"
	"slices"
	"strings"
	"time"

	"lagwright/calib/loop"
)

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
		if line.Verified {
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
	line.LagMS, line.RestMS, line.Verified, line.Apart = worst.LagMS, worst.HalfMS, one.Verified, one.Hopeless
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
	for _, song := range v.Machine.SetList() {
		c.CoversBPM = append(c.CoversBPM, song.TempoBPM)
	}
	if len(v.Songs) == 0 {
		return c
	}
	c.Laws = slices.DeleteFunc(c.Laws, func(law CurveLaw) bool { return !law.Current })
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
