package bench_test

import (
	"math"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
)

// wantLaw checks the law behind a plan against the machine's own at each song's
// setting and tempo, and against what the plan expects there.
func wantLaw(t *testing.T, p bench.Plan) {
	t.Helper()
	machine := practice.Default()
	for _, song := range p.Songs {
		for _, r := range song.Parts {
			period := calib.PeriodMS(song.Song.TempoBPM)
			lag, sd, known := p.Lag(r.Voice, song.Setting, period)
			truth := machine.LagMS(r.Voice, period, song.Setting)
			if !known || math.Abs(lag-truth) > math.Max(4*sd, 1.5) || !(sd > 0 && sd < 10) {
				t.Errorf("%s: the law says %.2f ms (sd %.2f, %v), the machine %.2f", song.Song.Name, lag, sd, known, truth)
			}
			if math.Abs(lag-r.LagMS) > 0.5 {
				t.Errorf("%s: the law says %.2f ms, the plan expects %.2f", song.Song.Name, lag, r.LagMS)
			}
		}
	}
}

func TestPlanLaw(t *testing.T) {
	b := open(t, 11, 84)
	var songs []session.Song
	for _, bpm := range []float64{72, 132, 96} {
		songs = append(songs, session.Song{Name: "Weir Reel", TempoBPM: bpm, Voices: []string{"brass bar"}})
	}
	ok(t, b.EditSongs(session.ReplaceSongs(songs)))
	p, _ := follow(t, b, 8)
	wantLaw(t, p)
	if _, _, known := p.Lag("gong", 0, 500); known {
		t.Error("a voice that the machine has not got has a law")
	}
	if _, _, known := (bench.Plan{}).Lag("brass bar", 0, 500); known {
		t.Error("no plan has a law")
	}
}
