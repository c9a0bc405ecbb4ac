package machine

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/gofrs/flock"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Names inside a machine folder.
const (
	fileName   = "machine.json"
	backupName = "machine.json.bak"
	lockName   = ".machine.lock"
)

// Errors that a caller may want to tell apart; each is wrapped in a sentence
// with the folder's name.
var (
	// ErrLocked: another window, or another program, has the folder open.
	ErrLocked = i18n.Fixed(i18n.Say("it is open in another Lagwright window; close it there first"))
	// ErrNoMachine: the folder holds no machine.json.
	ErrNoMachine = i18n.Fixed(i18n.Say("there is no machine in it: choose another folder or start a new machine"))
	// ErrHasMachine: the folder holds a machine already.
	ErrHasMachine = i18n.Fixed(i18n.Say("it holds a machine already: open that one or choose another folder"))
)

// Folder is an open machine folder, locked against every other window until
// Close, or to be read only. Its methods may be called from any goroutine.
type Folder struct {
	dir      string
	lock     *flock.Flock // nil where it is only read
	readOnly error        // why it is only read

	mu       sync.Mutex // guards what follows
	current  Machine
	saved    []byte                     // machine.json as last saved; nil once closed
	tried    map[[sha256.Size]byte]bool // what saves since then would have left that were said to fail
	warnings []calib.Warning
}

// Create makes a machine folder, the folder itself included, and opens it.
// Created is set to now where it is zero. It refuses a folder that holds a
// machine already, even a damaged one.
func Create(dir string, m Machine) (*Folder, error) {
	if m.Created.IsZero() {
		m.Created = time.Now()
	}
	current, data, err := settle(m)
	if err != nil {
		return nil, i18n.Errorf("the machine cannot be created: %w", err)
	}
	if err := makeFolder(dir); err != nil {
		return nil, i18n.Errorf("the machine folder %s cannot be made: choose another place: %w", dir, err)
	}
	f, err := acquire(dir)
	if err != nil {
		return nil, err
	}
	if IsIn(dir) {
		err = i18n.Errorf("folder %s: %w", dir, ErrHasMachine)
	} else if err = save(dir, data, data); err != nil && !exists(dir, fileName) {
		clearOut(filepath.Join(dir, backupName)) // alone it would be a machine that was not created
	}
	if err != nil {
		return nil, errors.Join(err, f.Close())
	}
	f.current, f.saved = current, data
	return f, nil
}

// Open locks and loads a machine folder and brings back the last good save
// where the latest is damaged. Warnings and Strays say what it found. The
// error wraps ErrLocked, ErrNoMachine or ErrNewer where one of them is why.
func Open(dir string) (*Folder, error) {
	f, unchangeable, err := open(dir)
	return f, cmp.Or(err, unchangeable)
}

// open does so, and tells why a folder cannot be changed from why it cannot be read.
func open(dir string) (f *Folder, unchangeable, err error) {
	if !IsIn(dir) {
		return nil, nil, i18n.Errorf("folder %s: %w", dir, ErrNoMachine)
	}
	if err := plainFiles(dir); err != nil {
		return nil, nil, err
	}
	f, err = acquire(dir)
	if err != nil {
		return nil, err, nil
	}
	if err := f.load(); err != nil {
		err = errors.Join(err, f.Close())
		if errors.Is(err, ErrNewer) {
			return nil, err, nil
		}
		return nil, nil, err
	}
	return f, nil, nil
}

// Load reads a machine without locking it and changes nothing on disk. A
// damaged machine.json is an error here: only Open mends it.
func Load(dir string) (Machine, error) {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return Machine{}, i18n.Errorf("%s is a file: name the machine folder it lies in", dir)
	}
	if err := plainFiles(dir); err != nil {
		return Machine{}, err
	}
	m, data, err := read(dir, fileName, version)
	switch {
	case err == nil || errors.Is(err, ErrOutside):
		return m, err
	case errors.Is(err, ErrNewer):
		return Machine{}, i18n.Errorf("folder %s: %w", dir, err)
	case errors.Is(err, fs.ErrNotExist) && !IsIn(dir):
		return Machine{}, i18n.Errorf("folder %s: %w", dir, ErrNoMachine)
	case data == nil:
		return Machine{}, i18n.Errorf("the machine in %s cannot be read: open it in Lagwright to bring back the last good save: %w", dir, err)
	}
	return Machine{}, i18n.Errorf("%s is damaged: open the machine in Lagwright to bring back the last good save: %w", filepath.Join(dir, fileName), err)
}

// read reads a file of a machine folder, of a version up to newest; data is nil where it
// cannot be read. The error wraps ErrOutside where all is in order but a take leads out of
// the folder.
func read(dir, name string, newest int) (m Machine, data []byte, err error) {
	if data, err = os.ReadFile(filepath.Join(dir, name)); err != nil {
		return Machine{}, nil, err
	}
	if m, err = decodeUpTo(newest, data); err == nil {
		err = m.stayInside(dir)
	}
	return m, data, err
}

// IsIn reports whether dir has a machine.json or its backup.
func IsIn(dir string) bool { return exists(dir, fileName) || exists(dir, backupName) }

func exists(dir, name string) bool {
	_, err := os.Lstat(filepath.Join(dir, name))
	return err == nil
}

// settle validates m and returns it as it will be read back, and its file.
func settle(m Machine) (Machine, []byte, error) {
	m.Created, m.Takes = m.Created.UTC(), append([]Take{}, m.Takes...) // [] in the file, not null
	for i := range m.Takes {
		m.Takes[i].At = m.Takes[i].At.UTC()
	}
	if err := m.validate(); err != nil {
		return Machine{}, nil, err
	}
	data, err := encode(m)
	if err != nil {
		return Machine{}, nil, err
	}
	m, err = decode(data)
	return m, data, err
}

// Close releases the folder. Everything is saved already; closing twice is
// no error.
func (f *Folder) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.saved = nil
	if f.lock == nil {
		return nil
	}
	if err := f.lock.Unlock(); err != nil {
		return i18n.Errorf("the machine folder %s could not be released: %w", f.dir, err)
	}
	return nil
}

// Dir returns the folder's path as it was given.
func (f *Folder) Dir() string { return f.dir }

// Machine returns a copy of the machine that the caller may keep and change.
func (f *Folder) Machine() Machine {
	f.mu.Lock()
	defer f.mu.Unlock()
	return clone(f.current)
}

// Warnings returns what Open found and mended.
func (f *Folder) Warnings() []calib.Warning {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.warnings)
}

// Update lets change work on a copy of the machine, validates and saves it, and
// only then makes it current. On any error, change's own included, machine.json
// and the machine in memory stay as they were. change must not call f's methods.
func (f *Folder) Update(change func(*Machine) error) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.saved == nil {
		return i18n.Errorf("the machine in %s is closed: open it again first", f.dir)
	}
	if f.readOnly != nil {
		return f.readOnly
	}
	m := clone(f.current)
	if err := change(&m); err != nil {
		return err
	}
	next, data, err := settle(m)
	if err != nil {
		return i18n.Errorf("the machine in %s was not changed: %w", f.dir, err)
	}
	if bytes.Equal(data, f.saved) && len(f.tried) == 0 {
		return nil // nothing changed: the backup stays one save behind
	}
	if err := f.undisturbed(); err != nil {
		return err
	}
	if err := save(f.dir, data, f.saved); err != nil {
		if f.tried == nil {
			f.tried = map[[sha256.Size]byte]bool{}
		}
		f.tried[sha256.Sum256(data)] = true
		return err
	}
	f.current, f.saved, f.tried = next, data, nil
	return nil
}

// TakePath returns where the WAV file of a take is.
func (f *Folder) TakePath(t Take) string {
	return filepath.Join(f.dir, filepath.FromSlash(t.File))
}

// NewTake returns the next free take id and the path to write its WAV file to.
// An id counts as used once the machine or a file in the folder has it, so
// asking twice before writing gives the same answer twice.
func (f *Folder) NewTake() (id int, path string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	last := 0
	for _, t := range f.current.Takes {
		last = max(last, t.ID)
	}
	entries, _ := os.ReadDir(f.dir)
	for _, e := range entries { // a link or folder of that name is in the way as well
		last = max(last, takeID(e.Name()))
	}
	return last + 1, filepath.Join(f.dir, takeName(last+1))
}

func takeName(id int) string { return fmt.Sprintf("take-%03d.wav", id) }

// takeID returns the id in a file name made by takeName, also while it is still
// being recorded, and 0 for other names.
func takeID(name string) int {
	digits, ok := strings.CutPrefix(strings.ToLower(name), "take-")
	id, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSuffix(digits, ".wav"), ".part"))
	if !ok || err != nil || id < 0 {
		return 0
	}
	return id
}

// Strays returns the paths of WAV files in the folder that no take knows, sorted:
// recordings whose machine was not saved any more or whose take was undone, or files copied
// in. Hidden ones are another writer's unfinished files.
func (f *Folder) Strays() (paths []string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	entries, _ := os.ReadDir(f.dir) // a folder that went away has none
	for _, e := range entries {
		wav := strings.EqualFold(filepath.Ext(e.Name()), ".wav") && e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".")
		if wav && !slices.ContainsFunc(f.current.Takes, func(t Take) bool { return t.File == e.Name() }) {
			paths = append(paths, filepath.Join(f.dir, e.Name()))
		}
	}
	return paths
}

// acquire takes the lock of a folder that must be writable.
func acquire(dir string) (*Folder, error) {
	if err := saveError(dir, probe(dir)); err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, lock: flock.New(filepath.Join(dir, lockName), flock.SetPermissions(0o644))} // another account may lock it too
	locked := false
	err := atomicfile.Touch(atomicfile.OpLock, f.lock.Path(), func() (err error) {
		locked, err = f.lock.TryLock()
		return err
	})
	switch {
	case err != nil:
		return nil, i18n.Errorf("the machine folder %s cannot be locked against other windows: copy it to a disk of this computer: %w", dir, err)
	case !locked:
		return nil, i18n.Errorf("machine folder %s: %w", dir, ErrLocked)
	}
	return f, nil
}

// probe tries to make a file in dir; a folder's permission bits do not tell.
func probe(dir string) error {
	p, err := atomicfile.Prepare(filepath.Join(dir, "probe"), atomicfile.Bytes(nil))
	if err != nil {
		return err
	}
	p.Discard()
	return nil
}
