package bench_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/take"
)

// A FLAC file, as the reference encoder makes it of a take, gives the reading of that
// take and lies in the folder as WAV; one that was cut short keeps its warning.
func TestAddFlac(t *testing.T) {
	b := open(t, 1, 84)
	want := playOne(t, b)
	wav, packed := filepath.Join(b.Dir(), want.File), filepath.Join(t.TempDir(), "evening.flac")
	if out, err := exec.Command("flac", "-s", "-o", packed, wav).CombinedOutput(); err != nil {
		t.Fatalf("%v %s (go run ./cmd/dev test installs what is missing)", err, out)
	}
	b = open(t, 1, 84)
	got, err := b.Add(t.Context(), packed, b.Channels(2), nil)
	ok(t, err)
	if got.File != "take-001.wav" || got.Heard[0].Reading.LagMS != want.Heard[0].Reading.LagMS {
		t.Errorf("%s: %g ms, the take it was made of %g ms", got.File, got.Heard[0].Reading.LagMS, want.Heard[0].Reading.LagMS)
	}
	kept, err := take.Open(filepath.Join(b.Dir(), got.File))
	ok(t, err)
	defer kept.Close()
	if kept.Packed() || len(kept.Warnings()) > 0 {
		t.Errorf("it lies in the machine packed (%t), with %v", kept.Packed(), kept.Warnings())
	}
	info, err := os.Stat(packed)
	ok(t, err)
	ok(t, os.Truncate(packed, info.Size()*3/4))
	b = open(t, 1, 84)
	cut, err := b.Add(t.Context(), packed, b.Channels(2), nil)
	if err != nil || !slices.ContainsFunc(cut.Heard[0].Reading.Warnings, func(w calib.Warning) bool { return w.Code == calib.WarnTruncated }) {
		t.Errorf("cut short: %v, %v", cut.Heard, err)
	}
}
