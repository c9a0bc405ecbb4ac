package take

import (
	"bufio"
	"bytes"
	"crypto/md5"
	"errors"
	"fmt"
	"io"
	"log"
	"os"
	"sync"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

const (
	flacMark = "fLaC" // RFC 9639, 6

	// mostUnpacked is how many times as large as the file its sound may be. Takes come
	// out two to twenty times as large; digital silence, thousands of times.
	mostUnpacked = 200
	leastRoom    = 1 << 20 // bytes that any file may come out as
)

// isFLAC reports whether a file holds its sound as FLAC.
func isFLAC(file *os.File) bool {
	top := make([]byte, len(flacMark))
	_, err := file.ReadAt(top, 0)
	return err == nil && string(top) == flacMark
}

// unpack decodes a FLAC file of size bytes (RFC 9639) into one without a name, and
// from then on that is read as the sound of a WAV file is. The checksum that the
// file has of its sound must be that of what came out.
func (f *File) unpack(size int64) error {
	packed := f.file
	stream, err := streamOf(packed)
	if err != nil {
		return sentence(err, i18n.Errorf("is a FLAC file whose header cannot be read (%v): copy it from the recorder again, or export it as PCM WAV (16 or 24 bit)", err))
	}
	if f.form, err = unpackedForm(stream.Info); err != nil {
		return err
	}
	room, err := os.CreateTemp("", "lagwright-*.pcm")
	if err != nil {
		return noRoom(err)
	}
	if os.Remove(room.Name()) != nil { // as on Windows, while it is open
		f.temporary = room.Name()
	}
	f.file, f.packed = room, true
	u := unpacker{form: f.form, stream: stream, most: max(leastRoom, mostUnpacked*size)}
	if err := u.into(room); err != nil {
		f.Close()
		return err
	}
	packed.Close()
	f.frames.Store(u.frames)
	if u.broken != nil || uint64(u.frames) < stream.Info.NSamples {
		f.warn(calib.WarnTruncated, i18n.Say("is damaged or cut short after %.2f s; what comes before was read: copy it from the recorder again if you need the rest", f.DurationS()))
	}
	return nil
}

// streamOf reads the headers of a FLAC file. The first block must be STREAMINFO (RFC 9639,
// 8.2); the library makes room for what any other claims to hold before it refuses it.
func streamOf(file *os.File) (*flac.Stream, error) {
	var kind [1]byte
	if _, err := file.ReadAt(kind[:], int64(len(flacMark))); err != nil || kind[0]&0x7F != 0 {
		return nil, errors.New("it does not begin with STREAMINFO")
	}
	return flac.New(file)
}

// unpackedForm is the layout in which a stream's samples are read.
func unpackedForm(info *meta.StreamInfo) (format, error) {
	bits := int(info.BitsPerSample)
	f := format{channels: int(info.NChannels), rate: info.SampleRate, blockAlign: int(info.NChannels) * ((bits + 7) / 8)}
	err := f.checkTop(tagPCM)
	if err == nil {
		err = f.setContainer(bits, 0)
	}
	f.low = f.padBits() > 0
	return f, err
}

func noRoom(err error) error {
	return sentence(err, i18n.Errorf("cannot be unpacked (%v): make room on the disk for temporary files, or export it as PCM WAV (16 or 24 bit)", err))
}

// unpacker writes the samples of a stream as they are laid out in form.
type unpacker struct {
	form   format
	stream *flac.Stream
	most   int64 // bytes to write
	frames int64 // that came out
	broken error // where it could not be read on
}

func (u *unpacker) into(file io.Writer) error {
	defer quiet(u.form.rate)()
	w, sum := bufio.NewWriterSize(file, blockBytes), md5.New()
	var raw []byte
	for {
		block, err := u.next()
		if err != nil {
			if err != io.EOF {
				u.broken = err
			}
			break
		}
		raw = u.lay(raw[:0], block)
		if u.frames += int64(block.BlockSize); u.frames*int64(u.form.blockAlign) > u.most {
			return i18n.Errorf("unpacks to more than %d times its size, as only silence does: check that it is the right file, or export it as PCM WAV (16 or 24 bit)", mostUnpacked)
		}
		sum.Write(raw)
		if u.form.container == 1 { // which WAV has unsigned
			for i := range raw {
				raw[i] ^= 0x80
			}
		}
		if _, err := w.Write(raw); err != nil {
			return noRoom(err)
		}
	}
	if err := w.Flush(); err != nil {
		return noRoom(err)
	}
	info := u.stream.Info
	switch whole := u.broken == nil && uint64(u.frames) >= info.NSamples; {
	case u.frames == 0:
		return i18n.Errorf("holds no sound: copy it from the recorder again or record the take again")
	case whole && info.MD5sum != [md5.Size]byte{} && !bytes.Equal(sum.Sum(nil), info.MD5sum[:]):
		return i18n.Errorf("does not unpack to the sound that went into it, as its checksum tells: copy it from the recorder again, or export it as PCM WAV (16 or 24 bit)")
	}
	return nil
}

// next decodes the next block; what is laid out otherwise than the stream says is an
// error, and so is what the library panics over.
func (u *unpacker) next() (block *frame.Frame, err error) {
	defer func() {
		if said := recover(); said != nil {
			err = fmt.Errorf("decoding FLAC: %v", said)
		}
	}()
	block, err = u.stream.Next()
	if err != nil {
		return nil, err
	}
	if block.BitsPerSample == 0 {
		block.BitsPerSample = u.stream.Info.BitsPerSample // which the library does not fill in
	}
	if err := block.Parse(); err != nil {
		return nil, err
	}
	if len(block.Subframes) != u.form.channels || int(block.BitsPerSample) != u.form.valid || block.BlockSize == 0 {
		return nil, errors.New("a block is laid out otherwise than the stream")
	}
	for _, s := range block.Subframes {
		if len(s.Samples) != int(block.BlockSize) {
			return nil, errors.New("a block lacks samples")
		}
	}
	return block, nil
}

// lay appends a block's samples, frame by frame, the lowest byte of each first.
func (u *unpacker) lay(raw []byte, block *frame.Frame) []byte {
	for i := range int(block.BlockSize) {
		for _, s := range block.Subframes {
			v := s.Samples[i]
			for range u.form.container {
				raw = append(raw, byte(v))
				v >>= 8
			}
		}
	}
	return raw
}

// quieting is held while the log is quiet: of two files that take turns at it, the
// second would find it quiet and leave it so.
var quieting sync.Mutex

// quiet keeps the library's request for such a file, made at each of its blocks, out
// of the log. What it returns ends that.
func quiet(rate uint32) (end func()) {
	if rate != 24000 && rate != 176400 {
		return func() {}
	}
	quieting.Lock()
	was := log.Writer()
	log.SetOutput(io.Discard)
	return func() {
		log.SetOutput(was)
		quieting.Unlock()
	}
}
