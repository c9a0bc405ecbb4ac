package session

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/calib/take"
	"lagwright/calib/whole"
	"lagwright/calib/whole/breaking"
)

// job is something that a session writes, tried on disks that break.
type job struct {
	name string
	do   func(t *testing.T, root string, f *Folder) error // f is the session in root/s, open

	// wrong says what is not as it was, or as it is to become, below root; old and
	// new say which of the two is allowed.
	wrong func(t *testing.T, root string, old, new bool) string
}

// The sound of the takes, which no job may change.
var (
	soundOne = noise(3000)
	soundTwo = noise(5000)
)

// jobs are all that a session writes. Before each, root/s holds save 1 with two
// takes, and root/out.zip an earlier zip.
var jobs = []job{
	{"save", func(_ *testing.T, _ string, f *Folder) error { return f.Update(numbered(2)) }, wrongSave},
	{"rename", func(_ *testing.T, _ string, f *Folder) error {
		return f.Update(func(s *Session) error { s.Name = "2"; s.Takes[1].Notes = "2"; return nil })
	}, wrongSave},
	{"new session", func(_ *testing.T, root string, _ *Folder) error {
		f, err := Create(filepath.Join(root, "new"), sample())
		if err != nil {
			return err
		}
		return f.Close()
	}, wrongNew},
	{"new take", addTake, wrongTake},
	{"export", func(_ *testing.T, root string, f *Folder) error {
		_, err := f.Export(context.Background(), filepath.Join(root, "out.zip"), nil)
		return err
	}, wrongZip},
	{"duplicate", func(_ *testing.T, _ string, f *Folder) error {
		_, err := f.Duplicate(context.Background(), nil)
		return err
	}, wrongCopy("1 copy")},
	{"import", func(_ *testing.T, root string, f *Folder) error {
		_, err := Import(context.Background(), filepath.Join(root, "in.zip"), filepath.Join(root, "sessions"), nil)
		return err
	}, wrongCopy(filepath.Join("sessions", "1"))},
}

// saveIn returns the number of the session in dir, once it was opened as a window
// does: -1 for a mixture, -2 where there is none and the reason.
func saveIn(dir string) (number int, why string) {
	f, err := Open(dir)
	if err != nil {
		return -2, err.Error()
	}
	defer f.Close()
	for _, w := range f.Warnings() {
		if w.Code == WarnMissingTake {
			return -1, w.Text
		}
	}
	return saveNumber(f.Session()), ""
}

func wrongSave(_ *testing.T, root string, old, new bool) string {
	dir := filepath.Join(root, "s")
	n, why := saveIn(dir)
	one, _ := os.ReadFile(filepath.Join(dir, "take-001.wav"))
	two, _ := os.ReadFile(filepath.Join(dir, "take-002.wav"))
	switch {
	case !bytes.Equal(one, soundOne) || !bytes.Equal(two, soundTwo):
		return "a take was changed"
	case n == 1 && old, n == 2 && new:
		return ""
	case why != "":
		return why
	}
	return "save " + string(rune('0'+n))
}

func wrongNew(t *testing.T, root string, old, new bool) string {
	if why := wrongSave(t, root, true, false); why != "" {
		return "the neighbour: " + why
	}
	f, err := Open(filepath.Join(root, "new"))
	if err != nil {
		if old && !holdsSession(filepath.Join(root, "new")) {
			return ""
		}
		return err.Error()
	}
	defer f.Close()
	if !new || !sameFile(f.Session(), sample()) {
		return "there is a session " + f.Session().Name
	}
	return ""
}

// short is a recording.
type short struct{}

func (short) Rate() float64 { return 8000 }
func (short) Channels() int { return 2 }
func (short) Frames() int64 { return 2000 }
func (short) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	for i := range dst {
		dst[i] = float32(math.Sin(float64(channel) * float64(frame+int64(i))))
	}
	return len(dst), nil
}

// addTake writes a recording and saves it as a take, as calib/bench does.
func addTake(_ *testing.T, _ string, f *Folder) error {
	id, path := f.NewTake()
	if err := take.Write(context.Background(), path, short{}, nil); err != nil {
		return err
	}
	return f.Update(func(s *Session) error {
		added := s.Takes[1].clone()
		added.ID, added.File, added.Notes = id, takeName(id), "2"
		s.Name = "2"
		s.Takes = append(s.Takes, added)
		return nil
	})
}

func wrongTake(t *testing.T, root string, old, new bool) string {
	if why := wrongSave(t, root, old, new); why != "" {
		return why
	}
	path := filepath.Join(root, "s", "take-003.wav")
	if _, err := os.Stat(path); err != nil {
		return "" // no take names it, for saveIn has looked
	}
	w, err := take.Open(path)
	if err != nil {
		return "the new take: " + err.Error()
	}
	defer w.Close()
	if w.Frames() != (short{}).Frames() || len(w.Warnings()) > 0 {
		return "a part of the new take is there"
	}
	return ""
}

func wrongZip(t *testing.T, root string, old, new bool) string {
	if why := wrongSave(t, root, true, false); why != "" {
		return why
	}
	data, err := os.ReadFile(filepath.Join(root, "out.zip"))
	if err != nil {
		return err.Error()
	}
	if string(data) == earlierZip {
		if old {
			return ""
		}
		return "the zip is that of before"
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil || !new {
		return "the zip is neither"
	}
	for _, f := range z.File {
		in, err := f.Open()
		if err != nil {
			return err.Error()
		}
		if _, err := io.Copy(io.Discard, in); err != nil {
			return err.Error()
		}
	}
	return ""
}

const earlierZip = "an earlier zip"

// wrongCopy is for what makes a new session folder.
func wrongCopy(name string) func(t *testing.T, root string, old, new bool) string {
	return func(t *testing.T, root string, old, new bool) string {
		if why := wrongSave(t, root, true, false); why != "" {
			return why
		}
		dir := filepath.Join(root, name)
		if _, err := os.Stat(dir); err != nil {
			if old {
				return ""
			}
			return err.Error()
		}
		s, err := Load(dir)
		if err != nil || len(s.Takes) != 2 || !new {
			return "a part of the copy is there"
		}
		for i, sound := range [][]byte{soundOne, soundTwo} {
			if got, err := os.ReadFile(filepath.Join(dir, s.Takes[i].File)); err != nil || !bytes.Equal(got, sound) {
				return "a take of the copy is not the take"
			}
		}
		return ""
	}
}

// prepare lays out what every job begins with.
func prepare(t *testing.T) (root string) {
	t.Helper()
	root = t.TempDir()
	s := sample()
	numbered(0)(&s)
	f, err := Create(filepath.Join(root, "s"), s)
	if err != nil {
		t.Fatal(err)
	}
	lay(t, f.Dir(), map[string]string{"take-001.wav": string(soundOne), "take-002.wav": string(soundTwo)})
	if err := f.Update(numbered(1)); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Export(context.Background(), filepath.Join(root, "in.zip"), nil); err != nil {
		t.Fatal(err)
	}
	lay(t, root, map[string]string{"out.zip": earlierZip})
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return root
}

// copied returns a copy of what every job begins with, open.
func copied(t *testing.T, prepared string) (root string, f *Folder) {
	t.Helper()
	root = filepath.Join(t.TempDir(), "root")
	if err := os.CopyFS(root, os.DirFS(prepared)); err != nil {
		t.Fatal(err)
	}
	f, err := Open(filepath.Join(root, "s"))
	if err != nil {
		t.Fatal(err)
	}
	return root, f
}

// TestBrokenDisk does each job on a disk that breaks at each of its calls in turn, in
// every way. Whatever comes, what lies there afterwards is the state before the job or
// the one after it, and no take has suffered.
func TestBrokenDisk(t *testing.T) {
	defer breaking.Hasten()()
	prepared := prepare(t)
	calls := map[string][]string{} // of each job
	for _, j := range jobs {
		root, f := copied(t, prepared)
		calls[j.name] = breaking.Watch(func() {
			if err := j.do(t, root, f); err != nil {
				t.Fatal(err)
			}
		})
		f.Close()
	}
	for _, way := range breaking.Ways {
		t.Run(string(way), func(t *testing.T) {
			faults, states := 0, 0
			for _, j := range jobs {
				for at, op := range append(calls[j.name], "") { // after the last as well
					if !way.Breaks(op) || testing.Short() && at%3 != 0 {
						continue
					}
					faults++
					states += breakOnce(t, prepared, j, at, way)
				}
			}
			tried(t, "what a session writes: "+string(way), faults, fmt.Sprintf("what was there before, or after, in each of %d states", states))
			if faults < 20 {
				t.Errorf("only %d faults", faults)
			}
		})
	}
}

// breakOnce breaks a job at a call and looks at what is left, in how many states it
// may be.
func breakOnce(t *testing.T, prepared string, j job, at int, way breaking.Way) (states int) {
	t.Helper()
	root, f := copied(t, prepared)
	defer f.Close()
	var failed error
	d, err := breaking.Break(root, at, way, func() { failed = j.do(t, root, f) })
	if err != nil {
		t.Fatal(err)
	}
	if !way.Cut() {
		wantAlive(t, j, d, way, root, f, failed)
		return 1
	}
	states, err = d.After(t.TempDir(), func(root string) {
		if why := j.wrong(t, root, true, true); why != "" {
			t.Errorf("%s, %s, %s: %s", j.name, way, d.Broken(), why)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return states
}

// wantAlive checks what a job that was not cut off leaves: where it says that it
// failed, the old state, or with a lying disk the new one, and a sentence.
func wantAlive(t *testing.T, j job, d *breaking.Disk, way breaking.Way, root string, f *Folder, failed error) {
	t.Helper()
	where := j.name + ", " + string(way) + ", " + d.Broken()
	if failed != nil && (len(failed.Error()) < 40 || !strings.Contains(failed.Error(), root) && !strings.Contains(failed.Error(), "take-003.wav")) {
		t.Errorf("%s: no sentence: %v", where, failed)
	}
	now := saveNumber(f.Session())
	if failed != nil && now != 1 {
		t.Errorf("%s: it failed, and memory holds save %d", where, now)
	}
	for name := range everything(t, root) {
		if whole.IsTemp(filepath.Base(name)) && !d.Removing() {
			t.Errorf("%s: %s is left behind", where, name)
		}
	}
	f.Close()
	if why := j.wrong(t, root, failed != nil, failed == nil || way == breaking.Lies); why != "" {
		t.Errorf("%s: %s (it said %v)", where, why, failed)
	}
	again(t, where, root)
}

// again saves once more, on a disk that works.
func again(t *testing.T, where, root string) {
	t.Helper()
	f, err := Open(filepath.Join(root, "s"))
	if err != nil {
		t.Errorf("%s: %v", where, err)
		return
	}
	err = f.Update(numbered(7))
	f.Close()
	if n, why := saveIn(f.Dir()); err != nil || n != 7 {
		t.Errorf("%s: with a disk that works %v, save %d %s", where, err, n, why)
	}
}
