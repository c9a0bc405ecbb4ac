package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/take"
)

// trapped adds takes of traps of the practice machine.
func trapped(t *testing.T, b *bench.Bench, seed uint64, traps ...string) {
	t.Helper()
	for _, name := range traps {
		for _, trap := range practice.Traps() {
			if trap.Name != name {
				continue
			}
			m, p := trap.Make(seed)
			p.Rate = bench.QuickRate
			recording, _ := m.Play(p)
			path := filepath.Join(t.TempDir(), name+".wav")
			ok(t, take.Write(context.Background(), path, recording, nil))
			_, err := b.Add(context.Background(), path, on(2, 1, 2), nil)
			ok(t, err)
		}
	}
}

// TestReadTheOtherSound: the gate clunks a fall before each strike, so reading by
// the clunk makes the lag earlier by the fall; it is one change, kept when the machine
// is opened again, and the way back by reading the other sound again is exact.
func TestReadTheOtherSound(t *testing.T) {
	b := open(t, 6, 84)
	trapped(t, b, 6, "clunk")
	take := last(b)
	found := take.Heard[0]
	o, err := b.ReadOther(take.ID, found.Voice)
	ok(t, err)
	read := last(b).Heard[0]
	if shift := read.Reading.LagMS - found.Reading.LagMS; o.GapMS > -100 || math.Abs(shift-o.GapMS) > 3 || read.Reading.Used() < found.Reading.Used()-1 {
		t.Errorf("%v: lag %.1f ms of %d, found %.1f ms of %d", o, read.Reading.LagMS, read.Reading.Used(), found.Reading.LagMS, found.Reading.Used())
	}
	if read.Changed() != found.Reading.Used() {
		t.Errorf("%v: %d hits changed, want the %d strikes struck out", o, read.Changed(), found.Reading.Used())
	}
	if what, err := b.Undo(); err != nil || what != "the sound that take 1 is read by" || !reflect.DeepEqual(last(b), take) {
		t.Errorf("one undo, of %q, leaves %d changes: %v", what, last(b).Heard[0].Changed(), err)
	}
	_, err = b.Redo()
	ok(t, err)
	want, dir := last(b), b.Dir()
	ok(t, b.Close())
	b, err = bench.Open(dir)
	ok(t, err)
	defer b.Close()
	if !reflect.DeepEqual(last(b), want) || !reflect.DeepEqual(read.Hits(machine.VoiceChannel), last(b).Heard[0].Hits(machine.VoiceChannel)) {
		t.Error("another reading after reopening")
	}
	_, err = b.ReadOther(take.ID, found.Voice)
	ok(t, err)
	if back := last(b).Heard[0].Reading; back.LagMS != found.Reading.LagMS || back.Used() != found.Reading.Used() {
		t.Errorf("back: %.3f ms of %d, found %.3f ms of %d", back.LagMS, back.Used(), found.Reading.LagMS, found.Reading.Used())
	}
}

func TestNoOtherSound(t *testing.T) {
	b := told(t)
	before := b.Machine()
	if _, err := b.ReadOther(1, "tub drum"); err == nil || !strings.Contains(err.Error(), "no second sound") || !reflect.DeepEqual(b.Machine(), before) {
		t.Errorf("error %v", err)
	}
}
