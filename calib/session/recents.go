package session

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/gofrs/flock"

	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Recent is a session folder that was opened lately.
type Recent struct {
	Dir     string    `json:"dir"` // absolute
	Name    string    `json:"name"`
	Opened  time.Time `json:"opened"`
	Missing bool      `json:"-"` // there is no machine at Dir now: the disk may be unplugged
}

const (
	maxRecents  = 20
	recentsName = "recents.json"
)

// Recents returns the sessions opened lately, newest first, at most 20. A list
// that cannot be read counts as empty: it holds nothing that is not elsewhere.
func Recents() []Recent {
	dir, err := configDir()
	if err != nil {
		return nil
	}
	data, err := os.ReadFile(filepath.Join(dir, recentsName))
	if err != nil {
		return nil
	}
	var recents []Recent
	if err := json.Unmarshal(data, &recents); err != nil {
		return nil
	}
	for i := range recents {
		recents[i].Missing = !IsIn(recents[i].Dir)
	}
	return recents
}

// Remember puts the session in dir at the top of the list.
func Remember(dir string) error {
	s, err := Load(dir)
	if err != nil {
		return err
	}
	full, err := filepath.Abs(dir)
	if err != nil {
		return i18n.Errorf("the machine folder %s has no full path: %w", dir, err)
	}
	return changeRecents(func(recents []Recent) []Recent {
		newest := Recent{Dir: full, Name: s.Machine.Name, Opened: time.Now().UTC()}
		recents = slices.Insert(without(recents, full), 0, newest)
		return recents[:min(len(recents), maxRecents)]
	})
}

// Forget takes dir off the list; the folder itself stays as it is.
func Forget(dir string) error {
	full, err := filepath.Abs(dir)
	if err != nil {
		return i18n.Errorf("the machine folder %s has no full path: %w", dir, err)
	}
	return changeRecents(func(recents []Recent) []Recent { return without(recents, full) })
}

func without(recents []Recent, dir string) []Recent {
	return slices.DeleteFunc(recents, func(r Recent) bool { return r.Dir == dir })
}

// recentsPatience is how long to wait for another window to write its list.
const recentsPatience = 2 * time.Second

// changeRecents rewrites the list, one window at a time.
func changeRecents(change func([]Recent) []Recent) error {
	dir, err := configDir()
	if err != nil {
		return i18n.Errorf("the list of recent machines has no place: set LAGWRIGHT_CONFIG to a folder: %w", err)
	}
	if err := makeFolder(dir); err != nil {
		return recentsError(dir, err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), recentsPatience)
	defer cancel()
	lock := flock.New(filepath.Join(dir, ".recents.lock"))
	if _, err := lock.TryLockContext(ctx, 10*time.Millisecond); err != nil {
		return recentsError(dir, err)
	}
	defer lock.Unlock()
	data, err := json.MarshalIndent(change(Recents()), "", "  ")
	if err != nil {
		return recentsError(dir, err)
	}
	if err := atomicfile.Write(filepath.Join(dir, recentsName), atomicfile.Bytes(append(data, '\n'))); err != nil {
		return recentsError(dir, err)
	}
	return nil
}

func recentsError(dir string, err error) error {
	return i18n.Errorf("the list of recent machines in %s could not be changed: check that the folder can be written to: %w", dir, err)
}

// configDir returns where small things about the person's use are kept.
func configDir() (string, error) {
	if dir := os.Getenv("LAGWRIGHT_CONFIG"); dir != "" {
		return dir, nil
	}
	dir, err := os.UserConfigDir()
	return filepath.Join(dir, "lagwright"), err
}
