package calib

import (
	"math"
	"testing"
)

// A move told wrong by a few steps is no reason to believe that the voice strikes
// before it falls: no explanation puts the takes before, at evenly spaced tempos,
// whole beats apart, and none has the voice fall in less than no time.
func TestMoveToldWrongMovesNoBeats(t *testing.T) {
	prior := PlatePrior(Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6})
	for _, by := range []int{-12, -5, -3, 3, 5, 12, 20} { // 5 either way moved beats at these very lags
		s := State{TargetBPM: 72, Prior: prior}
		var last Advice
		for _, played := range []struct {
			bpm, lagMS float64
			at         int // where the plate stands
			toldBy     int // by which it was told further ahead
		}{{72.14, 262.9, 0, 0}, {71.63, -5.0, 23, 0}, {96.13, -1.9, 30, 0}, {119.54, -2.2, 37, by}} {
			s.TargetBPM = math.Round(played.bpm)
			s.Setting = played.at + played.toldBy
			r := take(played.bpm, played.lagMS, 1.2, 12)
			last = Next(s, r)
			if p, ok := last.Point(r); ok {
				s.Points = append(s.Points, p)
			}
		}
		ways, err := Explain(s.Points, prior)
		if err != nil {
			t.Fatal(err)
		}
		if law := ways[0].Law; law.DelayMS < 0 {
			t.Errorf("told %+d: the likeliest law has a delay of %.0f ms", by, law.DelayMS)
		}
		if math.Abs(last.LagMS) > 10 || last.Outcome.Moves() {
			t.Errorf("told %+d: lag %.1f ms, %s: %s %s", by, last.LagMS, last.Outcome, last.Do, last.Why)
		}
	}
}
