package plotting

import (
	"math"
	"math/rand/v2"
	"time"

	"lagwright/calib"
	"lagwright/calib/loop"
)

// The tests' invented scenario: Weir Lane No. 2, whose tub drum is 142 ms and
// 0.031 beats late and whose plate has 48 notches, 96 steps to a beat.
const (
	weirDelayMS   = 142.0
	weirAngle     = 0.031
	weirStepBeats = 1.0 / 96
)

func weirLag(bpm float64, setting int) float64 {
	p := 60000 / bpm
	return weirDelayMS + weirAngle*p - weirStepBeats*float64(setting)*p
}

func weirLaw(setting int, current bool) CurveLaw {
	return CurveLaw{Setting: setting, Current: current, LagMS: func(p float64) (float64, float64) {
		return weirLag(60000/p, setting), 1 + 4*math.Abs(p-620)/620
	}}
}

func weirTake(bpm, noise float64, setting int) CurveTake {
	lag := weirLag(bpm, setting) + noise
	return CurveTake{
		TempoBPM: bpm, LagMS: lag, CI95MS: [2]float64{lag - 2.4, lag + 2.4},
		Setting: setting, Converged: math.Abs(lag) <= 6,
	}
}

func weirCurve() Curve {
	c := Curve{
		Title: "Weir Lane No. 2", Voice: "tub drum", ToleranceMS: 6, TargetBPM: 104,
		Takes: []CurveTake{
			weirTake(72, 1.1, 0), weirTake(112, -2, 0), weirTake(96, 0.7, 10), weirTake(72, -0.5, 20),
			weirTake(96, 1.2, 25), weirTake(112, -1.3, 28), weirTake(104, 0.4, 27),
		},
		Laws: []CurveLaw{weirLaw(0, false), weirLaw(10, false), weirLaw(20, false), weirLaw(27, true)},
	}
	c.Takes[len(c.Takes)-1].Current = true
	return c
}

// weirVoices is the curve with an elm block and a brass bar beside the tub drum,
// and the spring set list's tempo windows.
func weirVoices(songs int) Curve {
	c := weirCurve()
	c.Voice = ""
	for i := range c.Takes {
		c.Takes[i].Voice = "tub drum"
	}
	c.Laws = []CurveLaw{weirLaw(20, false), weirLaw(27, true)}
	for i, voice := range []string{"elm block", "brass bar"} {
		shift := 14 - 31*float64(i)
		for _, take := range []CurveTake{weirTake(72, shift, 20), weirTake(96, shift+1, 25), weirTake(118, shift, 34)} {
			take.Voice, take.Converged = voice, math.Abs(take.LagMS) < 6
			c.Takes = append([]CurveTake{take}, c.Takes...)
		}
		for _, law := range []CurveLaw{weirLaw(20, false), weirLaw(27, true)} {
			c.Laws = append(c.Laws, shifted(law, voice, shift))
		}
	}
	for i := range c.Laws {
		if c.Laws[i].Voice == "" {
			c.Laws[i].Voice = "tub drum"
		}
	}
	c.Songs = weirSongs(songs)
	return c
}

// shifted is the law of another voice, so many ms later.
func shifted(law CurveLaw, voice string, ms float64) CurveLaw {
	lag := law.LagMS
	law.LagMS = func(p float64) (float64, float64) { l, sd := lag(p); return l + ms, sd }
	law.Voice = voice
	return law
}

// weirSongs are the songs of the card on the curve, the third picked, for the tub
// drum and, every second one, the elm block.
func weirSongs(n int) []CurveSong {
	var songs []CurveSong
	for i, line := range weirCard(n).Lines {
		songs = append(songs, CurveSong{line.Song, line.TempoBPM, line.SettingSteps, line.WindowBPM, i == 2, []CurveLaw{shifted(weirLaw(line.SettingSteps, false), "tub drum", 0)}})
		if i%2 == 0 {
			songs[i].Laws = append(songs[i].Laws, shifted(weirLaw(line.SettingSteps, false), "elm block", 14))
		}
	}
	return songs
}

func weirFan(n int) hitFan {
	f := hitFan{Reading: calib.Reading{LagMS: 24.3, LagCI95MS: [2]float64{23.1, 25.5}}, ToleranceMS: 6}
	r := rand.New(rand.NewPCG(7, 11))
	for i := range n {
		lag, used := 24.3+2.6*r.NormFloat64(), true
		if i%17 == 9 {
			lag, used = lag+14, false
		}
		f.Pairs = append(f.Pairs, calib.Pair{LagMS: lag, Used: used})
	}
	return f
}

func weirCard(n int) Card {
	songs := []string{"Heron on the Sluice", "Millwright's Reel", "Low Water", "The Nine Paddles", "Frost on the Leat",
		"Eel Trap Waltz", "Tailrace", "Grist at Dawn", "Slow Wheel", "Two Sacks of Barley", "Sluice Gate Hornpipe", "Lamps Out"}
	voices := []string{"tub drum", "elm block", "brass bar"}
	c := Card{Machine: "Weir Lane No. 2", List: "spring set list", NotchesPerTurn: 48, ToleranceMS: 6,
		Date: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC)}
	last := 0
	stood := [9]loop.Standing{loop.Verified, loop.Verified, loop.Verified, loop.Verified, loop.Sure, loop.Open, loop.Sure, loop.Sure, loop.Sure}
	for i := range n {
		bpm := 72 + float64(i*37%80)
		p := 60000 / bpm
		setting := int(math.Round((weirDelayMS/p + weirAngle) / weirStepBeats))
		c.Lines = append(c.Lines, Settled{
			Song: songs[i%len(songs)], TempoBPM: bpm, Voice: voices[i%len(voices)],
			SettingSteps: setting, MoveSteps: setting - last,
			WindowBPM: [2]float64{bpm - 5.2, bpm + 6.4}, LagMS: weirLag(bpm, setting), RestMS: 1.4, Stands: stood[i%9], Date: c.Date,
		})
		last = setting
	}
	return c
}

// crowdedCurve holds more takes and laws than anybody can tell apart.
func crowdedCurve(takes, laws int) Curve {
	c := Curve{Title: "Weir Lane No. 2", Voice: "elm block", ToleranceMS: 6}
	for i := range takes {
		c.Takes = append(c.Takes, weirTake(60+float64(i*7%90), float64(i%11)-5, i*5%37))
	}
	for i := range laws {
		c.Laws = append(c.Laws, weirLaw(i, i == laws/2))
	}
	return c
}
