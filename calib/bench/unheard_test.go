package bench_test

import (
	"math"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// Right after the first voice is tight at two tempos, a song of all voices stands
// where that one is tight and asks for the others by name, whatever its tempo; the
// takes it asks for hear them, until all were heard.
func TestSongWithVoicesNotHeardYet(t *testing.T) {
	b := open(t, 1, 84)
	tune(t, b, "tub drum", 84)
	tune(t, b, "tub drum", 120)
	settled := map[float64]int{}
	for _, one := range b.Session().Settings() {
		settled[one.Target.TempoBPM] = one.Setting
	}
	for bpm, setting := range settled {
		ok(t, b.EditSongs(session.ReplaceSongs([]session.Song{{Name: "Song 1", TempoBPM: bpm}})))
		p, err := b.Plan()
		ok(t, err)
		s := p.Songs[0]
		if s.Setting != setting || s.Worst().Voice != "tub drum" || math.Abs(s.Worst().LagMS) > s.LimitMS {
			t.Errorf("%g BPM: %+d, %+v; tight at %+d", bpm, s.Setting, s.Parts, setting)
		}
		if s.Hopeless || s.Verified || !strings.HasSuffix(s.Why, "Not heard in a take that counts: elm block, brass bar.") {
			t.Errorf("%g BPM: %s", bpm, s.Why)
		}
		if s.Parts[0].Unheard || !s.Parts[1].Unheard || !s.Parts[2].Unheard {
			t.Errorf("%g BPM: %+v", bpm, s.Parts)
		}
		if p.Next == nil || p.Next.Target.Voice == "tub drum" || !strings.Contains(p.Next.Why, "No take that counts has heard") {
			t.Errorf("%g BPM: next %+v", bpm, p.Next)
		}
	}
	for range 2 {
		p, err := b.Plan()
		ok(t, err)
		if p.Next == nil || heard(b, p.Next.Target.Voice) {
			t.Fatalf("next %+v", p.Next)
		}
		ok(t, b.Aim(p.Next.Target))
		if p.Next.Move != 0 {
			ok(t, b.Moved(p.Next.Move, ""))
		}
		playOne(t, b)
	}
	p, err := b.Plan()
	ok(t, err)
	if strings.Contains(p.Songs[0].Why, "Not heard") {
		t.Errorf("all heard: %s", p.Songs[0].Why)
	}
}

func heard(b *bench.Bench, voice string) bool { return len(b.Session().Points(voice)) > 0 }

// Which of two cures holds the takes do not tell: then the plan does not say that
// no more takes are needed, but names the song to play at another tempo.
func TestUndecidedCureAsksForATake(t *testing.T) {
	b := open(t, 7, 66)
	ok(t, b.EditSongs(session.AddSong(0, session.Song{Name: "Mill Waltz", TempoBPM: 66})))
	p, _ := follow(t, b, 12)
	undecided := false
	for _, r := range p.Songs[0].Parts {
		undecided = undecided || strings.Contains(r.Cure, "the takes do not tell yet")
	}
	if !undecided || !p.Songs[0].Hopeless {
		t.Fatalf("the cure is decided: %+v", p.Songs[0])
	}
	if !strings.Contains(p.Untold, "Mill Waltz") || !strings.Contains(p.Untold, "another tempo") {
		t.Errorf("untold %q", p.Untold)
	}
}
