package main

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"lagwright/calib/capture"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/boundedtest"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// lineTime is when a recording and the demo are stopped.
const lineTime = 200 * time.Millisecond

// FuzzCommandLine throws words, one a line, and a file at the program. FILE is the
// file, MACHINE a folder whose machine.json it is. Whatever comes, the exit status is
// one that there is, and what is wrong is said in a line for each file.
func FuzzCommandLine(f *testing.F) {
	for _, line := range []string{
		"measure FILE", "measure -json FILE FILE", "measure -json -reference 2 -voice 1 -every 2 -per-beat 3 -- FILE", "measure -every -1 FILE",
		"curve MACHINE", "card MACHINE -o x.svg", "card -paper A4 MACHINE -o x.csv", "report -take 1 -voice drum MACHINE -o x.pdf", "readings MACHINE",
		"readings MACHINE -o x.csv", "record -list -json", "record -seconds 0.1 -measure -o x.wav", "record -device 9", "demo -out x -seed 3", "demo -h",
		"help", "MACHINE", "-practice", "-practice MACHINE", "dance", "measure", "measure -voice", "report -take 999999999999999999999 MACHINE", "curve FILE",
	} {
		for _, file := range seedFiles(f) {
			f.Add(strings.ReplaceAll(line, " ", "\n"), file)
		}
	}
	f.Setenv("DISPLAY", "") // no window
	f.Setenv("WAYLAND_DISPLAY", "")
	dir := f.TempDir()
	f.Setenv("LAGWRIGHT_HOME", dir)
	recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: 120, Seed: 3})
	computer = &capture.Replay{Source: recording}
	f.Fuzz(func(t *testing.T, line string, data []byte) {
		words := strings.Split(line, "\n")
		for _, w := range words {
			if strings.ContainsAny(w, `/\`) || strings.Contains(w, "..") || len(w) > 200 {
				return // it would write elsewhere
			}
		}
		t.Chdir(dir)
		boundedtest.Ends(t, len(line)+len(data), func() { tryLine(t, words, data) })
	})
}

// seedFiles are recordings and machines, whole and broken.
func seedFiles(f *testing.F) [][]byte {
	s := must.Get(os.ReadFile(filepath.Join("..", "..", "calib", "machine", "testdata", "machine.json")))(f)
	path := filepath.Join(f.TempDir(), "clicks.wav")
	must.Do(f, take.Write(context.Background(), path, clicks, nil))
	wav := must.Get(os.ReadFile(path))(f)
	return [][]byte{nil, []byte("words"), s, s[:len(s)/2], wav}
}

// clicks is the shortest recording that gives a reading.
var clicks = soundtest.Made{RateHz: 4000, Of: 2, Long: 7000, At: func(channel int, frame int64) float32 {
	if at := (frame - int64(80*channel)) % 1500; at >= 0 && at < 40 {
		return float32(math.Sin(float64(at)) * math.Exp(-float64(at)/10))
	}
	return 0
}}

// tryLine runs the program in a folder that holds nothing else.
func tryLine(t *testing.T, words []string, data []byte) {
	emptied(t)
	must.Do(t, os.Mkdir("MACHINE", 0o755))
	for _, name := range []string{"FILE", filepath.Join("MACHINE", "machine.json")} {
		must.Do(t, os.WriteFile(name, data, 0o600))
	}
	ctx, cancel := context.WithTimeout(context.Background(), lineTime)
	defer cancel()
	var out, complaints bytes.Buffer
	code := dispatch(ctx, words, &out, &complaints)
	said := complaints.String()
	asked := strings.HasPrefix(said, "usage: ")
	switch {
	case code != exitOK && code != exitFailed && code != exitUsage:
		t.Errorf("%q: exit status %d", words, code)
	case (code == exitOK) != (said == "" || asked):
		t.Errorf("%q: exit status %d with complaints %q", words, code, said)
	case code != exitOK:
		wantLines(t, code, words, said)
	}
}

// wantLines checks that complaints are a line each, of one file each at the most.
func wantLines(t *testing.T, code int, words []string, said string) {
	lines := strings.Split(strings.TrimSuffix(said, "\n"), "\n")
	if len(lines) > max(1, len(words)-1) || code == exitUsage && len(lines) > 1 {
		t.Errorf("%q: %d lines: %q", words, len(lines), said)
	}
	for _, line := range lines {
		if !strings.HasPrefix(line, "lagwright") || len(line) < 20 || strings.ContainsFunc(line, unicode.IsControl) {
			t.Errorf("%q: no plain line: %q", words, line)
		}
	}
}

// emptied removes what the last input left in the working folder.
func emptied(t *testing.T) {
	entries := must.Get(os.ReadDir("."))(t)
	for _, e := range entries {
		must.Do(t, os.RemoveAll(e.Name()))
	}
}
