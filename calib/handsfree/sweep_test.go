package handsfree

import (
	"slices"
	"strings"
	"testing"
)

// bigs are the words that were said, each once in a row.
func bigs(said []Say) (all []string) {
	for _, s := range said {
		all = append(all, s.Big)
	}
	return slices.Compact(all)
}

// A sweep from 62 to 132 BPM is led through all its tempos, and ends by itself.
func TestSweepIsLed(t *testing.T) {
	var p player
	r := random(3)
	p.crank(r, 2, 8, 62, 62, 40, 1)
	p.crank(r, 60.0/62, 70, 62, 133, 40, 1)
	p.crank(r, 60.0/133, 20, 133, 133, 40, 1)
	said := p.run(Plan{TargetBPM: 62, ToBPM: 132}, 120, nil)
	end := last(said)
	if end.Phase != Enough || !end.Keep || end.Good != end.Of || end.Of != 10 || len(end.Bands) != 10 || slices.ContainsFunc(end.Bands, func(b Band) bool { return !b.Covered() }) {
		t.Fatalf("%+v\n%v", end, bigs(said))
	}
	if one := said[0]; one.Phase != Waiting || one.Big != "Start slow: 62" || !strings.Contains(one.Small, "to 132") {
		t.Errorf("before it: %q, %q", one.Big, one.Small)
	}
	words := strings.Join(bigs(said), "; ")
	for _, one := range []string{"Keep this tempo", "Faster: ", "Reach 132", "Take complete"} {
		if !strings.Contains(words, one) {
			t.Errorf("never said %q: %s", one, words)
		}
	}
	for i := 1; i < len(said); i++ {
		if said[i].Good < said[i-1].Good {
			t.Errorf("the count of tempos went back from %d to %d", said[i-1].Good, said[i].Good)
		}
	}
}

// Who goes too fast past some tempos is asked back to them.
func TestSweepAsksBack(t *testing.T) {
	var p player
	r := random(4)
	p.crank(r, 2, 10, 62, 62, 40, 1)
	p.crank(r, 60.0/62, 6, 66, 120, 40, 1)
	p.crank(r, 60.0/120, 30, 120, 133, 40, 1)
	said := p.run(Plan{TargetBPM: 62, ToBPM: 132}, 60, nil)
	end := said[len(said)-1]
	if end.Phase == Enough || end.Tempo != TempoHigh || !strings.HasPrefix(end.Big, "Slower: ") && end.Phase == Counting {
		t.Errorf("%+v\n%v", end, bigs(said))
	}
	slower := slices.ContainsFunc(said, func(s Say) bool {
		return strings.HasPrefix(s.Big, "Slower: ") && strings.Contains(s.Small, "tempos are covered")
	})
	if !slower {
		t.Errorf("never asked back: %v", bigs(said))
	}
}

// Each beat of a sweep tells at whatever tempo: who never is slow and steady is asked to
// start slow, keeps what was played, and is led to the rest.
func TestSweepThatBeginsTooFast(t *testing.T) {
	var p player
	r := random(5)
	p.crank(r, 2, 40, 82, 133, 40, 1)
	p.crank(r, 60.0/133, 50, 133, 60, 40, 1)
	said := p.run(Plan{TargetBPM: 62, ToBPM: 132}, 120, nil)
	played := slices.DeleteFunc(slices.Clone(said), func(one Say) bool { return one.Phase == Waiting })
	words := strings.Join(bigs(played), "; ")
	for _, one := range []string{"Start slow: 62", "Faster: ", "Reach 132", "Slower: ", "Take complete"} {
		if !strings.Contains(words, one) {
			t.Errorf("never said %q: %s", one, words)
		}
	}
}
