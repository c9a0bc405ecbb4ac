package ui

import (
	"context"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
	"lagwright/ui/takes"
)

// playTrap opens a machine with a take of a trap of the practice machine.
func playTrap(t *testing.T, w *Window, name string, seed uint64) {
	t.Helper()
	w.Practice()
	for _, trap := range practice.Traps() {
		if trap.Name != name {
			continue
		}
		m, p := trap.Make(seed)
		rec, _ := m.Play(p)
		path := filepath.Join(t.TempDir(), name+".wav")
		must.Do(t, take.Write(context.Background(), path, rec, nil))
		w.record.AddRecording(path, w.desk.Bench.Channels(2))
	}
	if w.take.Showing == 0 {
		t.Fatalf("no take of %s is in sight: %s", name, w.desk.Notice.Text.Text)
	}
}

// A take is read by its clunk and back again: the command says which sound it
// means, and the notice what it did.
func TestReadTheOtherSound(t *testing.T) {
	w := testWindow(t)
	playTrap(t, w, "clunk", 6)
	found, _ := w.take.InSight()
	label := takes.OtherWords(found.Heard)
	if !strings.HasPrefix(label, "Use the earlier sound") || command(t, w, label).Disabled {
		t.Fatalf("the menu offers %q", label)
	}
	command(t, w, label).Action()
	read, _ := w.take.InSight()
	if shift := read.Reading.LagMS - found.Reading.LagMS; shift > -100 || !strings.Contains(w.take.Head.Text, "changed by hand") {
		t.Errorf("the lag moved by %.1f ms; head %q", shift, w.take.Head.Text)
	}
	if said := w.desk.Notice.Text.Text; !strings.Contains(said, "now uses the sound") || !strings.HasPrefix(takes.OtherWords(read.Heard), "Use the later") {
		t.Errorf("the notice says %q, the menu then %q", said, takes.OtherWords(read.Heard))
	}
	command(t, w, "Undo").Action()
	if got, _ := w.take.InSight(); got.ByHand != nil || math.Abs(got.Reading.LagMS-found.Reading.LagMS) > 0 {
		t.Errorf("one undo leaves %d changes", got.Changed())
	}
	if said := w.desk.Notice.Text.Text; strings.Contains(said, "now uses the sound") || !strings.HasPrefix(said, "Undone: ") {
		t.Errorf("undone, the notice says %q", said)
	}
}

// Where there is no other sound, a sentence says so and nothing changes.
func TestNoOtherSoundIsSaid(t *testing.T) {
	w := testWindow(t)
	playTrap(t, w, "clean", 1)
	command(t, w, "Use the other sound").Action()
	if got, _ := w.take.InSight(); got.ByHand != nil || !strings.Contains(w.desk.Notice.Text.Text, "no second sound") {
		t.Errorf("%d changes; the notice says %q", got.Changed(), w.desk.Notice.Text.Text)
	}
}
