package take

import (
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// maxFuzzBytes bounds what opening and reading a small hostile file allocates:
// two reads of three blocks each, the decoder's own copies, and some room.
const maxFuzzBytes = 16 * blockBytes

// FuzzOpen throws files at Open and ReadAt. Whatever comes, the answer is sound
// or a sentence, in memory bounded by the file and not by what it claims.
func FuzzOpen(f *testing.F) {
	for _, l := range append(scipyLayouts(), houndLayouts()...) {
		f.Add(l.data[:min(len(l.data), 2000)])
	}
	f.Add(rf64("RF64", 8, ints(2, 1, 2, 3, 4)))
	f.Add(riff(chunkOf(le, "LIST", 0x7FFFFFFF, []byte("INFO")), pcm(1, 48000, 16), chunk("data", ints(2, 1))))
	f.Add(riff(chunkOf(le, "fmt ", 0x60000000, make([]byte, 16)), chunk("data", ints(2, 1))))
	f.Add(riff(bext(), pcm(2, 48000, 16), chunk("data", ints(2, 1, 2))))
	f.Add(sized(plain16(), dataSizeAt, 0xFFFFFFFF))
	f.Add([]byte("fLaC"))
	path := filepath.Join(f.TempDir(), "take.wav")
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		openAndRead(t, path)
		runtime.ReadMemStats(&after)
		if n := after.TotalAlloc - before.TotalAlloc; n > maxFuzzBytes+64*uint64(len(data)) {
			t.Errorf("%d bytes of file took %d bytes of memory", len(data), n)
		}
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
	dst := make([]float32, 100)
	for _, frame := range []int64{0, f.Frames() - 1} {
		n, err := f.ReadAt(dst, f.Channels(), frame)
		if n < 1 || err != nil && err != io.EOF {
			t.Errorf("frame %d of %d: %d, %v", frame, f.Frames(), n, err)
		}
		for _, v := range dst[:n] {
			if v-v != 0 {
				t.Errorf("read %v", v)
			}
		}
	}
}
