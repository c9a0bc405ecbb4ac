package take

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/i18n"
)

// File is a take on disk, read at random access; memory does not grow with its
// length. Its length is the one found by Open: sound that a Recorder appends later
// is seen after Extend.
type File struct {
	path      string
	name      string // what sentences about it call it
	file      *os.File
	packed    bool   // it was FLAC, and file is what that unpacked to
	temporary string // a file to remove on Close; empty = none
	form      format
	start     int64 // first byte of the sound
	frames    atomic.Int64
	gaps      []Gap
	warnings  []calib.Warning
	notANum   atomic.Bool // a float sample was no finite number
	blocks    sync.Pool   // of *[]byte: what a ReadAt reads into, so that the next need not make it
}

// Open opens the take at path and reads its headers; its sound only of a FLAC file,
// which is unpacked to where the system has room for such. The error is one sentence that says what is wrong, with which file, and what to do; a
// missing file still satisfies errors.Is(err, fs.ErrNotExist).
func Open(path string) (*File, error) { return OpenAs(path, path) }

// OpenAs is Open for those who see no folder: sentences call the take by a name.
func OpenAs(path, name string) (*File, error) {
	file, size, err := openPlain(path, name)
	if err != nil {
		return nil, err
	}
	f := &File{path: path, name: name, file: file}
	read := f.readHeader
	if isFLAC(file) {
		read = f.unpack
	}
	if err := read(size); err != nil {
		file.Close()
		return nil, fmt.Errorf("%s %w", name, err)
	}
	return f, nil
}

// openPlain opens path if it is a plain file that holds at least a byte.
func openPlain(path, name string) (*os.File, int64, error) {
	file, size, err := atomicfile.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, 0, sentence(err, i18n.Errorf("%s does not exist: check the name and the folder", name))
	case errors.Is(err, atomicfile.ErrNotPlain):
		return nil, 0, i18n.Errorf("%s is a folder, a device or a pipe, not a file: name a WAV file", name)
	case err != nil:
		return nil, 0, sentence(err, i18n.Errorf("%s cannot be opened: check that you may read it and that no other program holds it", name))
	case size == 0:
		file.Close()
		return nil, 0, i18n.Errorf("%s is empty: copy it from the recorder again or record the take again", name)
	}
	return file, size, nil
}

// readHeader fills in what the headers of a file of size bytes say.
func (f *File) readHeader(size int64) error {
	s := &scanner{r: f.file, size: size}
	if err := s.scan(); err != nil {
		return err
	}
	form, note, err := parseFormat(s.form, s.order)
	if err != nil {
		return err
	}
	f.form, f.start = form, s.dataStart
	f.frames.Store(s.dataSize / int64(form.blockAlign))
	if f.Frames() == 0 {
		return i18n.Errorf("holds no sound: copy it from the recorder again or record the take again")
	}
	if form.padBits() > 0 {
		if err := f.probeJustification(); err != nil {
			return err
		}
	}
	f.warn(codeHeader, note)
	if rest := s.dataSize % int64(form.blockAlign); rest != 0 && s.dataSize == s.claimed {
		f.warn(codeHeader, i18n.Say("contradicts itself: its sound ends %d bytes into a frame of %d, which were left out; check that its channels are what you recorded", rest, form.blockAlign))
	}
	f.tellEnd(s)
	f.readGaps(s)
	return nil
}

// warn warns of what completes a sentence about the file, if there is something.
func (f *File) warn(code string, what i18n.Message) {
	if !what.IsZero() {
		f.warnings = append(f.warnings, f.warning(code, what))
	}
}

func (f *File) warning(code string, what i18n.Message) calib.Warning {
	return calib.Warn(code, i18n.Say("%s %s", filepath.Base(f.path), what))
}

// Close closes the file; reading after it fails.
func (f *File) Close() error {
	err := f.file.Close()
	if f.temporary != "" {
		err = errors.Join(err, os.Remove(f.temporary))
		f.temporary = ""
	}
	return err
}

// Packed reports whether the file at Path is not WAV, so that a copy of its bytes is
// none either: Write makes one.
func (f *File) Packed() bool { return f.packed }

// Path returns the path given to Open.
func (f *File) Path() string { return f.path }

// Rate returns frames per second in Hz.
func (f *File) Rate() float64 { return float64(f.form.rate) }

// Channels returns the number of channels, 1 to 64.
func (f *File) Channels() int { return f.form.channels }

// Frames returns the number of frames, at least 1.
func (f *File) Frames() int64 { return f.frames.Load() }

// Extend takes in the sound that a Recorder has appended since the take was opened
// or last extended. A take that no longer grows stays as it is. Safe for
// concurrent use.
func (f *File) Extend() error {
	if !isPart(f.path) {
		return nil
	}
	info, err := f.file.Stat()
	if err != nil {
		return sentence(err, i18n.Errorf("%s cannot be read any more (%v): check that its disk is still there", f.name, err))
	}
	f.frames.Store(max(f.Frames(), (info.Size()-f.start)/int64(f.form.blockAlign)))
	return nil
}

// DurationS returns the length in seconds.
func (f *File) DurationS() float64 { return float64(f.Frames()) / f.Rate() }

// Warnings returns what the user must know of this file, with the codes
// calib.WarnTruncated, calib.WarnUnfinished, "header" (it contradicts itself
// harmlessly) and "not-a-number". The last is known only once ReadAt has met
// such a sample. Safe for concurrent use.
func (f *File) Warnings() []calib.Warning {
	all := append([]calib.Warning(nil), f.warnings...)
	if f.notANum.Load() {
		all = append(all, f.warning(codeNotANumber, i18n.Say("holds samples that are not numbers, read as silence: export it again as 24-bit PCM and check the program that wrote it")))
	}
	return all
}

const (
	codeHeader     = "header"
	codeNotANumber = "not-a-number"
)

// blockBytes bounds the memory of one ReadAt, beyond which it reads in pieces.
const blockBytes = 1 << 16

// ReadAt fills dst with samples of one channel (counting from 1) from the given
// frame on, full scale ±1; float files may exceed it, and float samples that
// are no finite number read as 0. Like io.ReaderAt: n < len(dst) comes with an
// error, io.EOF at the end of the take. Safe for concurrent use.
func (f *File) ReadAt(dst []float32, channel int, frame int64) (n int, err error) {
	if channel < 1 || channel > f.form.channels {
		return 0, i18n.Errorf("%s has no channel %d: choose one of its %d, counting from 1", f.name, channel, f.form.channels)
	}
	if frame < 0 {
		return 0, i18n.Errorf("%s has no frame %d: frames count from 0", f.name, frame)
	}
	left := max(f.Frames()-frame, 0)
	if int64(len(dst)) > left {
		dst, err = dst[:left], io.EOF
	}
	raw := f.borrow()
	defer f.blocks.Put(raw)
	for n < len(dst) {
		part := dst[n:min(len(dst), n+len(*raw)/f.form.blockAlign)]
		if err := f.readBlock(*raw, part, channel, frame+int64(n)); err != nil {
			return n, err
		}
		n += len(part)
	}
	return n, err
}

// borrow returns room for a block of whole frames, which goes back to f.blocks.
func (f *File) borrow() *[]byte {
	if raw, ok := f.blocks.Get().(*[]byte); ok {
		return raw
	}
	raw := make([]byte, max(1, blockBytes/f.form.blockAlign)*f.form.blockAlign)
	return &raw
}

// readBlock fills part, at most as many frames as fit into raw, from the given
// frame on.
func (f *File) readBlock(raw []byte, part []float32, channel int, frame int64) error {
	raw = raw[:len(part)*f.form.blockAlign]
	if _, err := f.file.ReadAt(raw, f.start+frame*int64(f.form.blockAlign)); err != nil {
		return f.readError(err)
	}
	if f.form.decode(part, raw, channel) {
		f.notANum.Store(true)
	}
	return nil
}

func (f *File) readError(err error) error {
	switch {
	case errors.Is(err, os.ErrClosed):
		return sentence(err, i18n.Errorf("%s is closed already: open it again", f.name))
	case errors.Is(err, io.EOF):
		return sentence(io.ErrUnexpectedEOF, i18n.Errorf("%s became shorter while it was read: open it again", f.name))
	}
	return sentence(err, i18n.Errorf("%s could not be read: check the disk or the connection and open it again", f.name))
}

// told is an error whose sentence is complete and whose cause is kept for
// errors.Is and the log.
type told struct{ sentence, cause error }

func (e *told) Error() string   { return e.sentence.Error() }
func (e *told) Unwrap() []error { return []error{e.sentence, e.cause} }

func sentence(cause, said error) error {
	return &told{said, cause}
}
