package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
	"lagwright/internal/deeptest"
)

// played records takes of a machine into a session without a set list.
func played(t *testing.T, machine practice.Machine, takes ...truly) *bench.Bench {
	t.Helper()
	b := open(t, 3, 84)
	for i, take := range takes {
		hear(t, b, machine, take, uint64(i+1))
		if take.toldToTurn != 0 {
			ok(t, b.Moved(take.toldToTurn, ""))
		}
	}
	return b
}

// hear records a take.
func hear(t *testing.T, b *bench.Bench, machine practice.Machine, take truly, seed uint64) {
	t.Helper()
	ok(t, b.Aim(session.Target{TempoBPM: take.bpm, Voice: take.voice}))
	path := filepath.Join(t.TempDir(), "crank.wav")
	recording, _ := machine.Play(practice.Play{Voice: take.voice, TempoBPM: take.bpm, Setting: take.stands, Seed: seed, Rate: bench.QuickRate})
	ok(t, wav.Write(context.Background(), path, recording, nil))
	_, err := b.Add(context.Background(), path, b.Channels(2), nil)
	ok(t, err)
}

// onlyFinding returns the one mistake that the takes show.
func onlyFinding(t *testing.T, b *bench.Bench, kind string) bench.Finding {
	t.Helper()
	p, err := b.Plan()
	ok(t, err)
	if len(p.Findings) != 1 || p.Findings[0].Kind != kind {
		t.Fatalf("found %+v, want one %s", p.Findings, kind)
	}
	return p.Findings[0]
}

// What is agreed with is in the session as it truly was: takes stand where the
// machine stood when they were played, nothing is found any more, and Undo gives
// back the session as it was.
func TestAgree(t *testing.T) {
	tub := func(bpm float64, stands, told int) truly { return truly{"tub drum", bpm, stands, told} }
	loud := practice.Default()
	type mistake struct {
		kind, agree string
		takes       []truly
		out         int // take left out
	}
	for _, c := range deeptest.Some(3, []mistake{
		{"miscounted", "It was 5 ahead", []truly{tub(84, 0, 10), tub(120, 10, 6), tub(96, 15, 2), tub(72, 17, -4), tub(108, 13, 0)}, 0},
		{"not-moved", "It was no move", []truly{tub(84, 0, 10), tub(120, 10, 6), tub(96, 10, 8), tub(72, 18, -4), tub(108, 14, 0)}, 0},
		{"wrong-way", "It was 6 back", []truly{tub(84, 0, 10), tub(120, 10, 6), tub(96, 4, 12), tub(72, 16, -4), tub(108, 12, 0)}, 0},
		{"flipped", "Every move so far went the other way", []truly{tub(84, 0, 10), tub(120, -10, 6), tub(96, -16, -30), tub(72, 14, -4), tub(108, 18, 0)}, 0},
		{"bad-take", "Leave take 3 out", []truly{tub(84, 0, 10), tub(120, 10, 6), tub(96, 19, 2), tub(72, 18, -4), tub(108, 14, 0)}, 3},
	}) {
		b := played(t, loud, c.takes...)
		f, before := onlyFinding(t, b, c.kind), b.Session()
		if f.Agree != c.agree {
			t.Errorf("%s: agree by %q, want %q", c.kind, f.Agree, c.agree)
		}
		ok(t, b.Agree(t.Context(), f))
		s := b.Session()
		for i, take := range s.Takes {
			if take.LeftOut != (take.ID == c.out) {
				t.Errorf("%s: take %d left out: %v", c.kind, take.ID, take.LeftOut)
			}
			if want := c.takes[i].stands; take.ID != c.out && (take.Setting != want || take.Advice.At != want) {
				t.Errorf("%s: take %d said at %+d, found at %+d, stood at %+d", c.kind, take.ID, take.Setting, take.Advice.At, want)
			}
			if !reflect.DeepEqual(take.Reading, before.Takes[i].Reading) {
				t.Errorf("%s: the reading of take %d is another", c.kind, take.ID)
			}
		}
		if p, err := b.Plan(); err != nil || len(p.Findings) > 0 {
			t.Errorf("%s: agreed with, it still finds %+v, %v", c.kind, p.Findings, err)
		}
		ok(t, b.Undo(bench.SetList))
		if !reflect.DeepEqual(b.Session(), before) {
			t.Errorf("%s: undone, the session is not as it was", c.kind)
		}
	}
}

// A move that the loop noticed by itself is not said a second time; a miscount
// that it cannot notice is.
func TestLoopSaysItOnce(t *testing.T) {
	b := played(t, practice.Default(), truly{"tub drum", 84, 0, 10}, truly{"tub drum", 84, 10, 12}, truly{"tub drum", 84, -2, 0})
	if at := b.Standing(); !at.Says(onlyFinding(t, b, "wrong-way")) || !strings.Contains(at.Why, "other way") {
		t.Errorf("the loop does not say it: %q", at.Why)
	}
	b = played(t, practice.Default(), truly{"tub drum", 84, 0, 10}, truly{"tub drum", 120, 10, 6}, truly{"tub drum", 96, 15, 2}, truly{"tub drum", 72, 17, 0})
	if at := b.Standing(); at.Says(onlyFinding(t, b, "miscounted")) {
		t.Errorf("the loop is said to say it: %q", at.Why)
	}
}

// A plate with a play of two steps: turned ahead it stands a step behind, turned
// back a step ahead. Once it is agreed to end each move ahead, moves are kept as
// such, takes after a move back fit as well, and nothing is asked again.
func TestAgreeToEndAhead(t *testing.T) {
	takes := []truly{{bpm: 72, stands: 0}, {bpm: 152, stands: 35}, {bpm: 100, stands: 27}, {bpm: 72, stands: 17}, {bpm: 130, stands: 29}, {bpm: 90, stands: 21}, {bpm: 110, stands: 33}, {bpm: 80, stands: 19}}
	for i, to := range []int{36, 26, 16, 30, 20, 34, 18} {
		from := 0
		if i > 0 {
			from = []int{36, 26, 16, 30, 20, 34}[i-1]
		}
		takes[i].toldToTurn = to - from
	}
	for i := range takes {
		takes[i].voice = "tub drum"
	}
	b := played(t, practice.Default(), takes...)
	f := onlyFinding(t, b, "backlash")
	ok(t, b.Agree(t.Context(), f))
	if !b.Session().Machine.FromBehind {
		t.Error("it is not kept")
	}
	for i, take := range []truly{{"tub drum", 96, 9, 0}, {"tub drum", 140, 4, 0}, {"tub drum", 84, -1, 0}} {
		ok(t, b.Moved([]int{-8, -5, -5}[i], ""))
		hear(t, b, practice.Default(), take, uint64(20+i))
	}
	s := b.Session()
	if s.Takes[6].Moved.FromBehind || !s.Takes[7].Moved.FromBehind {
		t.Errorf("moves %+v and %+v", s.Takes[6].Moved, s.Takes[7].Moved)
	}
	if again := onlyFinding(t, b, "backlash"); again.Agree != "" || again.Chance < 0.99 || math.Abs(number(t, again.Words, `differs by ([0-9.]+) steps`, "minus")-2) > 0.3 {
		t.Errorf("first found %+v, then %+v", f, again)
	}
	ok(t, b.Undo(bench.SetList))
	if b.Session().Machine.FromBehind {
		t.Error("undone, it is still agreed")
	}
	if err := b.Agree(t.Context(), bench.Finding{Kind: "fall-other", Do: "check the gate"}); err == nil || !strings.Contains(err.Error(), "check the gate") {
		t.Errorf("where there is nothing to change: %v", err)
	}
}
