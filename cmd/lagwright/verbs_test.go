package main

import (
	"cmp"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// wordsFrom is what a verb writes.
func wordsFrom(t *testing.T, args ...string) string {
	t.Helper()
	code, out, complaints := run(t, args...)
	if code != exitOK || complaints != "" {
		t.Fatalf("%v: exit %d, %q", args, code, complaints)
	}
	return out
}

// outside runs a program of others on a file with the text.
func outside(t *testing.T, text string, name string, args ...string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "lagwright")
	must.Do(t, os.WriteFile(file, []byte(text), 0o600))
	for i := range args {
		args[i] = strings.ReplaceAll(args[i], "FILE", file)
	}
	cmd := exec.Command(name, args...)
	self, err := os.Executable()
	bin := t.TempDir()
	must.Do(t, cmp.Or(err, os.Symlink(self, filepath.Join(bin, "lagwright"))))
	cmd.Env = append(os.Environ(), "HOME="+t.TempDir(), "XDG_CONFIG_HOME=", "XDG_DATA_HOME=", asProgram+"=1", "PATH="+bin+":"+os.Getenv("PATH"))
	cmd.Dir = t.TempDir()
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, out)
	}
	return string(out)
}

// What holds without an option is said.
func TestTableOfVerbs(t *testing.T) {
	for _, v := range verbs() {
		flags := v.flags()
		for _, o := range v.Options {
			usual := flags.Lookup(o.Name).DefValue
			if usual != "" && usual != "false" && usual != "0" && !strings.Contains(o.About, "("+usual+")") {
				t.Errorf("%s -%s: %q does not say that %s holds without it", v.Name, o.Name, o.About, usual)
			}
		}
	}
}

// occurs fails unless each verb and each of its options is in a text, by way of
// how it is written there.
func occurs(t *testing.T, text string, verbAs, optionAs func(verb, option) string) {
	t.Helper()
	for _, v := range verbs() {
		for _, o := range append([]option{{}}, v.Options...) {
			want := verbAs(v, o)
			if o.Name != "" {
				want = optionAs(v, o)
			}
			if !strings.Contains(text, want) {
				t.Errorf("%s -%s: there is no %q in\n%s", v.Name, o.Name, want, text)
				return
			}
		}
	}
}

func TestHelpSaysAll(t *testing.T) {
	occurs(t, wordsFrom(t, "help"), func(v verb, _ option) string { return "lagwright " + v.Name },
		func(_ verb, o option) string { return o.word() + "  " })
	if got := verbs()[0].usage(); got != "measure [-json] [-reference N] [-voice N] [-every N] [-per-beat N] FILE..." {
		t.Errorf("usage of measure: %s", got) // scripts and README rely on it
	}
}

// The simulated machine has a folder of its own: with another beside it one of the
// two would be dropped.
func TestWindowTakesOneMachine(t *testing.T) {
	t.Setenv("DISPLAY", "")
	t.Setenv("WAYLAND_DISPLAY", "")
	for _, args := range [][]string{{"-practice", "folder"}, {t.TempDir(), "other"}} {
		if code, out, complaints := run(t, args...); code != exitUsage || out != "" || !strings.Contains(complaints, "-practice, or one machine") {
			t.Errorf("%v: exit %d, %q, %q", args, code, out, complaints)
		}
	}
	if code, _, complaints := run(t, "-practice"); code != exitUsage || !strings.Contains(complaints, "no window") {
		t.Errorf("-practice without a screen: exit %d, %q", code, complaints)
	}
	if got := theWindow.usage(); got != "[-fullscreen] [MACHINE|RECORDING] | -practice" {
		t.Errorf("usage of the window: %s", got)
	}
}

// The page is read back by mandoc, another program than the one most systems show
// it with, which also complains of what is not as it should be.
func TestManual(t *testing.T) {
	version, released = "0.1.0", "2026-11-26"
	t.Cleanup(func() { version, released = "", "" })
	page := wordsFrom(t, "manual")
	if complaints := outside(t, page, "mandoc", "-T", "lint", "-W", "style", "FILE"); complaints != "" {
		t.Errorf("mandoc complains:\n%s", complaints)
	}
	plain := outside(t, page, "mandoc", "-T", "ascii", "-O", "width=400", "FILE")
	for plain2 := ""; plain2 != plain; { // a letter struck twice is bold
		plain2 = plain
		if i := strings.IndexByte(plain, '\b'); i > 0 {
			plain = plain[:i-1] + plain[i+1:]
		}
	}
	occurs(t, plain, func(v verb, _ option) string { return "lagwright " + v.Name }, func(_ verb, o option) string { return "  " + o.word() })
	if !strings.Contains(plain, "Lagwright 0.1.0") || !strings.Contains(plain, "November 26, 2026") && !strings.Contains(plain, "2026-11-26") {
		t.Errorf("the page does not say of which version and day it is:\n%s", plain)
	}
}

// shop lays out what there is to complete, names among it that a shell would take apart.
const shop = `touch a.wav b.txt 'c d.wav' e.flac; mkdir folder 'f*' 'Spring tuning'; `

// inBash is what bash proposes after some words.
func inBash(t *testing.T, script string, words ...string) []string {
	t.Helper()
	list := "'" + strings.Join(append([]string{"lagwright"}, words...), "' '") + "'"
	out := outside(t, script, "bash", "--norc", "-c", shop+`. FILE
		complete -p lagwright | grep -q _lagwright || exit 3
		COMP_WORDS=(`+list+`) COMP_CWORD=$((${#COMP_WORDS[@]}-1)); _lagwright; ((${#COMPREPLY[@]} == 0)) || printf '%s\n' "${COMPREPLY[@]}"`)
	return strings.FieldsFunc(out, func(r rune) bool { return r == '\n' })
}

func TestBashCompletes(t *testing.T) {
	t.Parallel()
	script := wordsFrom(t, "completions", "bash")
	outside(t, script, "bash", "-n", "FILE")
	all := inBash(t, script, "")
	for _, v := range verbs() {
		if !slices.Contains(all, v.Name) {
			t.Errorf("bash does not propose %s among %q", v.Name, all)
		}
		var dashed []string
		for _, o := range v.Options {
			dashed = append(dashed, "-"+o.Name)
		}
		if got := inBash(t, script, v.Name, "-"); !slices.Equal(got, dashed) {
			t.Errorf("%s -: bash proposes %q, want %q", v.Name, got, dashed)
		}
	}
	if got := outside(t, script, "bash", "--norc", "-c", `. FILE; PATH= COMP_WORDS=(lagwright me) COMP_CWORD=1; _lagwright`); got != "" {
		t.Errorf("where there is no lagwright bash says %q", got)
	}
	folders := []string{"folder", "f*", "Spring tuning"}
	for words, want := range map[string][]string{"me": {"measure"}, "Spr": {"Spring tuning"}, "f": {"folder", "f*"}, "measure ": append(folders, "a.wav", "c d.wav", "e.flac"), "measure e": {"e.flac"}, "record -o e": nil,
		"measure c": {"c d.wav"}, "card ": folders, "card -paper ": {"A5", "A4", "Letter"}, "card -o ": append(folders, "a.wav", "b.txt", "c d.wav", "e.flac"),
		"completions z": {"zsh"}, "measure -p": {"-per-beat"}, "version ": nil} {
		got := inBash(t, script, strings.Split(words, " ")...)
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%q: bash proposes %q, want %q", words, got, want)
		}
	}
}

func TestFishCompletes(t *testing.T) {
	t.Parallel()
	script := wordsFrom(t, "completions", "fish")
	for _, v := range append(verbs(), verb{Name: "me"}) {
		got := outside(t, script, "fish", "--no-config", "-c", shop+`source FILE; complete -C 'lagwright `+v.Name+` -'; complete -C 'lagwright `+v.Name+`'`)
		for _, o := range v.Options {
			if !strings.Contains(got, "-"+o.Name+"\t"+o.About+"\n") {
				t.Errorf("%s: fish does not propose -%s in %q", v.Name, o.Name, got)
			}
		}
		if v.Name == "me" && !strings.Contains(got, "measure\tread the lag") {
			t.Errorf("fish does not propose measure in %q", got)
		}
	}
	for words, want := range map[string]string{"-fullscreen Spr": "Spring tuning/\n", "Spr": "Spring tuning/\n", `Spring\ t`: "Spring tuning/\n", `card -o Spring\ t`: "Spring tuning/\n", "card Spr": "Spring tuning/\tDirectory\n", "measure c": "c d.wav\n", "measure e": "e.flac\n"} {
		if got := outside(t, script, "fish", "--no-config", "-c", shop+`source FILE; complete -C 'lagwright `+words+`'`); got != want {
			t.Errorf("%s: fish proposes %q, want %q", words, got, want)
		}
	}
	got := outside(t, script, "fish", "--no-config", "-c", shop+`source FILE; complete -C 'lagwright measure '; complete -C 'lagwright card -paper '`)
	if wav, txt := strings.Index(got, "a.wav"), strings.Index(got, "b.txt"); wav < 0 || txt >= 0 && txt < wav || !strings.Contains(got, "Letter") {
		t.Errorf("fish proposes %q, want the WAV file first and the sizes", got)
	}
	if got := outside(t, script, "fish", "--no-config", "-c", `source FILE; set PATH; complete -C 'lagwright me'`); got != "" {
		t.Errorf("where there is no lagwright fish says %q", got)
	}
}

// zsh completes on a terminal only, so it is asked on one of its own (zpty).
func TestZshCompletes(t *testing.T) {
	t.Parallel()
	script := wordsFrom(t, "completions", "zsh")
	outside(t, script, "zsh", "-n", "FILE")
	got := outside(t, script, "zsh", "-f", "-c", shop+`
		zmodload zsh/zpty
		zpty shell zsh -f -i
		zpty -w shell 'PS1=; stty cols 300; autoload -U compinit; compinit -u -D; zstyle ":completion:*" list-prompt ""; LISTMAX=1000; source FILE
			complete() { zle complete-word; zle -R; zle list-choices; zle -R; print sh""own }; zle -N complete; bindkey "^G" complete; print re""ady'
		zpty -r shell seen '*ready*'
		for words in {measure,record,card,check,demo,report,readings}' -' Spr 'measure c' 'measure e' ver 'completions z' 'card -paper Let' ''; do
			zpty -w -n shell "lagwright $words"$'\C-g'
			zpty -r shell seen '*shown*'
			print -r -- $seen
			zpty -w -n shell $'\C-u'
		done
		zpty -w shell 'path=(/)'
		zpty -w -n shell $'lagwright me\C-g'
		zpty -r shell seen '*shown*'
		print -r -- $seen`)
	for _, whole := range []string{`lagwright Spring\ tuning`, `lagwright measure c\ d.wav`, "lagwright measure e.flac", "lagwright version", "lagwright completions zsh", "lagwright card -paper Letter"} {
		if !strings.Contains(got, whole) {
			t.Errorf("zsh does not make %s of its beginning in %q", whole, got)
		}
	}
	if strings.Contains(got, "not found") {
		t.Errorf("where there is no lagwright zsh says so in %q", got)
	}
	for _, v := range verbs() {
		if !strings.Contains(got, v.About) {
			t.Errorf("zsh does not propose %s in %q", v.Name, got)
		}
		for _, o := range v.Options {
			if !strings.Contains(got, "-"+o.Name) {
				t.Errorf("%s: zsh does not propose -%s in %q", v.Name, o.Name, got)
			}
		}
	}
}

func TestVersion(t *testing.T) {
	for _, word := range []string{"version", "-version", "--version"} {
		if got := wordsFrom(t, word); !strings.HasPrefix(got, "Lagwright built by hand (") || strings.Count(got, "\n") != 1 {
			t.Errorf("%s: %q", word, got)
		}
	}
	version = "9.8.7"
	t.Cleanup(func() { version = "" })
	if got := wordsFrom(t, "version"); !strings.HasPrefix(got, "Lagwright 9.8.7 (") {
		t.Errorf("%q", got)
	}
	for _, args := range [][]string{{"version", "now"}, {"manual", "now"}, {"completions"}, {"completions", "tcsh"}} {
		if code, out, complaints := run(t, args...); code != exitUsage || out != "" || strings.Count(complaints, "\n") != 1 {
			t.Errorf("%v: exit %d, %q, %q", args, code, out, complaints)
		}
	}
}
