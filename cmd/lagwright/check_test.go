package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/internal/must"
)

// What a check of the demo's machine says of a recording of another day, and how it ends.
func TestCheck(t *testing.T) {
	t.Parallel()
	dir := demoMachine(t)
	b := must.Get(bench.Open(dir))(t)
	m := b.Machine()
	b.Close()
	play := practice.Play{Voice: m.Target.Voice, TempoBPM: m.Target.TempoBPM, Setting: m.Setting()}
	file := func(name string, seed uint64, disturb practice.Disturb) string {
		path, p := filepath.Join(t.TempDir(), name), play
		p.Seed, p.Disturb = seed, disturb
		record(t, path, p)
		return path
	}
	well := file("well.wav", 77, practice.Disturb{})
	play.Setting += 3
	moved := file("moved.wav", 77, practice.Disturb{})
	play.Setting -= 3
	for _, c := range []struct {
		name  string
		files []string
		code  int
		says  []string
		never string
	}{
		{"as it was", []string{well}, exitOK, []string{"well.wav, the plate at ", "settings of", "still hold"}, "nothing of"},
		{"two takes", []string{well, file("more.wav", 78, practice.Disturb{})}, exitOK, []string{"well.wav, the plate", "more.wav, the plate", "still hold"}, "nothing of"},
		{"the plate 3 steps ahead", []string{moved}, exitChanged, []string{"Stop the crank, wait for rest, then turn the plate 3 steps back."}, "still hold"},
		{"a dead microphone", []string{file("dead.wav", 77, practice.Disturb{DeadChannel: 2})}, exitUnsure, []string{"the " + m.Target.Voice + " was not heard", "Not heard again, so left open", "Channel 2 carries no hits"}, "0.0 ms"},
		{"swapped plugs", []string{file("swapped.wav", 77, practice.Disturb{Swapped: true, MissedShare: 0.2})}, exitUnsure, []string{"the " + m.Target.Voice + " was not heard", "strikes more often than channel"}, "still hold"},
		{"a take of the machine", []string{filepath.Join(dir, m.Takes[0].File)}, exitFailed, []string{"is take 1 already", m.Takes[0].File}, "hold"},
		{"one file twice", []string{well, well}, exitFailed, []string{"already", "well.wav"}, "hold"},
		{"no recording", nil, exitUsage, []string{"a recording of today"}, "hold"},
	} {
		code, out, complaints := run(t, append([]string{"check", dir}, c.files...)...)
		for _, says := range c.says {
			if !strings.Contains(out+complaints, says) || strings.Contains(out+complaints, c.never) {
				t.Errorf("%s: want %q and no %q in\n%s%s", c.name, says, c.never, out, complaints)
			}
		}
		if code != c.code {
			t.Errorf("%s: status %d, want %d", c.name, code, c.code)
		}
	}
	other := anotherVoice(t, dir)
	for _, c := range []struct {
		name string
		args []string
		code int
		says string
	}{
		{"another voice's", []string{well}, exitFailed, "well.wav was taken for the elm block, the voice worked on last, and fits the tub drum far better: name the voice"},
		{"named", []string{"-voice", m.Target.Voice, well}, exitOK, "still hold"},
		{"named wrong", []string{"-voice", "elm block", well}, exitUnsure, "with a lag that fits the tub drum far better; the elm block "},
		{"each named", []string{other, "-voice", "elm block", well, "-voice", m.Target.Voice}, exitOK, "; the elm block 64.0 ms early at 119.4 BPM.\nwell.wav, the plate at +37; the tub drum "},
		{"not named", []string{other}, exitUnsure, "taken for the voice worked on last as no -voice names one; the elm block "},
		{"too few named", []string{"-voice", "elm block", "-voice", m.Target.Voice, well}, exitUsage, "-voice names 2 voices for 1 recordings"},
		{"no such voice", []string{"-voice", "gong", well}, exitFailed, "gong"},
	} {
		code, out, complaints := run(t, append([]string{"check", dir}, c.args...)...)
		if code != c.code || !strings.Contains(out+complaints, c.says) {
			t.Errorf("%s: status %d, want %d and %q in\n%s%s", c.name, code, c.code, c.says, out, complaints)
		}
	}
	_, out, _ := run(t, "check", "-json", dir, "-voice", m.Target.Voice, well)
	var got struct {
		AsMoved *int             `json:"as_moved_steps"`
		Raw     []map[string]any `json:"songs"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || got.AsMoved == nil || len(got.Raw) == 0 {
		t.Fatalf("%v: %s", err, out)
	}
	for _, name := range []string{"on_edge", "in_doubt", "unheard"} {
		if _, ok := got.Raw[0][name].(bool); !ok {
			t.Errorf("no %s in %s", name, out)
		}
	}
}

// anotherVoice has the demo's machine hear the elm block where its plate stands, and go on with
// it; it returns another recording of that voice there.
func anotherVoice(t *testing.T, dir string) (path string) {
	t.Helper()
	b := must.Get(bench.Open(dir))(t)
	defer b.Close()
	target := b.Machine().Target
	target.Voice = "elm block"
	must.Do(t, b.Aim(target))
	for range 2 {
		must.Get(b.Play(t.Context(), nil))(t)
	}
	path = filepath.Join(t.TempDir(), "other.wav")
	record(t, path, practice.Play{Voice: target.Voice, TempoBPM: target.TempoBPM, Setting: b.Machine().Setting(), Seed: 79})
	return path
}
