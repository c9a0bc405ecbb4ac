package take

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// Gap is a place where sound was lost while it was recorded. Nothing is put in
// its stead: the frames around it lie side by side in the file.
type Gap struct {
	Frame int64 `json:"frame"` // the first frame after the gap, from 0
	Lost  int64 `json:"lost"`  // frames that are missing, at least 1; an estimate where the device did not say
}

// partSuffix ends the name of a recording that still grows, or whose end never
// came.
const partSuffix = ".part.wav"

// flushEvery is how often the header is brought up to date and the disk asked to
// keep everything: less than half a second, so that with the sound still in
// memory a power cut costs less than a second.
const flushEvery = 400 * time.Millisecond

// disk is what a Recorder needs of its file.
type disk interface {
	io.WriterAt
	Truncate(size int64) error
	Sync() error
	Close() error
}

// Recorder is a take that grows on the disk as its sound arrives: 24-bit PCM,
// readable at any moment. Its methods are for one goroutine at a time.
type Recorder struct {
	path    string // where it goes once it is finished
	part    string // where it grows
	file    disk
	header  // of what is on the disk
	raw     []byte
	flushed time.Time
	syncing chan error // receives once the sync that is under way ends; nil when none is
	failed  error      // why nothing more is taken
}

// Create begins a take that will be called path, which ends in .wav. While it
// grows it is called like take-007.part.wav. Nothing that exists is overwritten.
func Create(path string, form calib.Format) (*Recorder, error) {
	if !strings.EqualFold(filepath.Ext(path), ".wav") {
		return nil, i18n.Errorf("%s cannot be recorded to: give it a name that ends in .wav", path)
	}
	if err := checkForm(form); err != nil {
		return nil, i18n.Errorf("%s was not begun: %w", path, err)
	}
	if _, err := os.Lstat(path); err == nil {
		return nil, sentence(fs.ErrExist, i18n.Errorf("%s is there already and is not overwritten: choose another name", path))
	}
	part := path[:len(path)-len(".wav")] + partSuffix
	file, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return nil, sentence(err, i18n.Errorf("%s is a recording that was never finished, and it is not overwritten: look at it first, or choose another name", part))
	case err != nil:
		return nil, sentence(err, i18n.Errorf("%s cannot be made: check that its folder is there and may be written to", part))
	}
	r := &Recorder{path: path, part: part, file: file, header: header{form: form}, flushed: time.Now()}
	if err := r.writeHeader(true); err != nil {
		r.Discard()
		return nil, i18n.Errorf("%s was not begun: %w", path, r.refused(err))
	}
	atomicfile.SyncDir(filepath.Dir(path))
	return r, nil
}

func checkForm(form calib.Format) error {
	switch {
	case form.RateHz < minRate || form.RateHz > maxRate:
		return i18n.Errorf("a take cannot have %v frames a second: use a whole number from %d to %d", form.RateHz, minRate, maxRate)
	case form.Channels < 1 || form.Channels > maxChannels:
		return i18n.Errorf("a take cannot have %d channels: use 1 to %d", form.Channels, maxChannels)
	}
	return nil
}

// Path returns where the take grows, and once it is finished where it is.
func (r *Recorder) Path() string { return r.part }

// writeHeader writes a header for the sound that is there.
func (r *Recorder) writeHeader(growing bool) error {
	_, err := r.file.WriteAt(r.bytes(growing), 0)
	return err
}

// Write appends whole frames, their channels side by side, full scale ±1: they
// are rounded to the nearest step of 2⁻²³, clipped and never wrapped. After an
// error, a full disk most of all, nothing more is taken; what came before is
// kept and Finish still makes a good take of it.
func (r *Recorder) Write(interleaved []float32) error {
	if r.failed != nil {
		return r.failed
	}
	if len(interleaved)%r.form.Channels != 0 {
		return i18n.Errorf("%s was given %d samples, which are not whole frames of %d channels: report this", filepath.Base(r.part), len(interleaved), r.form.Channels)
	}
	r.raw = slices.Grow(r.raw[:0], len(interleaved)*depth/8)[:len(interleaved)*depth/8]
	for i, v := range interleaved {
		put(r.raw[i*depth/8:], v)
	}
	n, err := r.file.WriteAt(r.raw, headerSize+r.sound)
	r.sound += int64(n - n%r.frameBytes())
	if err != nil {
		return r.fail(err)
	}
	if time.Since(r.flushed) >= flushEvery {
		return r.Flush()
	}
	return nil
}

// Lost notes that so many frames are missing before the given frame, which may
// have been written already. It is stored in the file at the next flush.
func (r *Recorder) Lost(frame, lost int64) {
	at, found := slices.BinarySearchFunc(r.gaps, frame, func(g Gap, frame int64) int { return cmp.Compare(g.Frame, frame) })
	switch {
	case found:
		r.gaps[at].Lost += lost
	case len(r.gaps) == maxGaps: // more than the header has room for: the sum still holds
		r.gaps[min(at, maxGaps-1)].Lost += lost
	default:
		r.gaps = slices.Insert(r.gaps, at, Gap{frame, lost})
	}
}

// Flush brings the header up to date and has the disk keep what was written.
// The waiting for the disk is done elsewhere, so Flush is quick; what the disk
// says comes back from the next one. Write calls it often enough.
func (r *Recorder) Flush() error {
	if r.failed != nil {
		return r.failed
	}
	r.flushed = time.Now()
	if err := r.writeHeader(true); err != nil {
		return r.fail(err)
	}
	if r.syncing != nil {
		select {
		case err := <-r.syncing:
			r.syncing = nil
			if err != nil {
				return r.fail(err)
			}
		default:
			return nil // the disk is slow and has not ended the last one yet
		}
	}
	done := make(chan error, 1)
	r.syncing = done
	go func() { done <- r.file.Sync() }()
	return nil
}

// Finish completes the take, gives it its name and returns it: the name asked
// for, or one with a number where that is taken by now. After a full disk it
// completes what is there. A take without a single frame is removed, which is an
// error.
func (r *Recorder) Finish() (path string, err error) {
	r.await()
	if r.sound == 0 {
		r.Discard()
		return "", i18n.Errorf("%s was not kept, for no sound came: stop the crank, wait for rest, then check the device and its cable, and record again", filepath.Base(r.path))
	}
	pad := r.sound % 2
	if r.failed != nil && pad == 1 { // there may be no room for a pad byte
		r.sound -= int64(r.frameBytes())
		pad = 0
	}
	if err := r.settle(pad); err != nil {
		return r.part, i18n.Errorf("%s stays unfinished, and can be read as it is: %w", filepath.Base(r.part), r.refused(err))
	}
	if r.path, err = giveName(r.part, r.path); err != nil {
		return r.part, err
	}
	r.part = r.path
	return r.path, nil
}

// settle writes the last header and pad byte, cuts off what a full disk left of
// a last frame, and closes the file.
func (r *Recorder) settle(pad int64) error {
	err := r.file.Truncate(headerSize + r.sound + pad) // new bytes are zero, as a pad byte has to be
	if err == nil {
		err = r.writeHeader(false)
	}
	if err == nil {
		err = r.file.Sync()
	}
	return errors.Join(err, r.file.Close())
}

// Discard ends the recording and removes it.
func (r *Recorder) Discard() {
	r.await()
	r.file.Close()
	os.Remove(r.part)
}

func (r *Recorder) await() {
	if r.syncing != nil {
		<-r.syncing // what it says, the next write and sync say too
		r.syncing = nil
	}
}

// fail remembers why nothing more is taken.
func (r *Recorder) fail(err error) error {
	r.failed = i18n.Errorf("%s ends after %.2f s: %w", filepath.Base(r.part), float64(r.Frames())/float64(r.form.RateHz), r.refused(err))
	return r.failed
}

func (r *Recorder) refused(err error) error {
	return sentence(err, i18n.Errorf("the disk refused more (%v); what was recorded before is kept: make room or choose another folder, and record again", err))
}

// Unfinished returns the paths of recordings in dir whose end never came, by
// name. One that still grows is among them.
func Unfinished(dir string) []string {
	entries, _ := os.ReadDir(dir) // a folder that went away has none
	var paths []string
	for _, e := range entries {
		if e.Type().IsRegular() && isPart(e.Name()) {
			paths = append(paths, filepath.Join(dir, e.Name()))
		}
	}
	return paths
}

func isPart(name string) bool { return strings.HasSuffix(strings.ToLower(name), partSuffix) }

// Rescue gives an unfinished recording, as Unfinished lists it, the name it would
// have had, or that name with a number where it is taken, and returns its path.
// The sound is left as it is: opened, the take says that its end is missing. One
// that cannot be opened keeps its name, and the error says why.
func Rescue(part string) (path string, err error) {
	if !isPart(part) {
		return part, i18n.Errorf("%s is not an unfinished recording: open it as it is", filepath.Base(part))
	}
	f, err := Open(part)
	if err != nil {
		return part, err
	}
	f.Close()
	return giveName(part, part[:len(part)-len(partSuffix)]+".wav")
}

// giveName renames part to path or, where that exists, to one with a number.
func giveName(part, path string) (string, error) {
	base := strings.TrimSuffix(path, filepath.Ext(path))
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			break
		}
		path = fmt.Sprintf("%s-%d.wav", base, n)
	}
	if err := atomicfile.Rename(part, path); err != nil {
		return part, sentence(err, i18n.Errorf("%s could not be given its name (%v): it is whole, so rename it yourself", part, err))
	}
	atomicfile.SyncDir(filepath.Dir(path))
	return path, nil
}
