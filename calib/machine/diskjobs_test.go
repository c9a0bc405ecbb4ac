package machine

import (
	"archive/zip"
	"bytes"
	"context"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"lagwright/calib/take"
	"lagwright/internal/soundtest"
)

// job is something that a machine writes, tried on disks that break.
type job struct {
	name string
	do   func(t *testing.T, root string, f *Folder) error // f is the machine in root/s, open

	// wrong says what is not as it was, or as it is to become, below root; old and
	// new say which of the two is allowed.
	wrong func(t *testing.T, root string, old, new bool) string
}

// The sound of the takes, which no job may change.
var (
	soundOne = noise(3000)
	soundTwo = noise(5000)
)

// jobs are all that a machine writes. Before each, root/s holds save 1 with two
// takes, and root/out.zip an earlier zip.
var jobs = []job{
	{"save", func(_ *testing.T, _ string, f *Folder) error { return f.Update(numbered(2)) }, wrongSave},
	{"rename", func(_ *testing.T, _ string, f *Folder) error {
		return f.Update(func(s *Machine) error { s.Build.Name = "2"; s.Takes[1].Notes = "2"; return nil })
	}, wrongSave},
	{"new machine", func(_ *testing.T, root string, _ *Folder) error {
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
		_, err := Import(context.Background(), filepath.Join(root, "in.zip"), filepath.Join(root, "machines"), nil)
		return err
	}, wrongCopy(filepath.Join("machines", "1"))},
}

// saveIn returns the number of the machine in dir, once it was opened as a window
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
	return saveNumber(f.Machine()), ""
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
		if old && !IsIn(filepath.Join(root, "new")) {
			return ""
		}
		return err.Error()
	}
	defer f.Close()
	if !new || !sameFile(f.Machine(), sample()) {
		return "there is a machine " + f.Machine().Build.Name
	}
	return ""
}

// short is a recording.
var short = soundtest.Made{RateHz: 8000, Of: 2, Long: 2000, At: func(channel int, frame int64) float32 {
	return float32(math.Sin(float64(channel) * float64(frame)))
}}

// addTake writes a recording and saves it as a take, as calib/bench does.
func addTake(_ *testing.T, _ string, f *Folder) error {
	id, path := f.NewTake()
	if err := take.Write(context.Background(), path, short, nil); err != nil {
		return err
	}
	return f.Update(func(m *Machine) error {
		added := clone(m.Takes[1])
		added.ID, added.File, added.Notes = id, takeName(id), "2"
		m.Build.Name = "2"
		m.Takes = append(m.Takes, added)
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
	if w.Frames() != short.Frames() || len(w.Warnings()) > 0 {
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

// wrongCopy is for what makes a new machine folder.
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
		m, err := Load(dir)
		if err != nil || len(m.Takes) != 2 || !new {
			return "a part of the copy is there"
		}
		for i, sound := range [][]byte{soundOne, soundTwo} {
			if got, err := os.ReadFile(filepath.Join(dir, m.Takes[i].File)); err != nil || !bytes.Equal(got, sound) {
				return "a take of the copy is not the take"
			}
		}
		return ""
	}
}
