package practice

import (
	"errors"
	"io"
	"slices"
	"testing"
	"testing/iotest"
)

func TestReadAt(t *testing.T) {
	rec, _ := Default().Play(Play{Hits: 2, Rate: 8000})
	frames := rec.Frames()
	for _, tc := range []struct {
		name  string
		size  int
		frame int64
		want  int
		err   error
	}{
		{"start", 100, 0, 100, nil},
		{"up to the end", 100, frames - 100, 100, nil},
		{"across the end", 100, frames - 40, 40, io.EOF},
		{"at the end", 100, frames, 0, io.EOF},
		{"past the end", 100, frames + 1000, 0, io.EOF},
		{"nothing", 0, 10, 0, nil},
	} {
		for channel := 1; channel <= rec.Channels(); channel++ {
			dst := make([]float32, tc.size)
			n, err := rec.ReadAt(dst, channel, tc.frame)
			if n != tc.want || err != tc.err {
				t.Errorf("%s: read %d, %v; want %d, %v", tc.name, n, err, tc.want, tc.err)
			}
			if from := min(tc.frame, frames); !slices.Equal(dst[:n], rec.samples[channel-1][from:from+int64(n)]) {
				t.Errorf("%s: other samples than those of channel %d", tc.name, channel)
			}
		}
	}
}

func TestReadAtRefuses(t *testing.T) {
	rec, _ := Default().Play(Play{Hits: 1, Rate: 8000})
	for _, bad := range []struct {
		channel int
		frame   int64
	}{{0, 0}, {3, 0}, {1, -1}} {
		if n, err := rec.ReadAt(make([]float32, 8), bad.channel, bad.frame); n != 0 || err == nil || errors.Is(err, io.EOF) {
			t.Errorf("channel %d, frame %d: read %d, %v", bad.channel, bad.frame, n, err)
		}
	}
}

// bytesOf reads a channel a byte a sample, so that the standard library's test
// of readers can drive ReadAt.
type bytesOf struct{ rec *Recording }

func (b bytesOf) ReadAt(dst []byte, at int64) (int, error) {
	if at < 0 {
		return 0, errors.New("negative offset")
	}
	samples := make([]float32, len(dst))
	n, err := b.rec.ReadAt(samples, 1, at)
	for i, x := range samples[:n] {
		dst[i] = byte(int(100 * x))
	}
	return n, err
}

// TestReadAtLikeTheLibrary checks ReadAt with testing/iotest.
func TestReadAtLikeTheLibrary(t *testing.T) {
	rec, _ := Default().Play(Play{Hits: 1, Rate: 8000, LeadS: 0.01, TailS: 0.01, TempoBPM: 240})
	content := make([]byte, rec.Frames())
	for i, x := range rec.samples[0] {
		content[i] = byte(int(100 * x))
	}
	if err := iotest.TestReader(io.NewSectionReader(bytesOf{rec}, 0, rec.Frames()), content); err != nil {
		t.Error(err)
	}
	if rec.Rate() != 8000 || rec.Channels() != 2 {
		t.Errorf("rate %g Hz, %d channels", rec.Rate(), rec.Channels())
	}
}
