package bench_test

import (
	"math"
	"reflect"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

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

// The reading of any voice of a take follows its hits.
func TestReadingFollowsTheHits(t *testing.T) {
	b := told(t)
	found := last(b).Heard[1]
	hit := firstUsed(found.Reading)
	is := func(p calib.Pair) bool { return p.VoiceS == hit.VoiceS }
	edit := func(e machine.Edit) { ok(t, b.Edit(3, found.Voice, e)) }
	read := func() calib.Reading { return last(b).Heard[1].Reading }
	undo := func() {
		_, err := b.Undo()
		ok(t, err)
	}

	edit(machine.StrikeOut(machine.VoiceChannel, hit.VoiceS))
	if want, n := meanLag(found.Reading, is); math.Abs(read().LagMS-want) > 1e-9 || read().Used() != n {
		t.Errorf("without a hit: lag %.4f ms of %d, want %.4f of %d", read().LagMS, read().Used(), want, n)
	}

	// A reference hit struck out takes its pair along.
	undo()
	edit(machine.StrikeOut(machine.ReferenceChannel, hit.ReferenceS))
	if got := read(); got.Used() != found.Reading.Used()-1 || len(got.ReferenceHitsS) != len(found.Reading.ReferenceHitsS)-1 {
		t.Errorf("without a reference hit: %d used of %d found", got.Used(), found.Reading.Used())
	}

	// A hit moved by 1 ms moves the mean by its share.
	undo()
	edit(machine.MoveHit(machine.VoiceChannel, hit.VoiceS, hit.VoiceS+0.001))
	moved := last(b).Heard[1]
	if want := found.Reading.LagMS + 1/float64(found.Reading.Used()); math.Abs(moved.Reading.LagMS-want) > 1e-6 || moved.Changed() != 1 {
		t.Errorf("a hit moved by 1 ms: lag %.4f ms, want %.4f; %d changed", moved.Reading.LagMS, want, moved.Changed())
	}

	// Struck out and added again at the same place by hand gives the found lag.
	undo()
	edit(machine.StrikeOut(machine.VoiceChannel, hit.VoiceS))
	edit(machine.Add(machine.VoiceChannel, hit.VoiceS+1e-5))
	if got := read(); math.Abs(got.LagMS-found.Reading.LagMS) > 0.002 || got.Used() != found.Reading.Used() {
		t.Errorf("a hit added where one was struck out: lag %.4f ms of %d, want %.4f of %d", got.LagMS, got.Used(), found.Reading.LagMS, found.Reading.Used())
	}
}

// Hits changed by hand are there again when the machine is opened, and what was found.
func TestEditsSurviveReopening(t *testing.T) {
	b := told(t)
	found := last(b).Heard[0]
	hit := firstUsed(found.Reading)
	ok(t, b.Edit(3, found.Voice, machine.MoveHit(machine.VoiceChannel, hit.VoiceS, hit.VoiceS+1.0/3000)))
	ok(t, b.Edit(3, found.Voice, machine.StrikeOut(machine.ReferenceChannel, hit.ReferenceS)))
	want, dir := last(b), b.Dir()
	ok(t, b.Close())
	again, err := bench.Open(dir)
	ok(t, err)
	defer again.Close()
	if got := last(again); !reflect.DeepEqual(got, want) || !reflect.DeepEqual(got.Heard[0].Found(), found.Reading) {
		t.Errorf("reopened as %+v, left as %+v", got, want)
	}
}

// What is said of a later take rests on the earlier one as its hits are now; the other
// voices of the take and the other takes keep what was heard.
func TestEditOfAnEarlierTake(t *testing.T) {
	b := told(t)
	first, before := b.Machine().Takes[0], b.View()
	var edits []machine.Edit
	for _, p := range first.Heard[0].Reading.Pairs {
		edits = append(edits, machine.MoveHit(machine.VoiceChannel, p.VoiceS, p.VoiceS+0.001))
	}
	ok(t, b.Edit(1, "tub drum", edits...))
	m := b.Machine()
	got := m.Takes[0]
	if math.Abs(got.Heard[0].Reading.LagMS-first.Heard[0].Reading.LagMS-1) > 1e-6 || got.Heard[0].Changed() != len(edits) || !reflect.DeepEqual(got.Moved, first.Moved) {
		t.Errorf("all hits 1 ms later: lag %.3f, was %.3f; %d changed", got.Heard[0].Reading.LagMS, first.Heard[0].Reading.LagMS, got.Heard[0].Changed())
	}
	if !reflect.DeepEqual(got.Heard[1], first.Heard[1]) || !reflect.DeepEqual(m.Takes[1:], before.Machine.Takes[1:]) {
		t.Error("another voice or another take changed")
	}
	const period = 60000.0 / 84
	was, _, _ := before.Lag("tub drum", 15, period)
	if lag, _, _ := b.View().Lag("tub drum", 15, period); !(lag > was+0.1) {
		t.Errorf("the law says %.2f ms, %.2f before", lag, was)
	}
}

// With too few hits left the loop says so; nothing panics on the way to none.
func TestStrikingOutEveryHit(t *testing.T) {
	b := told(t)
	found := last(b).Heard[0]
	for _, c := range []machine.Channel{machine.VoiceChannel, machine.ReferenceChannel} {
		for _, h := range found.Hits(c) {
			ok(t, b.Edit(3, found.Voice, machine.StrikeOut(c, h.AtS)))
		}
	}
	r, _ := b.View().Result(3, found.Voice)
	if r.Reading.Used() != 0 || r.Outcome != loop.TooFewHits || r.Changed() != len(found.Hits(machine.VoiceChannel))+len(found.Hits(machine.ReferenceChannel)) {
		t.Errorf("nothing left: %d used, %s", r.Reading.Used(), r.Outcome)
	}
}

// One edit, saving and a new view included, is over before a person notices.
func BenchmarkEdit(bm *testing.B) {
	b := told(bm)
	at := firstUsed(last(b).Heard[0].Reading).VoiceS
	for bm.Loop() {
		ok(bm, b.Edit(3, "tub drum", machine.StrikeOut(machine.VoiceChannel, at)))
		b.View()
		_, err := b.Undo()
		ok(bm, err)
	}
}
