package take

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lagwright/internal/boundedtest"
	"lagwright/internal/must"
)

// takeBounds is two reads of three blocks each, the decoder's own copies, and some
// room.
var takeBounds = boundedtest.Bounds{Fixed: 16 * blockBytes, PerByte: 64, TimeEach: time.Microsecond}

// seedTakes are files of every layout and of the traps that are known.
func seedTakes(f *testing.F) {
	for _, l := range append(scipyLayouts(), houndLayouts()...) {
		f.Add(l.data[:min(len(l.data), 2000)])
	}
	f.Add(rf64("RF64", 8, ints(2, 1, 2, 3, 4)))
	f.Add(riff(chunkOf(le, "LIST", 0x7FFFFFFF, []byte("INFO")), pcm(1, 48000, 16), chunk("data", ints(2, 1))))
	f.Add(riff(chunkOf(le, "fmt ", 0x60000000, make([]byte, 16)), chunk("data", ints(2, 1))))
	f.Add(riff(bext(), pcm(2, 48000, 16), chunk("data", ints(2, 1, 2))))
	f.Add(sized(plain16(), dataSizeAt, 0xFFFFFFFF))
	f.Add(riff(pcm(2, 48000, 24), chunk(ownID, append([]byte(ownMark+"\x01\x00\x02\x00"), make([]byte, 2*gapSize)...)), chunk("data", ints(3, 1, 2))))
	f.Add([]byte("fLaC"))
}

// FuzzScan throws chunks at the scanner. Whatever they claim, the sound it finds
// lies inside the file.
func FuzzScan(f *testing.F) {
	seedTakes(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		boundedtest.Check(t, len(data), takeBounds, func() {
			s := &scanner{r: bytes.NewReader(data), size: int64(len(data))}
			if err := s.scan(); err != nil {
				return
			}
			if s.dataStart < 0 || s.dataSize < 0 || s.dataStart+s.dataSize > s.size || s.claimed < 0 {
				t.Errorf("%d bytes of sound at %d of %d, %d claimed", s.dataSize, s.dataStart, s.size, s.claimed)
			}
			if form, _, err := parseFormat(s.form, s.order); err == nil && (form.container < 1 || form.valid < 1 || form.padBits() < 0 || form.blockAlign < form.channels) {
				t.Errorf("a frame of %+v", form)
			}
		})
	})
}

// FuzzOpen throws files at Open and ReadAt. Whatever comes, the answer is sound
// or a sentence, in memory bounded by the file and not by what it claims.
func FuzzOpen(f *testing.F) {
	seedTakes(f)
	f.Add([]byte("fLaC\x03\xe8\xffc")) // 20 MB of seek points, were it believed
	path := filepath.Join(f.TempDir(), "take.wav")
	f.Fuzz(func(t *testing.T, data []byte) {
		must.Do(t, os.WriteFile(path, data, 0o600))
		boundedtest.Check(t, len(data), takeBounds, func() { openAndRead(t, path) })
	})
}

func openAndRead(t *testing.T, path string) {
	f, err := Open(path)
	if err != nil {
		if text := err.Error(); !strings.Contains(text, "take.wav") || !strings.Contains(text, ": ") {
			t.Errorf("%q is no sentence", text)
		}
		return
	}
	defer f.Close()
	if f.Frames() < 1 || f.Channels() < 1 || f.Rate() <= 0 {
		t.Errorf("%d frames, %d channels, %v Hz", f.Frames(), f.Channels(), f.Rate())
	}
	for _, channel := range []int{1, f.Channels()} {
		readThrough(t, f, channel)
	}
	dst := make([]float32, 2)
	if n, err := f.ReadAt(dst, 1, f.Frames()-1); n != 1 || err != io.EOF {
		t.Errorf("the last frame of %d: %d, %v", f.Frames(), n, err)
	}
}

// readThrough reads a channel of a take, whose every frame must be there.
func readThrough(t *testing.T, f *File, channel int) {
	dst := make([]float32, 1000)
	for frame := int64(0); frame < f.Frames(); {
		n, err := f.ReadAt(dst, channel, frame)
		if n < 1 || err != nil && err != io.EOF {
			t.Fatalf("frame %d of %d: %d, %v", frame, f.Frames(), n, err)
		}
		for _, v := range dst[:n] {
			if v-v != 0 {
				t.Errorf("read %v", v)
			}
		}
		frame += int64(n)
	}
}
