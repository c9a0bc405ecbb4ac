package loop

import (
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/session"
)

// played makes a reading of n pairs around a lag with alternating scatter, at a tempo.
func played(bpm, lagMS, scatterMS float64, n int) calib.Reading {
	period := 60 / bpm
	var reference, voice []float64
	var pairs []calib.Pair
	for i := range n {
		at := 1 + period*float64(i)
		lag := lagMS + scatterMS*float64(i%2*2-1)
		reference, voice = append(reference, at), append(voice, at+lag/1000)
		pairs = append(pairs, calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
	}
	return calib.Read(pairs, reference, voice, 1)
}

// on makes a session of a machine with a plate, aimed at 100 BPM.
func on(plate calib.Plate, takes ...session.Take) session.Session {
	s := session.Session{
		Machine:     session.Machine{Name: "m", Plate: plate, Voices: []string{"drum"}},
		ToleranceMS: 5, Target: session.Target{TempoBPM: 100, Voice: "drum"},
	}
	for i, t := range takes {
		t.ID = i + 1
		s.Takes = append(s.Takes, t)
	}
	return s
}

// heard makes a take at 100 BPM, after which the plate is turned so many steps.
func heard(r calib.Reading, thenMoved ...int) session.Take {
	t := session.Take{Target: session.Target{TempoBPM: 100, Voice: "drum"}, Reference: 1, Channels: 2,
		Heard: []session.Heard{{Voice: "drum", Channel: 2, Reading: r}}}
	for _, steps := range thenMoved {
		t.Moved = &session.Move{Steps: steps, For: t.Target}
	}
	return t
}

func with(r calib.Reading, code string) calib.Reading {
	r.Warnings = append(r.Warnings, calib.Warning{Code: code})
	return r
}

func TestScratch(t *testing.T) {
	known, unknown := calib.Plate{NotchesPerTurn: 60, TurnsPerBeat: 1}, calib.Plate{}
	before := heard(played(100, 200, 0.5, 8), 10)
	_ = before
	for _, c := range []struct {
		name string
		s    session.Session
	}{
		{"none", on(known)},
		{"first take", on(known, heard(played(100, 200, 0.5, 8)))},
		{"early", on(known, heard(played(100, -61, 0.5, 8)))},
		{"tight", on(known, heard(played(100, 1, 0.5, 8)))},
		{"just outside half a step", on(known, heard(played(100, 5.6, 0.1, 8)))},
		{"half a step", on(known, heard(played(100, 4.9, 0.3, 8)))},
		{"edge", on(known, heard(played(100, 5.2, 2, 8)))},
		{"edge less", on(known, heard(played(100, 5.2, 3.2, 8)))},
		{"vague", on(known, heard(played(100, 1, 5, 8)))},
		{"vague dir", on(known, heard(played(100, 200, 8, 8)))},
		{"too vague", on(known, heard(played(100, 12, 10, 8)))},
		{"two pairs", on(known, heard(played(100, 200, .5, 2)))},
		{"dead", on(known, heard(with(played(100, 200, .5, 8), calib.WarnDeadChannel)))},
		{"moved as told", on(known, before, heard(played(100, 100, 0.5, 8)))},
		{"moved back", on(known, before, heard(played(100, 300, 0.5, 8)))},
		{"not engaged", on(known, before, heard(played(100, 200, 0.5, 8)))},
		{"unknown trial", on(unknown, heard(played(100, 200, 0.5, 8)))},
		{"unknown early", on(unknown, heard(played(100, -60, 0.5, 8)))},
		{"far", on(known, heard(played(70, 4, 0.5, 8)))},
		{"nothing explains", on(known, before, heard(played(100, 100, 0.5, 8), 10), heard(played(100, 47, .5, 8)))},
		{"tight, untold", on(known, heard(played(100, 200, 0.5, 8)), heard(played(100, 0.7, .5, 8)))},
		{"not turned", on(known, heard(played(100, 200, 0.5, 8), 20), heard(played(100, 200.7, .5, 8)))},
		{"step learnt", on(unknown, before, heard(played(100, 100, 0.5, 8)))},
		{"turned 21", on(known, heard(played(100, 200, 0.5, 8), 20), heard(played(100, -10, .5, 8)))},
		{"placed", on(known, heard(played(100, 200, 0.5, 8), 20))},
	} {
		v := Look(c.s)
		var o Outcome
		if v.Last != nil {
			o = v.Last.Outcome
		}
		var f []string
		for _, one := range v.Findings {
			f = append(f, one.Words+" ["+one.Yes+"]")
		}
		t.Logf("%-20s %d %+d (%s) %s | %s | %v", c.name, v.Stage, v.Steps, o, v.Do, v.Why, strings.Join(f, "; "))
	}
}
