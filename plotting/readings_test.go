package plotting

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// awkward is the view of a machine that has names and texts that a table must quote, a
// take that is left out and has no reading, and one that heard two voices.
func awkward() *loop.View {
	at := time.Date(2026, 11, 3, 13, 30, 0, 0, time.FixedZone("", 3600))
	pairs := []calib.Pair{{Used: true, LagMS: -1.5}, {Used: true, LagMS: -0.5}, {Used: true, LagMS: -1}, {Reason: "bounce"}}
	reading := calib.Reading{TempoBPM: 71.9, LagMS: -1, LagCI95MS: [2]float64{-1.25, -0.75}, JitterMS: 0.5, Pairs: pairs,
		Warnings: []calib.Warning{{Code: "clipped"}, {Code: "whole-beat"}}}
	return look(machine.Machine{Build: machine.Build{Voices: []string{"tub drum", "Glöckchen"}}, Target: machine.Target{TempoBPM: 90, Voice: "tub drum"}, Takes: []machine.Take{
		{ID: 1, At: at, File: "take-001.wav", Target: machine.Target{Song: "two\nlines", TempoBPM: 90, Voice: "tub drum"}, LeftOut: true,
			Heard: []machine.Heard{{Voice: "tub drum"}}, Moved: &machine.Move{Steps: -3}},
		{ID: 2, At: at, File: "take-002.wav", Target: machine.Target{Song: `The "Weir", slow`, TempoBPM: 72.5, Voice: "tub drum"},
			Heard: []machine.Heard{{Voice: "tub drum", Reading: reading}, {Voice: "Glöckchen", Reading: calib.Reading{Pairs: pairs[3:]}}}},
	}})
}

// The bytes are those that RFC 4180 asks for (section 2: CRLF, quotes doubled), and
// what is not known is empty.
func TestReadingsCSV(t *testing.T) {
	one := awkward().Results[1][0]
	lag := fmt.Sprintf("%.3f,%.3f,%.3f", one.LagMS, one.LagMS-one.HalfMS, one.LagMS+one.HalfMS)
	want := strings.Join([]string{
		"take,date,file,song,target_bpm,played_bpm,voice,setting,lag_ms,ci_low_ms,ci_high_ms,as_played_ms,jitter_ms,pairs_used,pairs,outcome,left_out,warnings",
		"1,2026-11-03T12:30:00Z,take-001.wav,two lines,90,,tub drum,0,,,,,,0,0,too-few-hits,true,",
		`2,2026-11-03T12:30:00Z,take-002.wav,"The ""Weir"", slow",72.5,71.900,tub drum,-3,` + lag + `,-1.000,0.500,3,4,converged,false,clipped; whole-beat`,
		`2,2026-11-03T12:30:00Z,take-002.wav,"The ""Weir"", slow",72.5,,Glöckchen,-3,,,,,,0,1,too-few-hits,false,`, "",
	}, "\r\n")
	got := ReadingsCSV(awkward())
	if string(got) != want || !utf8.Valid(got) {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if rows, err := csv.NewReader(bytes.NewReader(got)).ReadAll(); err != nil || len(rows) != 4 || rows[2][3] != `The "Weir", slow` {
		t.Errorf("read back as %q, %v", rows, err)
	}
	if rows := strings.Split(string(ReadingsCSV(look(weirMachine()))), "\r\n"); !strings.Contains(rows[4], ",245.000,") || !strings.Contains(rows[4], ",-255.000,") {
		t.Errorf("heard a beat off, take 4 has no lag of the right beat beside it: %s", rows[4])
	}
	if text := ReadingsText(awkward()); strings.Contains(text, "\r") || strings.Count(strings.SplitN(text, "\n", 2)[0], "\t") != len(readingsHead)-1 {
		t.Errorf("for the clipboard: %q", text)
	}
}

// Python's csv module reads the same cells.
func TestReadingsInPython(t *testing.T) {
	if testing.Short() {
		t.Skip("asks Python")
	}
	path := filepath.Join(t.TempDir(), "readings.csv")
	must.Do(t, SaveReadings(path, awkward()))
	const script = `import csv, sys
for r in csv.DictReader(open(sys.argv[1], newline="", encoding="utf-8"), strict=True):
    print(r["song"], r["voice"], r["as_played_ms"] and float(r["as_played_ms"]), r["warnings"], len(r), sep="|")`
	out, err := exec.Command("python3", "-c", script, path).CombinedOutput()
	if err != nil {
		t.Fatalf("python3: %v\n%s", err, out)
	}
	want := "two lines|tub drum|||18\nThe \"Weir\", slow|tub drum|-1.0|clipped; whole-beat|18\nThe \"Weir\", slow|Glöckchen|||18\n"
	if string(out) != want {
		t.Errorf("python reads\n%s\nwant\n%s", out, want)
	}
}

func TestSaveReadings(t *testing.T) {
	dir := t.TempDir()
	for path, says := range map[string]string{
		filepath.Join(dir, "readings.png"):       "let its name end in .csv",
		filepath.Join(dir, "none", "x.csv"):      "check that its folder is there",
		filepath.Join(dir, "readings"):           "let its name end in .csv",
		filepath.Join(dir, "not-there", "a.CSV"): "check that its folder",
	} {
		if err := SaveReadings(path, awkward()); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", path, err)
		}
		if _, err := os.Stat(path); err == nil {
			t.Errorf("%s is there all the same", path)
		}
	}
}
