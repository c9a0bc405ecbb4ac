package bench_test

import (
	"context"
	"math"
	"reflect"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/session"
)

// playOne plays a take and returns it as the session keeps it.
func playOne(t *testing.T, b *bench.Bench) session.Take {
	t.Helper()
	if _, err := b.Play(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	return last(b)
}

func last(b *bench.Bench) session.Take {
	takes := b.Session().Takes
	return takes[len(takes)-1]
}

func ok(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// firstUsed returns the first pair that counts.
func firstUsed(r calib.Reading) calib.Pair {
	for _, p := range r.Pairs {
		if p.Used {
			return p
		}
	}
	return calib.Pair{}
}

// meanLag is the mean lag of the pairs that count, worked out apart.
func meanLag(r calib.Reading, but func(calib.Pair) bool) (mean float64, n int) {
	for _, p := range r.Pairs {
		if p.Used && !but(p) {
			mean, n = mean+p.LagMS, n+1
		}
	}
	return mean / float64(n), n
}

func TestReadingFollowsTheHits(t *testing.T) {
	b := open(t, 6, 84)
	found := playOne(t, b)
	id, hit := found.ID, firstUsed(found.Reading)
	is := func(p calib.Pair) bool { return p.VoiceS == hit.VoiceS }

	ok(t, b.Edit(id, session.StrikeOut(session.VoiceChannel, hit.VoiceS)))
	struck := last(b)
	if want, n := meanLag(found.Reading, is); math.Abs(struck.Reading.LagMS-want) > 1e-9 || struck.Reading.Used() != n {
		t.Errorf("without a hit: lag %.4f ms of %d, want %.4f of %d", struck.Reading.LagMS, struck.Reading.Used(), want, n)
	}
	if struck.Advice.LagMS == found.Advice.LagMS {
		t.Error("the advice does not follow the reading")
	}

	// A reference hit struck out takes its pair along.
	ok(t, b.Undo(id))
	ok(t, b.Edit(id, session.StrikeOut(session.ReferenceChannel, hit.ReferenceS)))
	if got := last(b).Reading; got.Used() != found.Reading.Used()-1 || len(got.ReferenceHitsS) != len(found.Reading.ReferenceHitsS)-1 {
		t.Errorf("without a reference hit: %d used of %d found", got.Used(), found.Reading.Used())
	}

	// A hit moved by 1 ms moves the mean by its share.
	ok(t, b.Undo(id))
	ok(t, b.Edit(id, session.MoveHit(session.VoiceChannel, hit.VoiceS, hit.VoiceS+0.001)))
	moved := last(b)
	if want := found.Reading.LagMS + 1/float64(found.Reading.Used()); math.Abs(moved.Reading.LagMS-want) > 1e-6 || moved.Changed() != 1 {
		t.Errorf("a hit moved by 1 ms: lag %.4f ms, want %.4f; %d changed", moved.Reading.LagMS, want, moved.Changed())
	}

	// Struck out and added again at the same place by hand gives the found lag.
	ok(t, b.Undo(id))
	ok(t, b.Edit(id, session.StrikeOut(session.VoiceChannel, hit.VoiceS)))
	ok(t, b.Edit(id, session.Add(session.VoiceChannel, hit.VoiceS+1e-5)))
	if got := last(b).Reading; math.Abs(got.LagMS-found.Reading.LagMS) > 0.002 || got.Used() != found.Reading.Used() {
		t.Errorf("a hit added where one was struck out: lag %.4f ms of %d, want %.4f of %d", got.LagMS, got.Used(), found.Reading.LagMS, found.Reading.Used())
	}
}

func TestUndoAndRedo(t *testing.T) {
	b := open(t, 6, 84)
	found := playOne(t, b)
	id, hit := found.ID, firstUsed(found.Reading)
	v, at := session.VoiceChannel, hit.VoiceS
	states := []session.Take{found}
	for _, e := range []session.Edit{
		session.MoveHit(v, at, at+0.002), session.StrikeOut(v, at+0.002), session.Add(v, at), session.Add(session.ReferenceChannel, at-0.3),
	} {
		ok(t, b.Edit(id, e))
		states = append(states, last(b))
	}
	for i := len(states) - 1; i > 0; i-- {
		ok(t, b.Undo(id))
		if !reflect.DeepEqual(last(b), states[i-1]) {
			t.Errorf("undone to %d: %+v, want %+v", i-1, last(b), states[i-1])
		}
	}
	ok(t, b.Undo(id)) // nothing is left to undo
	if got := last(b); !reflect.DeepEqual(got, found) || got.ByHand != nil {
		t.Errorf("all undone: %+v, found %+v", got, found)
	}
	for i := 1; i < len(states); i++ {
		if !b.CanRedo(id) {
			t.Fatalf("nothing to redo after %d", i-1)
		}
		ok(t, b.Redo(id))
		if !reflect.DeepEqual(last(b), states[i]) {
			t.Errorf("made again up to %d: %+v, want %+v", i, last(b), states[i])
		}
	}
	ok(t, b.Undo(id))
	ok(t, b.Edit(id, session.StrikeOut(v, at)))
	if b.CanRedo(id) {
		t.Error("what was undone can be made again after another change")
	}
	if err := b.Redo(id); err != nil || last(b).Changed() != 1 {
		t.Errorf("redo of nothing: %v, %d changed", err, last(b).Changed())
	}
}

func TestEditsSurviveReopening(t *testing.T) {
	b := open(t, 6, 84)
	found := playOne(t, b)
	hit := firstUsed(found.Reading)
	ok(t, b.Edit(found.ID, session.MoveHit(session.VoiceChannel, hit.VoiceS, hit.VoiceS+1.0/3000)))
	ok(t, b.Edit(found.ID, session.StrikeOut(session.ReferenceChannel, hit.ReferenceS)))
	want, dir := last(b), b.Dir()
	b.Close()
	again, err := bench.Open(dir)
	ok(t, err)
	defer again.Close()
	if got := last(again); !reflect.DeepEqual(got, want) || !reflect.DeepEqual(got.ByHand.Found, found.Reading) {
		t.Errorf("reopened as %+v, left as %+v", got, want)
	}
	ok(t, again.Undo(found.ID))
	ok(t, again.Undo(found.ID))
	if got := last(again); !reflect.DeepEqual(got, found) {
		t.Errorf("undone after reopening: %+v, found %+v", got, found)
	}
}

// A take that was moved after keeps its move, and the loop's advice on a later
// take rests on the earlier one as it is now.
func TestEditOfAnEarlierTake(t *testing.T) {
	b := open(t, 6, 84)
	first := playOne(t, b)
	moved(t, b, first.Advice.Steps, "as told")
	second := playOne(t, b)
	hit := firstUsed(first.Reading)
	for _, p := range first.Reading.Pairs {
		if p.Used {
			ok(t, b.Edit(first.ID, session.MoveHit(session.VoiceChannel, p.VoiceS, p.VoiceS+0.003)))
		}
	}
	s := b.Session()
	got := s.Takes[0]
	if math.Abs(got.Reading.LagMS-first.Reading.LagMS-3) > 1e-6 || got.Moved == nil || got.Moved.Note != "as told" || got.Advice.LagMS <= first.Advice.LagMS {
		t.Errorf("all hits 3 ms later: lag %.3f, was %.3f; moved %+v", got.Reading.LagMS, first.Reading.LagMS, got.Moved)
	}
	if !reflect.DeepEqual(s.Takes[1].Reading, second.Reading) || s.Takes[1].Setting != second.Setting {
		t.Error("another take changed")
	}
	if reflect.DeepEqual(s.Takes[1].Advice, second.Advice) {
		t.Error("the advice on the later take does not follow the law")
	}
	for range first.Reading.Used() {
		ok(t, b.Undo(first.ID))
	}
	if s := b.Session(); !reflect.DeepEqual(s.Takes[0].Reading, first.Reading) || !reflect.DeepEqual(s.Takes[1], second) {
		t.Error("all undone, but not as it was")
	}
	if err := b.Edit(99, session.StrikeOut(session.VoiceChannel, hit.VoiceS)); err == nil {
		t.Error("a take that is not there was changed")
	}
}

// With too few hits left the loop says so; nothing panics on the way to none.
func TestStrikingOutEveryHit(t *testing.T) {
	b := open(t, 6, 84)
	found := playOne(t, b)
	for _, c := range []session.Channel{session.VoiceChannel, session.ReferenceChannel} {
		for _, h := range found.Hits(c) {
			ok(t, b.Edit(found.ID, session.StrikeOut(c, h.AtS)))
		}
	}
	got := last(b)
	if got.Reading.Used() != 0 || got.Advice.Outcome != calib.TooFewHits || got.Changed() != len(found.Hits(session.VoiceChannel))+len(found.Hits(session.ReferenceChannel)) {
		t.Errorf("nothing left: %d used, %s", got.Reading.Used(), got.Advice.Outcome)
	}
}

// One edit, saving included, is over before a person notices.
func BenchmarkEdit(bm *testing.B) {
	b, err := bench.Create(bm.TempDir()+"/session", bench.Practice(6, 84))
	if err != nil {
		bm.Fatal(err)
	}
	defer b.Close()
	if _, err := b.Play(context.Background(), nil); err != nil {
		bm.Fatal(err)
	}
	take := last(b)
	at := firstUsed(take.Reading).VoiceS
	for bm.Loop() {
		if err := b.Edit(take.ID, session.StrikeOut(session.VoiceChannel, at)); err != nil {
			bm.Fatal(err)
		}
		if err := b.Undo(take.ID); err != nil {
			bm.Fatal(err)
		}
	}
}
