package bench_test

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
	"lagwright/internal/deeptest"
)

// wantAgreed checks that the loop, aimed at what the plan speaks of, asks for what
// the plan says, unless a take has settled that target or was just played there.
func wantAgreed(t *testing.T, s session.Session, p bench.Plan) {
	t.Helper()
	settled := map[session.Target]bool{s.Takes[len(s.Takes)-1].Target: true} // its own advice stands
	for _, one := range s.Settings() {
		settled[one.Target] = true
	}
	aimed := func(target session.Target) bench.Standing {
		s.Target = target
		return bench.Stand(s)
	}
	if p.Next != nil && !settled[p.Next.Target] {
		if at := aimed(p.Next.Target); at.Steps != p.Next.Move {
			t.Errorf("after %d takes the plan says %q, the loop to turn %+d: %s", len(s.Takes), p.Next.Do, at.Steps, at.Why)
		}
	}
	for _, song := range p.Songs {
		for _, r := range song.Parts {
			target := session.Target{Song: song.Song.Name, TempoBPM: song.Song.TempoBPM, Voice: r.Voice}
			heard := len(s.Points(r.Voice)) > 0
			if settled[target] || !heard || p.Next != nil && p.Next.Target == target {
				continue
			}
			if at := aimed(target); at.Setting+at.Steps != song.Setting || !strings.Contains(at.Why, calib.SettingWords(song.Setting)) {
				t.Errorf("after %d takes %s goes to %+d, the loop to %+d: %s", len(s.Takes), song.Song.Name, song.Setting, at.Setting+at.Steps, at.Why)
			}
		}
	}
}

// Whatever take the plan asks for, the loop's sign asks for the same; and for a song
// of several voices it goes to the setting that suits them all.
func TestLoopAndPlanAgree(t *testing.T) {
	b := open(t, 7, 84)
	ok(t, b.EditSongs(session.ReplaceSongs([]session.Song{
		{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}},
		{Name: "Weir Reel", TempoBPM: 130, Voices: []string{"elm block"}},
		{Name: "Low Water", TempoBPM: 72},
	})))
	for range 8 {
		playOne(t, b)
		p, err := b.Plan()
		ok(t, err)
		wantAgreed(t, b.Session(), p)
		if p.Next == nil {
			break
		}
		ok(t, b.Aim(p.Next.Target))
		if p.Next.Move != 0 {
			ok(t, b.Moved(p.Next.Move, ""))
		}
	}
}

// playFrom plays a take at the loop's target on a bench whose plate stood so many
// steps ahead of the pins' own place when that was called setting 0.
func playFrom(t *testing.T, b *bench.Bench, start int) {
	t.Helper()
	s := b.Session()
	path := filepath.Join(t.TempDir(), "crank.wav")
	recording, _ := practice.Default().Play(practice.Play{Voice: s.Target.Voice, TempoBPM: s.Target.TempoBPM, Setting: s.Setting() + start, Seed: uint64(len(s.Takes) + 1), Rate: bench.QuickRate})
	ok(t, wav.Write(context.Background(), path, recording, nil))
	_, err := b.Add(context.Background(), path, b.Channels(2), nil)
	ok(t, err)
}

// At a tempo that no song names, the takes of all voices count: a voice heard at
// one tempo only is known better at another once a second voice has shown where the
// plate stood at first.
func TestLoopLearnsFromAllVoices(t *testing.T) {
	b := open(t, 3, 84)
	half := func() float64 {
		s := b.Session()
		s.Target = session.Target{TempoBPM: 120, Voice: "brass bar"}
		at := bench.Stand(s)
		s.Songs = []session.Song{{TempoBPM: 120, Voices: []string{"brass bar"}}}
		p, err := bench.PlanOf(s)
		ok(t, err)
		rest := p.Songs[0].Parts[0]
		if say := fmt.Sprintf("give or take %.1f ms", rest.HalfMS); at.Setting+at.Steps != p.Songs[0].Setting || !strings.Contains(at.Why, say) {
			t.Errorf("the loop goes to %+d: %s; want %+d, %s", at.Setting+at.Steps, at.Why, p.Songs[0].Setting, say)
		}
		return rest.HalfMS
	}
	play := func(bpm float64, voice string) {
		ok(t, b.Aim(session.Target{TempoBPM: bpm, Voice: voice}))
		playFrom(t, b, 20)
	}
	play(84, "brass bar")
	play(84, "tub drum")
	before := half()
	play(140, "tub drum")
	if after := half(); after > before/2 {
		t.Errorf("the other voice at a second tempo leaves the first at ± %.1f ms, ± %.1f before", after, before)
	}
}

// A bench whose plate stands 20 steps from where the pins belong when that is called
// setting 0: the plan finds no take bad, and its settings are the machine's own.
func TestPlanFromAnywhere(t *testing.T) {
	for _, start := range deeptest.Some(1, []int{20, -20}) {
		b := open(t, 4, 84)
		ok(t, b.EditSongs(session.ReplaceSongs(evening)))
		p, takes := bench.Plan{}, 0
		for ; takes < 12; takes++ {
			var err error
			p, err = b.Plan()
			ok(t, err)
			if len(p.Findings) > 0 {
				t.Fatalf("start %+d, after %d takes: %+v", start, takes, p.Findings)
			}
			if p.Next == nil {
				break
			}
			ok(t, b.Aim(p.Next.Target))
			if p.Next.Move != 0 {
				ok(t, b.Moved(p.Next.Move, ""))
			}
			playFrom(t, b, start)
			if a := last(b).Advice; strings.Contains(a.Why, "does not fit") || a.Outcome == calib.WrongWay || a.Outcome == calib.NoChange {
				t.Errorf("start %+d, take %d: %s", start, takes+1, a.Why)
			}
		}
		t.Logf("start %+d: %d takes", start, takes)
		for _, song := range p.Songs {
			period := calib.PeriodMS(song.Song.TempoBPM)
			left := practice.Default().LagMS("tub drum", period, song.Setting+start)
			if left = math.Remainder(left, period); !song.Verified || math.Abs(left) > song.LimitMS+1 {
				t.Errorf("start %+d: %s is truly %.1f ms off: %s", start, song.Song.Name, left, song.Why)
			}
		}
	}
}
