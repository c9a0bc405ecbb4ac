package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/internal/must"
)

// page is one that people read, by its place in the checkout.
func page(t *testing.T, path string) string {
	t.Helper()
	return string(must.Get(os.ReadFile(filepath.Join("..", "..", filepath.FromSlash(path))))(t))
}

// commandLine is the handbook's page on what needs no window.
const commandLine = "assets/handbook/command-line.md"

// TestPageUsage: the handbook shows each verb as the program's help does, and every
// flag it shows is one.
func TestPageUsage(t *testing.T) {
	var shown, want []string
	for _, m := range regexp.MustCompile(`(?m)^    (lagwright \w.*)$`).FindAllStringSubmatch(page(t, commandLine), -1) {
		shown = append(shown, m[1])
	}
	for _, v := range verbs() {
		for i, way := range strings.Split(v.usage(), " | ") {
			if i > 0 {
				way = v.Name + " " + way
			}
			want = append(want, "lagwright "+way)
		}
	}
	if !slices.Equal(shown, want) {
		t.Errorf("the handbook shows\n%s\nthe program's help\n%s", strings.Join(shown, "\n"), strings.Join(want, "\n"))
	}
	flags := regexp.MustCompile(`-[a-z-]+( [A-Z]\S*)?`)
	for _, usage := range shown {
		words := strings.Fields(usage)
		for _, f := range flags.FindAllString(usage, -1) {
			args := []string{words[1], strings.Fields(f)[0]}
			if strings.Contains(f, " ") {
				args = append(args, "1")
			}
			_, _, complaints := run(t, append(args, "-nonsense")...) // a flag that is one is read, and the next complained of
			if !strings.Contains(complaints, "no option -nonsense") {
				t.Errorf("%s: %q is answered by %q", usage, f, complaints)
			}
		}
	}
}

// TestPageExample: what measure says of the demo's first take is what the handbook
// shows.
func TestPageExample(t *testing.T) {
	text := page(t, commandLine)
	dir := demoMachine(t)
	t.Chdir(dir)
	code, out, complaints := run(t, "measure", "take-001.wav")
	if code != exitOK {
		t.Fatal(complaints)
	}
	shown := "    $ lagwright measure take-001.wav\n"
	for line := range strings.Lines(out) {
		shown += "    " + line
	}
	if !strings.Contains(text, shown) {
		t.Errorf("the handbook does not show\n%s", shown)
	}
}

// TestReadmeTour: the numbers of the README's five steps are those of the first
// practice machine.
func TestReadmeTour(t *testing.T) {
	t.Parallel()
	text := page(t, "README.md")
	const tempo = 84
	b := must.Get(bench.Create(filepath.Join(t.TempDir(), "tour"), bench.Practice(1, tempo)))(t)
	defer b.Close()
	must.Get(b.Play(t.Context(), nil))(t)
	v := b.View()
	lag, _, _ := strings.Cut(strings.ReplaceAll(v.Why, "\u00a0", " "), " at ") // a page breaks lines by itself
	for _, said := range []string{b.Machine().Build.Name, "at 84 BPM", "Twelve hits later", "*" + v.Do + ". " + lag + ".*", "**Turned 26 ahead**"} {
		if !strings.Contains(text, said) {
			t.Errorf("the README does not say %q", said)
		}
	}
	if n := len(v.Last.Reading.VoiceHitsS); n != 12 || v.Stage != loop.AwaitMove || v.Steps != 26 {
		t.Errorf("the first take has %d hits and asks for %d steps", n, v.Steps)
	}
	must.Do(t, b.Moved(v.Steps, ""))
	if _, err := b.Play(t.Context(), nil); err != nil || b.View().Stage != loop.Tight {
		t.Errorf("after the move it says %q, %v: the README says tight", b.View().Do, err)
	}
}
