package record

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
)

// What is said of a recording that lies in the folder leaves it closed.
func TestStrayIsClosed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left-over.wav")
	sound, _ := practice.Default().Play(practice.Play{TempoBPM: 84, Hits: 2, Rate: 8000})
	must.Do(t, take.Write(context.Background(), path, sound, nil))
	strayWords(path)
	open, err := filepath.Glob("/proc/self/fd/*") // proc(5)
	if err != nil || len(open) < 3 {
		t.Fatal(open, err)
	}
	for _, fd := range open {
		if to, _ := os.Readlink(fd); to == path {
			t.Errorf("%s is still open", path)
		}
	}
}
