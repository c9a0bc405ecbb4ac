package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"unicode"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/calib/take"
	"lagwright/internal/must"
)

// run calls a verb as the command line would.
func run(t *testing.T, args ...string) (code int, out, complaints string) {
	t.Helper()
	var o, c bytes.Buffer
	code = dispatch(context.Background(), args, &o, &c)
	return code, o.String(), c.String()
}

// record writes a recording of the simulated machine and returns its true lag.
func record(t *testing.T, path string, p practice.Play) (lagMS float64) {
	t.Helper()
	recording, truth := practice.Default().Play(p)
	must.Do(t, take.Write(context.Background(), path, recording, nil))
	return truth.MeanLagMS
}

func TestMeasureJSON(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	good, bad := filepath.Join(dir, "tub.wav"), filepath.Join(dir, "notes.wav")
	want := record(t, good, practice.Play{Voice: "tub drum", TempoBPM: 90, Setting: 4, Seed: 3})
	must.Do(t, os.WriteFile(bad, []byte("these are words"), 0o600))
	code, out, complaints := run(t, "measure", "-json", bad, good)
	if code != exitFailed || strings.Count(complaints, "\n") != 1 || !strings.Contains(complaints, filepath.Base(bad)) {
		t.Errorf("exit %d, complaints %q", code, complaints)
	}
	var entries []map[string]any
	if err := json.Unmarshal([]byte(out), &entries); err != nil || len(entries) != 2 {
		t.Fatalf("%v in %q", err, out)
	}
	if e := entries[0]; len(e) != 2 || e["file"] != bad || e["error"] == "" {
		t.Errorf("the bad file's entry is %v", e)
	}
	contract := []string{
		"budget", "duration_s", "file", "jitter_ms", "lag_ci95_ms", "lag_ms", "pairs", "reference_hits_s", "reference_period_ms", "sample_rate_hz", "tempo_bpm", "voice_hits_s", "warnings",
	}
	var keys []string
	for key := range entries[1] {
		keys = append(keys, key)
	}
	if slices.Sort(keys); !slices.Equal(keys, contract) {
		t.Errorf("keys %v, want %v", keys, contract)
	}
	if lag := entries[1]["lag_ms"].(float64); math.Abs(lag-want) > 0.2 {
		t.Errorf("lag %.2f ms, true %.2f", lag, want)
	}
	if _, list := entries[1]["warnings"].([]any); !list {
		t.Errorf("warnings are %v, want a list", entries[1]["warnings"])
	}
	pair := entries[1]["pairs"].([]any)[0].(map[string]any)
	for _, key := range []string{"reference_s", "voice_s", "lag_ms", "used", "reason"} {
		if _, ok := pair[key]; !ok {
			t.Errorf("a pair has no %q: %v", key, pair)
		}
	}
}

func TestMeasureInWords(t *testing.T) {
	t.Parallel()
	good := filepath.Join(t.TempDir(), "bar.wav")
	record(t, good, practice.Play{Voice: "brass bar", TempoBPM: 90, Seed: 3})
	code, out, complaints := run(t, "measure", good)
	if code != exitOK || complaints != "" || !strings.Contains(out, "ms late") || !strings.Contains(out, "BPM") {
		t.Errorf("exit %d, %q, complaints %q", code, out, complaints)
	}
	for dead := 1; dead <= 2; dead++ {
		bad, says := filepath.Join(t.TempDir(), "dead.wav"), "channel %d carries no hits: stop the crank, "
		record(t, bad, practice.Play{Voice: "brass bar", TempoBPM: 90, Seed: 3, Disturb: practice.Disturb{DeadChannel: dead}})
		code, _, complaints = run(t, "measure", bad)
		if code != exitFailed || !strings.Contains(complaints, fmt.Sprintf(says, dead)) || strings.Contains(complaints, fmt.Sprintf(says, 3-dead)) {
			t.Errorf("channel %d is dead: exit %d, complaints %q", dead, code, complaints)
		}
	}
}

// A result that JSON has no number for is told, not left out in silence.
func TestNoNumberForJSON(t *testing.T) {
	var out strings.Builder
	if err := writeJSON(&out, []float64{1, math.NaN()}); err == nil || !strings.Contains(err.Error(), "NaN") || out.Len() > 0 {
		t.Errorf("it says %v and writes %q", err, out.String())
	}
}

// A result that cannot be written is a failure, not a silence.
func TestFullDisk(t *testing.T) {
	t.Parallel()
	full := must.Get(os.OpenFile("/dev/full", os.O_WRONLY, 0))(t)
	defer full.Close()
	good := filepath.Join(t.TempDir(), "bar.wav")
	record(t, good, practice.Play{Voice: "brass bar", TempoBPM: 90, Seed: 3})
	for _, args := range [][]string{{"measure", good}, {"measure", "-json", good}} {
		var complaints bytes.Buffer
		if code := dispatch(context.Background(), args, full, &complaints); code != exitFailed || !strings.Contains(complaints.String(), "could not be written") {
			t.Errorf("%v: exit %d, %q", args, code, complaints.String())
		}
	}
}

// A folder named like a verb does not stand in the verb's way.
func TestVerbBeforeFolder(t *testing.T) {
	t.Chdir(t.TempDir())
	must.Do(t, os.Mkdir("curve", 0o700))
	if code, _, complaints := run(t, "curve"); code != exitUsage || !strings.Contains(complaints, "one machine folder") {
		t.Errorf("exit %d, %q", code, complaints)
	}
}

func TestUsage(t *testing.T) {
	for _, c := range []struct {
		args string
		code int
		says string
	}{
		{"measure", exitUsage, "no recording given"},
		{"measure -voice 1 x.wav", exitUsage, "must differ"},
		{"measure -voice 0 x.wav", exitUsage, "count from 1"},
		{"measure -every -1 x.wav", exitUsage, "beats"},
		{"measure -per-beat 0 x.wav", exitUsage, "in a beat"},
		{"measure -every 9223372036854775807 x.wav", exitUsage, "1 to 64"},
		{"measure -per-beat 1000000000000 x.wav", exitUsage, "1 to 64"},
		{"measure -loud x.wav", exitUsage, "loud"},
		{"measure nothing-here.wav", exitFailed, "nothing-here.wav"},
		{"curve", exitUsage, "one machine folder"},
		{"card x -paper foolscap", exitUsage, "A4 or Letter"},
		{"curve x -paper foolscap", exitUsage, "A4 or Letter"},
		{"card nothing-here", exitFailed, "nothing-here"},
		{"report", exitUsage, "one machine folder"},
		{"report x -paper foolscap", exitUsage, "A4 or Letter"},
		{"report -take three x", exitUsage, "three"},
		{"report nothing-here", exitFailed, "nothing-here"},
		{"readings", exitUsage, "one machine folder"},
		{"readings nothing-here", exitFailed, "nothing-here"},
		{"demo now", exitUsage, "too many"},
		{"dance", exitUsage, "no verb"},
		{"dance x.wav", exitUsage, `no verb, machine folder or recording "dance"`},
		{"-size", exitUsage, "the window takes -fullscreen"},
		{"-fullscreen nothing-here", exitUsage, `no verb, machine folder or recording "nothing-here"`},
		{"help nonsense", exitUsage, `there is no verb "nonsense"`},
		{"record -seconds x", exitUsage, `-seconds does not take "x" (usage`},
		{"record -measure=x", exitUsage, `-measure does not take "x" (usage`},
		{"record -o", exitUsage, "-o stands alone: what it takes goes after it (usage"},
		{"record ---o", exitUsage, "there is no option ---o (usage"},
	} {
		code, out, complaints := run(t, strings.Fields(c.args)...)
		if code != c.code || !strings.Contains(complaints, c.says) || strings.Count(complaints, "\n") != 1 || out != "" {
			t.Errorf("%s: exit %d, %q, complaints %q; want %d saying %q in one line", c.args, code, out, complaints, c.code, c.says)
		}
	}
	if code, _, says := run(t, "help", "record"); code != exitOK || !strings.Contains(says, "usage: lagwright record ") || strings.Contains(says, "lagwright measure") {
		t.Errorf("help record: exit %d, %q", code, says)
	}
	if code, out, _ := run(t, "help"); code != exitOK || !strings.Contains(out, "lagwright measure") {
		t.Errorf("help: exit %d, %q", code, out)
	}
}

func TestNoDisplay(t *testing.T) {
	t.Setenv("WAYLAND_DISPLAY", "")
	for _, display := range []string{"", ":4711", "127.0.0.1:4711", "nonsense"} {
		t.Setenv("DISPLAY", display)
		code, _, complaints := run(t)
		if code != exitUsage || strings.Count(complaints, "\n") != 1 || !strings.Contains(complaints, ", demo, curve, ") {
			t.Errorf("DISPLAY=%q: exit %d, %q; want 2 and one line that names the verbs", display, code, complaints)
		}
	}
}

// demonstrated is the demo, which is played once, and what it said.
var demonstrated struct {
	once            sync.Once
	dir             string
	code            int
	out, complaints string
}

// demoMachine returns a copy of the demo's machine folder.
func demoMachine(t *testing.T) (dir string) {
	t.Helper()
	d := &demonstrated
	d.once.Do(func() {
		d.dir = must.Get(os.MkdirTemp("", "lagwright-demo"))(t)
		d.code, d.out, d.complaints = run(t, "demo", "-out", filepath.Join(d.dir, "demo"))
	})
	if d.code != exitOK {
		t.Fatalf("exit %d, %q, after\n%s", d.code, d.complaints, d.out)
	}
	dir = filepath.Join(t.TempDir(), "demo")
	must.Do(t, os.CopyFS(dir, os.DirFS(filepath.Join(d.dir, "demo"))))
	return dir
}

// The demo of a set list: a sweep that tells the law, a check, every song verified.
func TestDemoSweeps(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "demo")
	code, out, complaints := run(t, "demo", "-sweep", "-out", dir)
	if code != exitOK || complaints != "" || !strings.Contains(out, "take 1 at 0: swept from ") || !strings.Contains(out, "the simulated machine's plate goes from 0 to ") {
		t.Fatalf("exit %d, %q, after\n%s", code, complaints, out)
	}
	m := must.Get(machine.Load(dir))(t)
	v := loop.Look(m)
	if len(m.Takes) > 3 || v.Next != nil || len(v.Songs) != len(demoSongs) || slices.ContainsFunc(v.Songs, func(s loop.Song) bool { return s.Stands < loop.Sure }) {
		t.Errorf("after %d takes the list still asks for %+v", len(m.Takes), v.Next)
	}
	for _, song := range v.Songs {
		if want := fmt.Sprintf("%4.4g BPM  %s\n", song.TempoBPM, calib.SettingWords(song.Setting)); !strings.Contains(out, want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	code, out, _ = run(t, "measure", "-json", filepath.Join(dir, "take-001.wav"))
	for _, field := range []string{"delay_ms", "delay_ci95_ms", "offset_beats", "offset_ci95_beats", "correlation", "from_bpm", "to_bpm", "whole_beats_open"} {
		if code != exitOK || !strings.Contains(out, `"`+field+`"`) {
			t.Errorf("exit %d, and its law has no %s", code, field)
		}
	}
}

// The demo is the whole loop: three tempos, tight, at most two takes each after
// the first, and everything it promises left on disk.
func TestDemo(t *testing.T) {
	t.Parallel()
	dir := demoMachine(t)
	out := demonstrated.out
	if demonstrated.complaints != "" {
		t.Errorf("it complains of %q", demonstrated.complaints)
	}
	m := must.Get(machine.Load(dir))(t)
	if got := len(loop.Look(m).Settings); got != len(demoTempos) {
		t.Errorf("%d settled tempos, want %d", got, len(demoTempos))
	}
	takes := map[float64]int{}
	for _, one := range m.Takes {
		takes[one.Target.TempoBPM]++
	}
	for _, tempo := range demoTempos[1:] {
		if takes[tempo] > 2 {
			t.Errorf("%d takes at %g BPM, want 2 at most", takes[tempo], tempo)
		}
	}
	for _, name := range []string{"machine.json", "take-001.wav", "curve.png", "card.png"} {
		if info, err := os.Stat(filepath.Join(dir, name)); err != nil || info.Size() < 1000 {
			t.Errorf("%s is not there or empty: %v", name, err)
		}
	}
	if strings.Count(out, "  take ") != len(m.Takes) {
		t.Errorf("not a line for each of %d takes:\n%s", len(m.Takes), out)
	}
	// Where a machine is already, nothing is overwritten.
	if code, _, complaints := run(t, "demo", "-out", dir); code != exitFailed || !strings.Contains(complaints, dir) {
		t.Errorf("over an existing machine: exit %d, %q", code, complaints)
	}
	for _, args := range [][]string{
		{"curve", dir, "-o", filepath.Join(dir, "c.svg")}, {"card", "-o", filepath.Join(dir, "c.pdf"), dir}, {"card", dir}, {"table", dir, "-o", filepath.Join(dir, "t.csv")}, {"table", dir},
	} {
		if code, _, complaints := run(t, args...); code != exitOK {
			t.Errorf("%v: exit %d, %q", args, code, complaints)
		}
	}
	if code, _, complaints := run(t, "curve", dir, "-o", filepath.Join(dir, "c.gif")); code != exitFailed || !strings.Contains(complaints, ".svg") {
		t.Errorf("an unknown format: exit %d, %q", code, complaints)
	}
}

// A set list of so many songs that its card takes several pages, on each paper.
func TestCardOfASetList(t *testing.T) {
	t.Parallel()
	dir := demoMachine(t)
	b := must.Get(bench.Open(dir))(t)
	var songs []machine.Song
	for i := range 20 {
		songs = append(songs, machine.Song{Name: fmt.Sprintf("Mill tune %d", i+1), TempoBPM: float64(72 + 2*i), Voices: []string{b.Machine().Target.Voice}})
	}
	must.Do(t, b.EditSongs(machine.ReplaceSongs(songs)))
	b.Close()
	list := filepath.Join(dir, "list.png")
	code, out, complaints := run(t, "card", dir, "-o", list, "-paper", "A4")
	if code != exitOK || out != list+"\n" {
		t.Fatalf("exit %d, %q, %q; want the file's name", code, out, complaints)
	}
	if info, err := os.Stat(list); err != nil || info.Size() < 1000 {
		t.Errorf("%s is not there or empty: %v", list, err)
	}
	table := filepath.Join(dir, "list.csv")
	if code, _, complaints := run(t, "card", dir, "-o", table); code != exitOK {
		t.Fatal(complaints)
	}
	if rows, err := os.ReadFile(table); err != nil || strings.Count(string(rows), "\n") != 22 || !strings.Contains(string(rows), "Mill tune 20,110,") {
		t.Errorf("%v, %s", err, rows)
	}
	b = must.Get(bench.Open(dir))(t)
	must.Do(t, b.EditLists(func(m *machine.Machine) error { return errors.Join(m.KeepList("", "Quay", []int{4, 2}), m.UseList("")) }))
	b.Close()
	if code, _, complaints := run(t, "card", "-list", "Quay", dir, "-o", table); code != exitOK {
		t.Fatal(complaints)
	}
	if rows, err := os.ReadFile(table); err != nil || strings.Count(string(rows), "\n") != 3 || strings.Index(string(rows), "Mill tune 5,") > strings.Index(string(rows), "Mill tune 3,") {
		t.Errorf("of one set list: %v, %s", err, rows)
	}
	if code, _, complaints := run(t, "table", "-list", "Fair", dir); code != exitFailed || !strings.Contains(complaints, `no set list "Fair"`) {
		t.Errorf("of a list that is not there: exit %d, %q", code, complaints)
	}
}

// Sizes of a page in points, upright and on its side: ISO 216 (A5 148 mm by 210
// mm, A4 210 mm by 297 mm) and 8.5 by 11 inches, values from memory.
func TestPaper(t *testing.T) {
	t.Parallel()
	dir := demoMachine(t)
	for _, c := range []struct {
		args []string
		box  string
	}{{nil, "595.28 419.53"}, {[]string{"-paper", "A5"}, "595.28 419.53"}, {[]string{"-paper", "a4"}, "841.89 595.28"}, {[]string{"-paper", "Letter"}, "792.00 612.00"}} {
		for _, verb := range []string{"card", "curve", "report"} {
			path := filepath.Join(dir, verb+".pdf")
			code, out, complaints := run(t, append([]string{verb, dir, "-o", path}, c.args...)...)
			if code != exitOK || out != path+"\n" {
				t.Errorf("%s %v: exit %d, %q, %q", verb, c.args, code, out, complaints)
			}
			box := c.box
			if verb == "report" { // upright
				w, h, _ := strings.Cut(box, " ")
				box = h + " " + w
			}
			if page, err := os.ReadFile(path); err != nil || !bytes.Contains(page, []byte("/MediaBox [0 0 "+box+"]")) {
				t.Errorf("%s %v: no page of %s points: %v", verb, c.args, box, err)
			}
		}
	}
}

// Names may hold anything; a terminal is told nothing by them, and a line stays one.
func TestComplaintsArePlainLines(t *testing.T) {
	name := "a\nb\x1b[2J\x7f.wav"
	for _, c := range []struct {
		args  []string
		lines int
	}{{[]string{"measure", name}, 1}, {[]string{"measure", name, name}, 2}, {[]string{"measure", "-" + name}, 1}, {[]string{name}, 1}, {[]string{"curve", name}, 1}} {
		code, _, complaints := run(t, c.args...)
		plain := !strings.ContainsFunc(strings.ReplaceAll(complaints, "\n", ""), unicode.IsControl)
		if code == exitOK || !plain || strings.Count(complaints, "\n") != c.lines {
			t.Errorf("%q: exit %d, %q", c.args, code, complaints)
		}
	}
}
