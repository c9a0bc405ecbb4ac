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
	"lagwright/calib/take"
)

// opened returns a bench with one take of a trap of the practice machine.
func opened(t *testing.T, trap string, seed uint64) *bench.Bench {
	t.Helper()
	b := open(t, 6, 84)
	for _, tr := range practice.Traps() {
		if tr.Name != trap {
			continue
		}
		m, p := tr.Make(seed)
		rec, _ := m.Play(p)
		path := filepath.Join(t.TempDir(), trap+".wav")
		ok(t, take.Write(context.Background(), path, rec, nil))
		_, err := b.Add(context.Background(), path, bench.Channels{Reference: 1, Voice: 2}, nil)
		ok(t, err)
	}
	return b
}

// TestReadTheOtherSound: the gate clunks a fall before each strike, so reading by
// the clunk makes the lag earlier by the fall; the way back, by undoing or by
// reading the other sound again, is exact.
func TestReadTheOtherSound(t *testing.T) {
	b := opened(t, "clunk", 6)
	found := last(b)
	o, err := b.ReadOther(found.ID)
	ok(t, err)
	read := last(b)
	if shift := read.Reading.LagMS - found.Reading.LagMS; o.GapMS > -100 || math.Abs(shift-o.GapMS) > 3 || read.Reading.Used() < found.Reading.Used()-1 {
		t.Errorf("%v: lag %.1f ms of %d, found %.1f ms of %d", o, read.Reading.LagMS, read.Reading.Used(), found.Reading.LagMS, found.Reading.Used())
	}
	if read.Changed() != found.Reading.Used() || !strings.HasSuffix(o.String(), "before") {
		t.Errorf("%v: %d hits changed, want the %d strikes struck out", o, read.Changed(), found.Reading.Used())
	}
	ok(t, b.Undo(found.ID))
	if undone := last(b); undone.ByHand != nil || !reflect.DeepEqual(undone.Reading, found.Reading) {
		t.Errorf("one undo leaves %d changes", undone.Changed())
	}
	ok(t, b.Redo(found.ID))
	if again := last(b); !reflect.DeepEqual(again.Reading, read.Reading) {
		t.Error("redo reads otherwise")
	}
	_, err = b.ReadOther(found.ID)
	ok(t, err)
	if back := last(b).Reading; back.LagMS != found.Reading.LagMS || back.Used() != found.Reading.Used() {
		t.Errorf("back: %.3f ms of %d, found %.3f ms of %d", back.LagMS, back.Used(), found.Reading.LagMS, found.Reading.Used())
	}
}

// TestReadTheOtherSoundIsKept: a session opened again undoes it in one.
func TestReadTheOtherSoundIsKept(t *testing.T) {
	b := opened(t, "clunk", 6)
	found := last(b)
	_, err := b.ReadOther(found.ID)
	ok(t, err)
	want, dir := last(b), b.Dir()
	ok(t, b.Close())
	b, err = bench.Open(dir)
	ok(t, err)
	defer b.Close()
	if got := last(b); !reflect.DeepEqual(got.Hits(session.VoiceChannel), want.Hits(session.VoiceChannel)) || got.Reading.LagMS != want.Reading.LagMS {
		t.Error("another reading after reopening")
	}
	ok(t, b.Undo(found.ID))
	if last(b).ByHand != nil {
		t.Error("one undo after reopening leaves changes")
	}
}

func TestNoOtherSound(t *testing.T) {
	b := opened(t, "clean", 1)
	found := last(b)
	if _, err := b.ReadOther(found.ID); err == nil || !strings.Contains(err.Error(), "no second sound") {
		t.Errorf("error %v", err)
	}
	if got := last(b); got.ByHand != nil {
		t.Error("the take was changed")
	}
}
