package calib

import (
	"errors"
	"io"
	"math/rand/v2"
	"slices"
	"testing"
	"testing/iotest"
)

// noise is a recording at 8 kHz.
func noise(channels, frames int) Recording {
	rec := Recording{RateHz: 8000, Samples: make([][]float32, channels)}
	r := rand.New(rand.NewPCG(1, 2))
	for c := range rec.Samples {
		for range frames {
			rec.Samples[c] = append(rec.Samples[c], 2*r.Float32()-1)
		}
	}
	return rec
}

func TestReadAt(t *testing.T) {
	rec := noise(2, 900)
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
			if from := min(tc.frame, frames); !slices.Equal(dst[:n], rec.Samples[channel-1][from:from+int64(n)]) {
				t.Errorf("%s: other samples than those of channel %d", tc.name, channel)
			}
		}
	}
}

func TestReadAtRefuses(t *testing.T) {
	rec := noise(2, 100)
	for _, channel := range []int{0, 3} {
		if n, err := rec.ReadAt(make([]float32, 8), channel, 0); n != 0 || err == nil || errors.Is(err, io.EOF) {
			t.Errorf("channel %d: read %d, %v", channel, n, err)
		}
	}
}

// bytesOf reads a channel a byte a sample, so that the standard library's test
// of readers can drive ReadAt.
type bytesOf struct{ rec Recording }

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
	rec := noise(2, 400)
	content := make([]byte, rec.Frames())
	for i, x := range rec.Samples[0] {
		content[i] = byte(int(100 * x))
	}
	if err := iotest.TestReader(io.NewSectionReader(bytesOf{rec}, 0, rec.Frames()), content); err != nil {
		t.Error(err)
	}
	if rec.Rate() != 8000 || rec.Channels() != 2 {
		t.Errorf("rate %g Hz, %d channels", rec.Rate(), rec.Channels())
	}
}
