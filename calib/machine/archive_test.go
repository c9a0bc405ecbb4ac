package machine

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"lagwright/internal/deeptest"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
)

// withSound is an open machine whose takes have recordings of random bytes: the
// archive does not care what they say.
func withSound(t *testing.T) (f *Folder, sound map[string][]byte) {
	t.Helper()
	f = create(t, sample())
	sound = map[string][]byte{}
	rng := rand.NewChaCha8([32]byte{7})
	for i, take := range f.Machine().Takes {
		data := make([]byte, 3*pourBytes+i*pourBytes/2+i) // whole blocks, and not
		rng.Read(data)
		sound[take.File] = data
		must.Do(t, os.WriteFile(f.TakePath(take), data, 0o600))
	}
	return f, sound
}

// wantCopy checks that dir holds the machine of f, under the given name, and its
// sound.
func wantCopy(t *testing.T, dir string, f *Folder, name string, sound map[string][]byte) {
	t.Helper()
	copied := must.Get(Open(dir))(t)
	defer copied.Close()
	want := f.Machine()
	want.Build.Name = name
	if got := copied.Machine(); !reflect.DeepEqual(got, want) || len(copied.Warnings()) > 0 || len(copied.Strays()) > 0 {
		t.Errorf("got %+v with %v, strays %v", got, copied.Warnings(), copied.Strays())
	}
	for file, data := range sound {
		if got, err := os.ReadFile(filepath.Join(dir, file)); err != nil || !bytes.Equal(got, data) {
			t.Errorf("%s: %d bytes, %v; want %d", file, len(got), err, len(data))
		}
	}
}

// wantOnly checks that nothing but the given names lies in dir.
func wantOnly(t *testing.T, dir string, names ...string) {
	t.Helper()
	entries := must.Get(os.ReadDir(dir))(t)
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if strings.Join(got, "|") != strings.Join(names, "|") {
		t.Errorf("%s holds %q, want %q", dir, got, names)
	}
}

func rising(t *testing.T) (progress func(float64), last *float64) {
	last = new(float64)
	return func(x float64) {
		if x < *last || x > 1 {
			t.Errorf("progress %g after %g", x, *last)
		}
		*last = x
	}, last
}

func TestExportImportRoundTrip(t *testing.T) {
	f, sound := withSound(t)
	must.Do(t, f.Update(func(m *Machine) error { m.Notes = "played in the yard\nwindy"; return nil }))
	path := filepath.Join(t.TempDir(), "spring.zip")
	progress, last := rising(t)
	missing, err := f.Export(context.Background(), path, progress)
	if err != nil || len(missing) > 0 || *last < 0.9 {
		t.Fatalf("missing %q, %v, progress %g", missing, err, *last)
	}
	root := filepath.Join(t.TempDir(), "made for it")
	for _, want := range []string{"Barn machine", "Barn machine 2"} { // twice, beside each other
		progress, last = rising(t)
		dir, err := Import(context.Background(), path, root, progress)
		if err != nil || dir != filepath.Join(root, want) || *last < 0.9 {
			t.Fatalf("imported into %q, %v, progress %g", dir, err, *last)
		}
		wantCopy(t, dir, f, "Barn machine", sound)
	}
	wantOnly(t, root, "Barn machine", "Barn machine 2")
}

// Info-ZIP, which is not Go's, reads what Export writes and writes what Import reads.
func TestInfoZipReadsAndWrites(t *testing.T) {
	f, sound := withSound(t)
	path := filepath.Join(t.TempDir(), "spring.zip")
	must.Get(f.Export(context.Background(), path, nil))(t)
	there := t.TempDir()
	if out, err := exec.Command("unzip", "-q", path, "-d", there).CombinedOutput(); err != nil || len(out) > 0 {
		t.Fatalf("unzip: %v\n%s", err, out)
	}
	wantOnly(t, there, "machine.json", "take-001.wav", "take-002.wav")
	wantCopy(t, there, f, "Barn machine", sound)

	again := filepath.Join(t.TempDir(), "again.zip")
	zip := exec.Command("zip", "-q", again, "machine.json", "take-001.wav", "take-002.wav")
	zip.Dir = there
	if out, err := zip.CombinedOutput(); err != nil {
		t.Fatalf("zip: %v\n%s", err, out)
	}
	dir := must.Get(Import(context.Background(), again, t.TempDir(), nil))(t)
	wantCopy(t, dir, f, "Barn machine", sound)
}

func TestExportWithoutARecording(t *testing.T) {
	f, sound := withSound(t)
	must.Do(t, os.Remove(filepath.Join(f.Dir(), "take-001.wav")))
	path := filepath.Join(t.TempDir(), "spring.zip")
	missing, err := f.Export(context.Background(), path, nil)
	if err != nil || !reflect.DeepEqual(missing, []string{"take-001.wav"}) {
		t.Fatalf("missing %q, %v", missing, err)
	}
	dir := must.Get(Import(context.Background(), path, t.TempDir(), nil))(t)
	got, err := os.ReadFile(filepath.Join(dir, "take-002.wav"))
	if err != nil || !bytes.Equal(got, sound["take-002.wav"]) {
		t.Errorf("%d bytes, %v", len(got), err)
	}
}

func TestDuplicate(t *testing.T) {
	f, sound := withSound(t)
	for _, want := range []string{"Barn machine copy", "Barn machine copy 2"} {
		progress, last := rising(t)
		dir, err := f.Duplicate(context.Background(), progress)
		if err != nil || dir != filepath.Join(filepath.Dir(f.Dir()), want) || *last < 0.9 {
			t.Fatalf("duplicated into %q, %v, progress %g", dir, err, *last)
		}
		wantCopy(t, dir, f, want, sound)
	}
	must.Do(t, f.Close())
	_, err := f.Duplicate(context.Background(), nil)
	wantSentence(t, err, "closed")
}

// Names that differ in capitals only come back where the disk tells them apart; where
// it does not, one would be written over the other.
func TestTakesThatDifferInCapitals(t *testing.T) {
	f, sound := withSound(t)
	lay(t, f.Dir(), map[string]string{"TAKE-001.wav": "RIFF"})
	must.Do(t, f.Update(func(m *Machine) error { m.Takes[1].File = "TAKE-001.wav"; return nil }))
	delete(sound, "take-002.wav")
	sound["TAKE-001.wav"] = []byte("RIFF")
	path := filepath.Join(t.TempDir(), "both.zip")
	if missing, err := f.Export(context.Background(), path, nil); err != nil || len(missing) > 0 {
		t.Fatal(err, missing)
	}
	dir := must.Get(Import(context.Background(), path, t.TempDir(), nil))(t)
	wantCopy(t, dir, f, f.Machine().Build.Name, sound)
	z := must.Get(zip.OpenReader(path))(t)
	defer z.Close()
	err := pouring(context.Background(), nil, nil).into(dir, recording{name: z.File[1].Name})
	wantSentence(t, err, "twice")
}

// What could not be imported is not exported: better told now than when the folder is
// gone.
func TestExportRefusesWhatImportWould(t *testing.T) {
	if fewEnough(mostFiles) != nil {
		t.Error("as many as may be are refused")
	}
	wantSentence(t, fewEnough(mostFiles+1), "5001 files", "at most")
}

// A take that is kept while a copy is begun is in it with its recording or not at all.
func TestDuplicateWhileTakesCome(t *testing.T) {
	f := create(t, sample())
	lay(t, f.Dir(), map[string]string{"take-001.wav": string(soundOne), "take-002.wav": string(soundTwo)})
	defer diskfault.WithoutSync()()
	done := make(chan bool)
	go func() {
		defer close(done)
		for range deeptest.Of(10, 60) {
			if err := addTake(t, "", f); err != nil {
				t.Error(err)
			}
		}
	}()
	for copies := 0; ; copies++ {
		dir := must.Get(f.Duplicate(context.Background(), nil))(t)
		m := must.Get(Load(dir))(t)
		for _, take := range m.Takes {
			if _, err := os.Stat(filepath.Join(dir, take.File)); err != nil {
				t.Errorf("copy %d: %v", copies, err)
			}
		}
		select {
		case <-done:
			return
		default:
		}
	}
}

// Cancelled half-way, nothing is left.
func TestCancelledArchiveLeavesNothing(t *testing.T) {
	f, _ := withSound(t)
	whole := filepath.Join(t.TempDir(), "whole.zip")
	must.Get(f.Export(context.Background(), whole, nil))(t)
	dir := t.TempDir()
	for name, run := range map[string]func(context.Context, func(float64)) error{
		"export": func(ctx context.Context, progress func(float64)) error {
			_, err := f.Export(ctx, filepath.Join(dir, "cut.zip"), progress)
			return err
		},
		"import": func(ctx context.Context, progress func(float64)) error {
			_, err := Import(ctx, whole, dir, progress)
			return err
		},
	} {
		ctx, cancel := context.WithCancel(context.Background())
		err := run(ctx, func(x float64) {
			if x > 0.5 {
				cancel()
			}
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", name, err)
		}
		wantOnly(t, dir)
	}
	ctx, cancel := context.WithCancel(context.Background())
	_, err := f.Duplicate(ctx, func(float64) { cancel() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("duplicate: %v", err)
	}
	wantOnly(t, filepath.Dir(f.Dir()), "s")
}

// A machine that takes long to read does not keep a reader who has thought better of it.
func TestCancelledWhileItIsRead(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	begun, never := make(chan bool), make(chan bool)
	defer close(never)
	go func() { <-begun; cancel() }()
	err := orCancel(ctx, func() error {
		close(begun)
		<-never
		return nil
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("it says %v", err)
	}
	path, dir := filepath.Join(t.TempDir(), "sent.zip"), t.TempDir()
	lay(t, filepath.Dir(path), map[string]string{"sent.zip": string(zipOf(t, own(t)))})
	if _, err := Import(ctx, path, dir, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("an import says %v", err)
	}
	wantOnly(t, dir)
	tried(t, "machine.json in a zip, cancelled while it is read", 1, "ends at once, nothing left behind")
}

// What a crash left of an import goes with a later one, but not what another window
// fills just now.
func TestSweep(t *testing.T) {
	f, _ := withSound(t)
	root := filepath.Dir(f.Dir())
	old, now := fillingPrefix+"1"+fillingSuffix, fillingPrefix+"2"+fillingSuffix
	for _, name := range []string{old, now} {
		must.Do(t, os.Mkdir(filepath.Join(root, name), 0o755))
	}
	long := time.Now().Add(-2 * fillingMost)
	must.Do(t, os.Chtimes(filepath.Join(root, old), long, long))
	must.Get(f.Duplicate(context.Background(), nil))(t)
	wantOnly(t, root, now, "Barn machine copy", "s")
}
