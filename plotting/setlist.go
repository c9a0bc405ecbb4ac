package plotting

import (
	"math"
	"strings"
	"time"

	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// songLines are the card's lines for the songs of a plan. Before the first take
// there are none: no setting stands on anything yet.
func songLines(s session.Session, songs []bench.Planned) []Settled {
	read, latest := readVoices(s)
	if len(read) == 0 {
		return nil
	}
	var lines []Settled
	for i, one := range songs {
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
func songLine(one bench.Planned, read map[string]bool) Settled {
	line := Settled{
		Song: one.Song.Name, TempoBPM: one.Song.TempoBPM, SettingSteps: one.Setting, MoveSteps: one.Move,
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
func readVoices(s session.Session) (read map[string]bool, latest time.Time) {
	read = map[string]bool{}
	for _, t := range s.Takes {
		for _, voice := range t.Voices() {
			as, _ := t.As(voice)
			if _, ok := as.Point(); ok {
				read[voice], latest = true, t.At
			}
		}
	}
	return read, latest
}

// SetListCurveOf returns the curve of a session with a set list: of all voices,
// with the laws and the songs as the plan has them; picked is the index of the
// song picked, -1 for none. Without songs it is that of the voice aimed at.
func SetListCurveOf(s session.Session, made bench.Plan, picked int) Curve {
	if len(s.Songs) == 0 {
		return CurveOf(s, s.Target.Voice)
	}
	c := CurveOf(s, s.Machine.Voices...)
	read, _ := readVoices(s)
	if len(made.Songs) > 0 {
		c.Laws = nil
		for _, voice := range s.Machine.Voices {
			if read[voice] {
				c.Laws = append(c.Laws, planLaw(made, voice, s.Setting(), true))
			}
		}
	}
	for i, line := range songLines(s, made.Songs) {
		song := CurveSong{
			Name: line.Song, TempoBPM: line.TempoBPM, Setting: line.SettingSteps, WindowBPM: line.WindowBPM, Picked: i == picked,
		}
		for _, rest := range line.Rests {
			song.Laws = append(song.Laws, planLaw(made, rest.Voice, line.SettingSteps, false))
		}
		c.Songs = append(c.Songs, song)
	}
	return c
}

// planLaw is a voice's law at a setting by all takes together.
func planLaw(made bench.Plan, voice string, setting int, current bool) CurveLaw {
	return CurveLaw{Setting: setting, Voice: voice, Current: current, LagMS: func(periodMS float64) (lag, sd float64) {
		lag, sd, ok := made.Lag(voice, setting, periodMS)
		if !ok {
			return math.NaN(), 0
		}
		return lag, sd
	}}
}
