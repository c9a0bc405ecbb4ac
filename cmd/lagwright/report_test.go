package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// A report of the last take, of one that is named and of a voice, with and without
// the recording; what is not there is refused.
func TestReport(t *testing.T) {
	t.Parallel()
	dir := demoMachine(t)
	m := must.Get(machine.Load(dir))(t)
	last := m.Takes[len(m.Takes)-1]
	want := filepath.Join(dir, fmt.Sprintf("report-%03d.png", last.ID))
	if code, out, complaints := run(t, "report", dir); code != exitOK || out != want+"\n" {
		t.Fatalf("exit %d, %q, %q; want %s", code, out, complaints, want)
	}
	drawn := func(args ...string) string {
		t.Helper()
		path := filepath.Join(t.TempDir(), "report.svg")
		if code, _, complaints := run(t, append([]string{"report", dir, "-o", path}, args...)...); code != exitOK {
			t.Fatal(complaints)
		}
		return string(must.Get(os.ReadFile(path))(t))
	}
	with := drawn("-take", "1", "-voice", last.Target.Voice)
	if !strings.Contains(with, "Take 1 ·") || !strings.Contains(with, last.Target.Voice) || strings.Contains(with, "recording is missing") {
		t.Error("the first take's report does not say so")
	}
	must.Do(t, os.Remove(filepath.Join(dir, m.Takes[0].File)))
	if without := drawn("-take", "1"); !strings.Contains(without, "recording is missing") {
		t.Error("nothing says that the recording is missing")
	}
	for args, says := range map[string]string{
		"-take 99": "no take 99: choose one of 1, 2", "-take -1": "no take -1: choose one of 1, 2", "-voice gong": "no voice \"gong\": choose one of tub drum", "-o " + dir + "/r.gif": ".svg",
	} {
		code, out, complaints := run(t, append([]string{"report", dir}, strings.Fields(args)...)...)
		if code != exitFailed || out != "" || !strings.Contains(complaints, says) || strings.Count(complaints, "\n") != 1 {
			t.Errorf("%s: exit %d, %q, %q", args, code, out, complaints)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "r.gif")); err == nil {
		t.Error("a report in no format is there all the same")
	}
	if err := os.Truncate(filepath.Join(dir, "take-002.wav"), 3000); err == nil { // cut short, it is drawn as far as it goes
		drawn("-take", "2")
	}
}

// The table holds what the machine says of every take, as numbers.
func TestReadings(t *testing.T) {
	t.Parallel()
	dir := demoMachine(t)
	m := must.Get(machine.Load(dir))(t)
	v := loop.Look(m)
	code, out, complaints := run(t, "readings", dir)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if code != exitOK || complaints != "" || err != nil || len(rows) != len(m.Takes)+1 {
		t.Fatalf("exit %d, %q, %v, %d rows", code, complaints, err, len(rows))
	}
	for i, take := range m.Takes {
		lag, err := strconv.ParseFloat(rows[i+1][11], 64)
		want := take.Heard[0].Reading.LagMS
		listed, _ := strconv.ParseFloat(rows[i+1][8], 64)
		at, _ := v.Result(take.ID, take.Heard[0].Voice)
		if err != nil || math.Abs(lag-want) > 0.0005 || math.Abs(listed-at.LagMS) > 0.0005 || rows[i+1][2] != take.File || rows[i+1][7] != strconv.Itoa(m.SettingAt(i)) {
			t.Errorf("take %d: %q for %g ms", take.ID, rows[i+1], want)
		}
	}
	path := filepath.Join(t.TempDir(), "r.csv")
	if code, said, complaints := run(t, "readings", "-o", path, dir); code != exitOK || said != path+"\n" {
		t.Fatalf("exit %d, %q, %q", code, said, complaints)
	}
	if file, err := os.ReadFile(path); err != nil || !bytes.Equal(file, []byte(out)) {
		t.Errorf("the file is not what standard output had: %v", err)
	}
	if code, _, complaints := run(t, "readings", dir, "-o", filepath.Join(t.TempDir(), "r.png")); code != exitFailed || !strings.Contains(complaints, ".csv") {
		t.Errorf("exit %d, %q", code, complaints)
	}
}
