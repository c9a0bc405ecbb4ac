package machine

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"lagwright/calib/atomicfile"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

// The test program plays another window when this variable says so.
const childVar = "LAGWRIGHT_SESSION_TEST_CHILD"

func TestMain(m *testing.M) {
	switch os.Getenv(childVar) {
	case "save":
		childSave(os.Args[1])
	case "hold":
		childHold(os.Args[1])
	default:
		os.Exit(m.Run())
	}
}

// childSave saves without end and says each number once it is saved.
func childSave(dir string) {
	f, err := Open(dir)
	if err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	for n := saveNumber(f.Machine()) + 1; ; n++ {
		if err := f.Update(numbered(n)); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		fmt.Println(n)
	}
}

// childHold keeps the folder open until its standard input ends.
func childHold(dir string) {
	if _, err := Open(dir); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	fmt.Println("held")
	io.Copy(io.Discard, os.Stdin)
}

// numbered makes a machine whose first and last fields tell the same number,
// so that a mixture of two saves would show.
func numbered(n int) func(*Machine) error {
	return func(m *Machine) error {
		m.Build.Name = strconv.Itoa(n)
		m.Takes[len(m.Takes)-1].Notes = m.Build.Name
		return nil
	}
}

// saveNumber returns the number of a machine, -1 for a mixture.
func saveNumber(m Machine) int {
	n, err := strconv.Atoi(m.Build.Name)
	if err != nil || m.Takes[len(m.Takes)-1].Notes != m.Build.Name {
		return -1
	}
	return n
}

func child(t *testing.T, verb, dir string) (*exec.Cmd, *bufio.Reader) {
	t.Helper()
	cmd := exec.Command(os.Args[0], dir)
	cmd.Env = append(os.Environ(), childVar+"="+verb)
	out := must.Get(cmd.StdoutPipe())(t)
	if _, err := cmd.StdinPipe(); err != nil { // closed by Wait
		t.Fatal(err)
	}
	must.Do(t, cmd.Start())
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	return cmd, bufio.NewReader(out)
}

// savers is how many windows save at a time, each in a folder of its own.
const savers = 4

// TestKilledWhileSaving kills saving windows at random moments, again and again. What
// one said to be saved must be there; at most the save under way is besides.
func TestKilledWhileSaving(t *testing.T) {
	rounds := deeptest.Of(2*savers, 1000)
	seed := deeptest.Seed(t)
	var cutOff atomic.Int64
	t.Run("windows", func(t *testing.T) {
		for i := range savers {
			share := (rounds + i) / savers
			t.Run(strconv.Itoa(i), func(t *testing.T) {
				t.Parallel()
				killAgain(t, rand.New(rand.NewPCG(seed, uint64(i))), share, &cutOff)
			})
		}
	})
	tried(t, "window killed while it saves", rounds, fmt.Sprintf("what was said to be saved is there; %d saves were cut off", cutOff.Load()))
}

// killAgain kills a saving window so often.
func killAgain(t *testing.T, random *rand.Rand, rounds int, cutOff *atomic.Int64) {
	m := sample()
	for len(m.Takes) < 20 {
		take := clone(m.Takes[1])
		take.ID = len(m.Takes) + 1
		take.File = takeName(take.ID)
		m.Takes = append(m.Takes, take)
	}
	numbered(0)(&m)
	f := create(t, m)
	f.Close()
	sound := map[string]string{}
	for _, take := range m.Takes {
		sound[take.File] = "the sound of " + take.File
	}
	lay(t, f.Dir(), sound)
	for range rounds {
		cmd, out := child(t, "save", f.Dir())
		delay := time.Duration(random.IntN(15_000)) * time.Microsecond
		said := killWhileSaving(t, f.Dir(), cmd, out, delay)
		if afterKill(t, f.Dir(), said, sound, cutOff); t.Failed() {
			return
		}
	}
}

// afterKill opens what a killed window left, which said so many saves were done.
func afterKill(t *testing.T, dir string, said int, sound map[string]string, cutOff *atomic.Int64) {
	g := must.Get(Open(dir))(t)
	defer g.Close()
	if got := saveNumber(g.Machine()); got != said && got != said+1 {
		t.Errorf("save %d was said to be done, save %d was found", said, got)
	}
	for _, w := range g.Warnings() {
		if w.Code == WarnUnfinishedSave {
			cutOff.Add(1)
		} else {
			t.Errorf("warning %+v", w)
		}
	}
	left := everything(t, dir)
	for name := range left {
		if atomicfile.IsTemp(name) {
			t.Errorf("%s is left over", name)
		}
	}
	for file, text := range sound {
		if left[file] != text {
			t.Errorf("%s holds %q", file, left[file])
		}
	}
}

// killWhileSaving returns the last save that the child said was done. While the
// child saves it reads along, as a list of machines would.
func killWhileSaving(t *testing.T, dir string, cmd *exec.Cmd, out *bufio.Reader, delay time.Duration) (said int) {
	t.Helper()
	line, err := out.ReadString('\n') // the child is under way
	if err != nil {
		t.Fatalf("%q, %v", line, err)
	}
	for end := time.Now().Add(delay); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if m, err := Load(dir); err != nil || saveNumber(m) < 0 {
			t.Errorf("a reader saw %q, %v", m.Build.Name, err)
		}
	}
	must.Do(t, cmd.Process.Kill())
	rest := must.Get(io.ReadAll(out))(t)
	complete := strings.TrimSpace(line + string(rest[:strings.LastIndexByte("\n"+string(rest), '\n')]))
	cmd.Wait()
	said, err = strconv.Atoi(complete[strings.LastIndexByte(complete, '\n')+1:])
	if err != nil {
		t.Fatalf("the child said %q", complete)
	}
	return said
}

// TestEveryStageOfASave lays out by hand what a crash can leave at each step.
func TestEveryStageOfASave(t *testing.T) {
	file := func(n int) string {
		m := sample()
		m.Takes = m.Takes[:1]
		m.Takes[0].Moved = nil
		numbered(n)(&m)
		return string(must.Get(encode(m))(t))
	}
	older, old, next := file(0), file(1), file(2)
	half := next[:len(next)/2]
	cases := []struct {
		stage string
		files map[string]string
		want  int
		warn  []string
	}{
		{"before", map[string]string{fileName: old, backupName: older}, 1, nil},
		{"temporary file made", map[string]string{fileName: old, backupName: older, ".machine.json.1.whole.tmp": ""}, 1, nil},
		{"backup half written", map[string]string{fileName: old, backupName: older, ".machine.json.1.whole.tmp": old[:99]}, 1, []string{WarnUnfinishedSave}},
		{"machine half written", map[string]string{fileName: old, backupName: older, ".machine.json.1.whole.tmp": old, ".machine.json.2.whole.tmp": half}, 1, []string{WarnUnfinishedSave}},
		{"both written", map[string]string{fileName: old, backupName: older, ".machine.json.1.whole.tmp": old, ".machine.json.2.whole.tmp": next}, 1, []string{WarnUnfinishedSave}},
		{"backup in place", map[string]string{fileName: old, backupName: old, ".machine.json.2.whole.tmp": next}, 1, []string{WarnUnfinishedSave}},
		{"both in place", map[string]string{fileName: next, backupName: old}, 2, nil},
		{"first save, backup in place", map[string]string{backupName: next, ".machine.json.2.whole.tmp": next}, 2, []string{WarnDamaged, WarnUnfinishedSave}},
		{"first save, no backup", map[string]string{fileName: next}, 2, nil},
		{"disk lost the end", map[string]string{fileName: half, backupName: old}, 1, []string{WarnDamaged}},
		{"disk lost all", map[string]string{fileName: "", backupName: old}, 1, []string{WarnDamaged}},
		{"disk left zeros", map[string]string{fileName: strings.Repeat("\x00", 999), backupName: old}, 1, []string{WarnDamaged}},
		{"damaged file put aside", map[string]string{"machine.damaged-x.json": half, backupName: old}, 1, []string{WarnDamaged}},
		{"disk lost the backup", map[string]string{fileName: next, backupName: half}, 2, nil},
	}
	for _, c := range cases {
		dir := t.TempDir()
		c.files["take-001.wav"] = ""
		lay(t, dir, c.files)
		// Twice: mended once is mended for good.
		for _, warn := range [][]string{c.warn, nil} {
			f, err := Open(dir)
			if err != nil {
				t.Fatalf("%s: %v", c.stage, err)
			}
			if got := saveNumber(f.Machine()); got != c.want {
				t.Errorf("%s: found save %d, want %d", c.stage, got, c.want)
			}
			var codes []string
			for _, w := range f.Warnings() {
				codes = append(codes, w.Code)
			}
			if !reflect.DeepEqual(codes, warn) {
				t.Errorf("%s: warnings %q, want %q", c.stage, codes, warn)
			}
			f.Close()
			if m, err := Load(dir); err != nil || saveNumber(m) != c.want {
				t.Errorf("%s: loaded %q, %v", c.stage, m.Build.Name, err)
			}
		}
	}
}

func TestNoPartOfAFileIsAMachine(t *testing.T) {
	data := must.Get(encode(sample()))(t)
	for _, n := range deeptest.Sample(1, 500, len(data)-1) { // the last byte is only a line end
		if _, err := decode(data[:n]); err == nil {
			t.Fatalf("the first %d bytes read as a machine", n)
		}
	}
}

func TestDamagedFileIsKept(t *testing.T) {
	f := create(t, sample())
	must.Do(t, f.Update(named("second")))
	f.Close()
	path := filepath.Join(f.Dir(), fileName)
	const damaged = "{\"format\": \"lagwright-machine\", \"ver"
	must.Do(t, os.WriteFile(path, []byte(damaged), 0o644))
	_, err := Load(f.Dir())
	wantSentence(t, err, path, "damaged", "open the machine in Lagwright")
	g := must.Get(Open(f.Dir()))(t)
	defer g.Close()
	if got := g.Machine(); !reflect.DeepEqual(got, sample()) {
		t.Errorf("restored %+v", got)
	}
	kept := ""
	for name, text := range everything(t, f.Dir()) {
		if strings.HasPrefix(name, "machine.damaged-") && text == damaged {
			kept = name
		}
	}
	if w := g.Warnings()[0]; kept == "" || w.Code != WarnDamaged || !strings.Contains(w.Text, kept) {
		t.Errorf("kept as %q, warning %+v", kept, w)
	}
}

func TestOpenLeavesAloneWhatItCannotMend(t *testing.T) {
	newer := `{"format": "lagwright-machine", "version": 2, "takes": "elsewhere"}`
	cases := []struct {
		name  string
		files map[string]string
		says  string
		is    error
	}{
		{"newer", map[string]string{fileName: newer}, "update Lagwright", ErrNewer},
		{"newer, old backup", map[string]string{fileName: newer, backupName: "{}"}, "update Lagwright", ErrNewer},
		{"newer backup", map[string]string{fileName: "{", backupName: newer}, "update Lagwright", ErrNewer},
		{"both damaged", map[string]string{fileName: "{", backupName: "["}, "bring the folder back", nil},
		{"not ours", map[string]string{fileName: `{"format": "tune"}`}, formatName, nil},
		{"no version", map[string]string{fileName: `{"format": "lagwright-machine"}`}, "version 0", nil},
		{"empty", map[string]string{}, "no machine", ErrNoMachine},
	}
	for _, c := range cases {
		dir := t.TempDir()
		lay(t, dir, c.files)
		f, err := Open(dir)
		if err == nil {
			f.Close()
			t.Fatalf("%s: opened", c.name)
		}
		wantSentence(t, err, dir, c.says)
		if c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%s: %v is not %v", c.name, err, c.is)
		}
		if _, err := Load(dir); err == nil || c.is == ErrNoMachine && !errors.Is(err, c.is) {
			t.Errorf("%s: Load says %v", c.name, err)
		}
		after := everything(t, dir)
		delete(after, lockName)
		if !reflect.DeepEqual(after, c.files) {
			t.Errorf("%s: changed to %q", c.name, after)
		}
	}
}

// TestFailedSaveChangesNothing puts folders where files should go, which cannot be read
// and which no rename gets past.
func TestFailedSaveChangesNothing(t *testing.T) {
	for blocked, says := range map[string]string{fileName: "cannot be read", backupName: "could not be saved"} {
		f := create(t, sample())
		path := filepath.Join(f.Dir(), blocked)
		must.Do(t, os.Remove(path))
		must.Do(t, os.MkdirAll(filepath.Join(path, "in the way"), 0o755))
		before := everything(t, f.Dir())
		wantSentence(t, f.Update(named("lost")), f.Dir(), says)
		if got := f.Machine(); !reflect.DeepEqual(got, sample()) {
			t.Errorf("%s blocked: memory changed: %+v", blocked, got)
		}
		if after := everything(t, f.Dir()); !reflect.DeepEqual(after, before) {
			t.Errorf("%s blocked: disk changed: %q", blocked, after)
		}
		must.Do(t, os.RemoveAll(path))
		if err := f.Update(named("found")); err != nil {
			t.Errorf("%s free again: %v", blocked, err)
		}
	}
}

func TestSecondWindowIsRefused(t *testing.T) {
	f := create(t, sample())
	_, err := Open(f.Dir()) // in the same program
	wantSentence(t, err, f.Dir(), "open in another Lagwright window; close it there first")
	f.Close()

	cmd, out := child(t, "hold", f.Dir()) // in another
	if line, err := out.ReadString('\n'); line != "held\n" {
		t.Fatalf("%q, %v", line, err)
	}
	_, err = Open(f.Dir())
	wantSentence(t, err, f.Dir(), "open in another Lagwright window; close it there first")
	if !errors.Is(err, ErrLocked) {
		t.Error("not ErrLocked")
	}
	if m, err := Load(f.Dir()); err != nil || m.Build.Name != sample().Build.Name {
		t.Errorf("reading a locked folder: %v", err)
	}
	cmd.Process.Kill() // a crash lets go too
	cmd.Wait()
	g := must.Get(Open(f.Dir()))(t)
	g.Close()
}

func TestMissingSoundIsSaid(t *testing.T) {
	f := create(t, sample())
	f.Close()
	must.Do(t, os.WriteFile(filepath.Join(f.Dir(), "take-001.wav"), nil, 0o644))
	g := must.Get(Open(f.Dir()))(t)
	defer g.Close()
	if w := g.Warnings(); len(w) != 1 || w[0].Code != WarnMissingTake || !strings.Contains(w[0].Text, "take-002.wav") {
		t.Errorf("warnings %+v", w)
	}
}
