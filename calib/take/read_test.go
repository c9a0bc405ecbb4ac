package take

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"testing"

	"lagwright/internal/must"
)

// TestReadAt pins the contract at the edges of a take.
func TestReadAt(t *testing.T) {
	f := open(t, save(t, riff(pcm(2, 48000, 16), chunk("data", ints(2, 0, 8192, 16384, -8192, -32768, 4096)))))
	tests := []struct {
		name    string
		length  int
		channel int
		frame   int64
		want    []float32
		err     error
	}{
		{"all of 1", 3, 1, 0, []float32{0, 0.5, -1}, nil},
		{"all of 2", 3, 2, 0, []float32{0.25, -0.25, 0.125}, nil},
		{"middle", 1, 2, 1, []float32{-0.25}, nil},
		{"over the end", 3, 1, 2, []float32{-1}, io.EOF},
		{"at the end", 1, 1, 3, nil, io.EOF},
		{"far beyond", 1, 1, 1 << 62, nil, io.EOF},
		{"nothing", 0, 1, 0, nil, nil},
		{"nothing at the end", 0, 1, 3, nil, nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			dst := make([]float32, test.length)
			n, err := f.ReadAt(dst, test.channel, test.frame)
			if !slices.Equal(dst[:n], test.want) || err != test.err {
				t.Errorf("got %v, %v; want %v, %v", dst[:n], err, test.want, test.err)
			}
		})
	}
	for _, wrong := range []struct {
		channel int
		frame   int64
	}{{0, 0}, {3, 0}, {-1, 0}, {1, -1}} {
		if n, err := f.ReadAt(make([]float32, 1), wrong.channel, wrong.frame); n != 0 || err == nil || err == io.EOF {
			t.Errorf("channel %d, frame %d: %d, %v", wrong.channel, wrong.frame, n, err)
		}
	}
}

// TestFileChanges reads a closed file and one cut short behind our back.
func TestFileChanges(t *testing.T) {
	path := save(t, plain16())
	f := open(t, path)
	must.Do(t, os.Truncate(path, 48))
	if _, err := f.ReadAt(make([]float32, 4), 1, 0); !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("shortened file: %v", err)
	}
	f.Close()
	if _, err := f.ReadAt(make([]float32, 4), 1, 0); !errors.Is(err, fs.ErrClosed) {
		t.Errorf("closed file: %v", err)
	}
	if _, err := Open(filepath.Join(t.TempDir(), "none.wav")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("missing file: %v", err)
	}
}

// TestConcurrent reads both channels of one file from several goroutines.
func TestConcurrent(t *testing.T) {
	const frames = 50_000
	src, path := noiseSource(2, frames), filepath.Join(t.TempDir(), "take.wav")
	must.Do(t, Write(context.Background(), path, src, nil))
	f := open(t, path)
	var readers sync.WaitGroup
	for i := range 8 {
		readers.Go(func() {
			dst := make([]float32, 1000)
			for at := int64(0); at < frames; at += 1000 {
				n, err := f.ReadAt(dst, i%2+1, at)
				if err != nil || !slices.Equal(dst[:n], src.Samples[i%2][at:at+1000]) {
					t.Errorf("reader %d at %d: %v", i, at, err)
					return
				}
				f.Warnings()
			}
		})
	}
	readers.Wait()
}

// sparse makes a file that starts with head, goes on with so many zeros that take
// no room on the disk, and has end as the last of them.
func sparse(t *testing.T, head []byte, zeros int64, end []byte) string {
	t.Helper()
	path := save(t, head)
	size := int64(len(head)) + zeros
	file := must.Get(os.OpenFile(path, os.O_WRONLY, 0))(t)
	defer file.Close()
	must.Do(t, file.Truncate(size))
	must.Get(file.WriteAt(end, size-int64(len(end))))(t)
	return path
}

// sparseTake makes an RF64 take of 24-bit frames, silent but for the last
// channel of its last frame.
func sparseTake(t *testing.T, channels int, frames int64) string {
	t.Helper()
	size := 3 * int64(channels) * frames
	ds := le.AppendUint64(nil, uint64(size+72))
	ds = le.AppendUint64(ds, uint64(size))
	ds = le.AppendUint64(ds, uint64(frames))
	head := append([]byte("RF64\xFF\xFF\xFF\xFFWAVE"), chunk("ds64", append(ds, 0, 0, 0, 0))...)
	head = append(head, pcm(channels, 48000, 24)...)
	return sparse(t, append(head, "data\xFF\xFF\xFF\xFF"...), size, ints(3, 4194304))
}

// TestBeyond4GiB finds the last sample of a take of 5 GiB.
func TestBeyond4GiB(t *testing.T) {
	const frames = 5 << 30 / 6
	f := open(t, sparseTake(t, 2, frames))
	if f.Frames() != frames || len(f.Warnings()) != 0 {
		t.Fatalf("%d frames, warnings %q", f.Frames(), codes(f))
	}
	dst := make([]float32, 3)
	if n, err := f.ReadAt(dst, 2, frames-2); n != 2 || err != io.EOF || dst[0] != 0 || dst[1] != 0.5 {
		t.Errorf("%d %v %v", n, err, dst)
	}
}

// allocated returns the bytes allocated while reading a second from the middle
// of a take, opening included.
func allocated(t *testing.T, path string) float64 {
	t.Helper()
	var before, after runtime.MemStats
	dst := make([]float32, 48000)
	runtime.ReadMemStats(&before)
	f := must.Get(Open(path))(t)
	defer f.Close()
	must.Get(f.ReadAt(dst, 1, f.Frames()/2))(t)
	runtime.ReadMemStats(&after)
	return float64(after.TotalAlloc - before.TotalAlloc)
}

// TestMemory compares a take of 4 s with one of 4 hours.
func TestMemory(t *testing.T) {
	short, long := allocated(t, sparseTake(t, 2, 4*48000)), allocated(t, sparseTake(t, 2, 4*3600*48000))
	if ratio := long / short; ratio > 1.1 {
		t.Errorf("a take 3600 times as long takes %.2f times the memory (%.0f bytes)", ratio, long)
	}
}

// TestMemoryPerChannel reads one channel of 64: what lies between is read in
// pieces, so that memory does not grow 32 times as what is read does.
func TestMemoryPerChannel(t *testing.T) {
	two, many := allocated(t, sparseTake(t, 2, 4*48000)), allocated(t, sparseTake(t, 64, 4*48000))
	if ratio := many / two; ratio > 8 {
		t.Errorf("a second of one of 64 channels takes %.1f times the memory of one of 2 (%.0f bytes)", ratio, many)
	}
}

// TestHugeFormat opens a file whose fmt chunk really is 1.5 GiB long.
func TestHugeFormat(t *testing.T) {
	const size = 0x60000000
	head := chunkOf(le, "fmt ", size, fmtBody(le, tagPCM, 1, 48000, 2, 16))
	path := sparse(t, append([]byte("RIFF\xFF\xFF\xFF\xFFWAVE"), head...), size-16+8+384000, nil)
	file := must.Get(os.OpenFile(path, os.O_WRONLY, 0))(t)
	defer file.Close()
	must.Get(file.WriteAt(chunkOf(le, "data", 384000, nil), 20+size))(t)
	plain := allocated(t, save(t, riff(pcm(1, 48000, 16), chunk("data", make([]byte, 384000)))))
	if ratio := allocated(t, path) / plain; ratio > 4 {
		t.Errorf("opening and reading a second takes %.1f times the memory of a plain file", ratio)
	}
}

// A take that is read on, block by block, allocates nothing more.
func TestHeldMemory(t *testing.T) {
	f := open(t, sparseTake(t, 2, 60*48000))
	dst := make([]float32, 1<<14)
	at := int64(0)
	if n := testing.AllocsPerRun(100, func() {
		must.Get(f.ReadAt(dst, 2, at))(t)
		at += int64(len(dst))
	}); n > 8 {
		t.Errorf("%.0f allocations a block", n)
	}
}

// BenchmarkRead reads one channel of a minute of stereo 24-bit sound.
func BenchmarkRead(b *testing.B) {
	const frames = 60 * 48000
	path := filepath.Join(b.TempDir(), "take.wav")
	must.Do(b, Write(context.Background(), path, huge(2, frames), nil))
	f := open(b, path)
	dst := make([]float32, 1<<15)
	b.SetBytes(frames * 6)
	b.ReportAllocs()
	for b.Loop() {
		for at := int64(0); at < frames; at += int64(len(dst)) {
			if _, err := f.ReadAt(dst, 1, at); err != nil && err != io.EOF {
				b.Fatal(err)
			}
		}
	}
}

// BenchmarkWrite writes a minute of stereo sound.
func BenchmarkWrite(b *testing.B) {
	const frames = 60 * 48000
	path := filepath.Join(b.TempDir(), "take.wav")
	b.SetBytes(frames * 6)
	b.ReportAllocs()
	for b.Loop() {
		must.Do(b, Write(context.Background(), path, huge(2, frames), nil))
	}
}
