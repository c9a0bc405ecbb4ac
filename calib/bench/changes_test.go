package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
)

// A plate that was given wrongly and is put right gives all takes the advice they
// would have had, and Undo all of it back.
func TestMachineIsPutRight(t *testing.T) {
	takes := []truly{{"tub drum", 84, 0, 10}, {"tub drum", 120, 10, 6}}
	right := played(t, practice.Default(), takes...).Session()
	b := played(t, practice.Default(), takes...)
	m := b.Session().Machine
	m.Plate = calib.Plate{NotchesPerTurn: 100, TurnsPerBeat: 0.6}
	ok(t, b.EditMachine(t.Context(), m, 5, m.Voices))
	wrong := b.Session()
	if reflect.DeepEqual(wrong.Takes[0].Advice, right.Takes[0].Advice) {
		t.Error("another plate gives the same advice")
	}
	m.Plate, m.Name, m.Voices = right.Machine.Plate, "Barn machine", []string{"tub", "elm block", "brass bar", "gong"}
	ok(t, b.EditMachine(t.Context(), m, 5, append(wrong.Machine.Voices, "")))
	got := b.Session()
	for i := range got.Takes {
		if got.Takes[i].Advice != right.Takes[i].Advice || got.Takes[i].Target.Voice != "tub" {
			t.Errorf("take %d of the %s: %+v, want %+v", i+1, got.Takes[i].Target.Voice, got.Takes[i].Advice, right.Takes[i].Advice)
		}
	}
	ok(t, b.Undo(bench.SetList))
	if !reflect.DeepEqual(b.Session(), wrong) {
		t.Error("undone, the session is not as it was")
	}
	ok(t, b.Redo(bench.SetList))
	if !reflect.DeepEqual(b.Session(), got) {
		t.Error("made again, the session is another")
	}
	m.Voices = m.Voices[1:]
	if err := b.EditMachine(t.Context(), m, 5, m.Voices); err == nil || !strings.Contains(err.Error(), "the tub stays: 2 of the takes") || !reflect.DeepEqual(b.Session(), got) {
		t.Errorf("a voice with takes goes: %v", err)
	}
}

// A reference whose hits in a beat were given wrongly is put right: all takes read
// as if it had been right from the start, also one whose hits were changed by hand.
func TestReferenceHitsArePutRight(t *testing.T) {
	path := filepath.Join(t.TempDir(), "crank.wav")
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 84, Setting: 20, PerBeat: 2, Seed: 5, Rate: bench.QuickRate})
	ok(t, wav.Write(context.Background(), path, recording, nil))
	add := func(b *bench.Bench) calib.Reading {
		_, err := b.Add(context.Background(), path, b.Channels(2), nil)
		ok(t, err)
		hits := b.Session().Takes[0].Hits(session.ReferenceChannel)
		ok(t, b.Edit(1, session.StrikeOut(session.ReferenceChannel, hits[len(hits)-1].AtS)))
		return b.Session().Takes[0].Reading
	}
	b, twice := open(t, 3, 84), open(t, 3, 84)
	m := twice.Session().Machine
	m.PerBeat = 2
	ok(t, twice.EditMachine(t.Context(), m, 5, m.Voices))
	want := add(twice)
	wrong := add(b)
	if math.Abs(want.TempoBPM-84) > 1 || math.Abs(wrong.TempoBPM-168) > 2 {
		t.Fatalf("read at %.1f BPM, and at %.1f where it was wrong", want.TempoBPM, wrong.TempoBPM)
	}
	ok(t, b.EditMachine(t.Context(), m, 5, m.Voices))
	same := func(what string, got calib.Reading) {
		if math.Abs(got.LagMS-want.LagMS) > 0.01 || math.Abs(got.TempoBPM-want.TempoBPM) > 0.01 || got.Used() != want.Used() {
			t.Errorf("%s: %.2f ms late at %.2f BPM by %d pairs, want %.2f, %.2f, %d", what, got.LagMS, got.TempoBPM, got.Used(), want.LagMS, want.TempoBPM, want.Used())
		}
	}
	same("put right", b.Session().Takes[0].Reading)
	ok(t, b.Undo(1))
	if got := b.Session().Takes[0]; got.ByHand != nil || math.Abs(got.Reading.TempoBPM-84) > 1 {
		t.Errorf("without the change by hand it is read at %.1f BPM", got.Reading.TempoBPM)
	}
}
