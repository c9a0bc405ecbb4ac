package take

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// noiseSource holds steps of 24 bits, so that writing it loses nothing.
func noiseSource(channels int, frames int64) *soundtest.Memory {
	random := rand.New(rand.NewPCG(uint64(channels), uint64(frames)))
	m := soundtest.Of(48000, make([][]float32, channels)...)
	for c := range m.Samples {
		for range frames {
			m.Samples[c] = append(m.Samples[c], float32(random.IntN(1<<24)-1<<23)/(1<<23))
		}
	}
	return m
}

// TestRoundTrip crosses lengths around the block sizes with channels.
func TestRoundTrip(t *testing.T) {
	for _, channels := range []int{1, 2, 3, 64} {
		for _, frames := range []int64{1, 2, 3, blockBytes / 192, writeFrames - 1, writeFrames, writeFrames + 1, 2*writeFrames + 1} {
			src, path := noiseSource(channels, frames), filepath.Join(t.TempDir(), "take.wav")
			if channels == 64 && frames > 1000 {
				continue
			}
			var told []float64
			must.Do(t, Write(context.Background(), path, src, func(p float64) { told = append(told, p) }))
			f := open(t, path)
			for c, got := range readAll(t, f) {
				if !slices.Equal(got, src.Samples[c]) {
					t.Fatalf("%d channels, %d frames: channel %d changed", channels, frames, c+1)
				}
			}
			if f.Rate() != src.Rate() || len(f.Warnings()) != 0 {
				t.Errorf("%v Hz, warnings %q", f.Rate(), codes(f))
			}
			if !slices.IsSorted(told) || told[0] != 0 || told[len(told)-1] != 1 {
				t.Errorf("progress was %v", told)
			}
		}
	}
}

// TestClips checks that nothing wraps.
func TestClips(t *testing.T) {
	inf := float32(math.Inf(1))
	src := soundtest.Of(8000, []float32{1, 1.5, 1e30, inf, -1, -1.5, -inf, float32(math.NaN()), 0.6 / (1 << 23)})
	path := filepath.Join(t.TempDir(), "take.wav")
	must.Do(t, Write(context.Background(), path, src, nil))
	top := float32(8388607.) / (1 << 23)
	want := []float32{top, top, top, top, -1, -1, -1, 0, 1. / (1 << 23)}
	if got := interleaved(t, open(t, path)); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestKeepsWhatWasThere fails the writing in several ways and looks for the old
// file, unchanged and alone in its folder.
func TestKeepsWhatWasThere(t *testing.T) {
	broken := errors.New("the cable came off")
	stopped, stop := context.WithCancel(context.Background())
	stop()
	failing := noiseSource(2, 3*writeFrames)
	failing.Fail, failing.FailAt = broken, 2*writeFrames
	short := noiseSource(2, 3*writeFrames)
	short.Fail, short.FailAt = io.EOF, 2*writeFrames
	odd, none := noiseSource(1, 10), noiseSource(1, 0)
	odd.RateHz = 44100.5
	tests := []struct {
		name string
		ctx  context.Context
		src  calib.Source
		want error
	}{
		{"failing source", context.Background(), failing, broken},
		{"source ends early", context.Background(), short, io.ErrUnexpectedEOF},
		{"cancelled", stopped, noiseSource(1, 10), context.Canceled},
		{"odd rate", context.Background(), odd, nil},
		{"no frames", context.Background(), none, nil},
		{"no channels", context.Background(), huge(0, 10), nil},
		{"65 channels", context.Background(), huge(65, 10), nil},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			path := save(t, []byte("the take before"))
			err := Write(test.ctx, path, test.src, nil)
			if err == nil || test.want != nil && !errors.Is(err, test.want) || !strings.Contains(err.Error(), "take.wav was not written") {
				t.Errorf("error %v, want %v", err, test.want)
			}
			left, err := os.ReadFile(path)
			if err != nil || string(left) != "the take before" {
				t.Errorf("the old file became %q, %v", left, err)
			}
			onlyFile(t, path)
		})
	}
}

// huge claims a size without holding it.
func huge(channels int, frames int64) calib.Source {
	return soundtest.Made{RateHz: 48000, Of: channels, Long: frames}
}

func onlyFile(t *testing.T, path string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(entries) != 1 {
		t.Errorf("beside the take there are %v, %v", entries, err)
	}
}

// TestCancelMidway stops from within, as the stop button does.
func TestCancelMidway(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	path := save(t, []byte("the take before"))
	calls := 0
	err := Write(ctx, path, huge(1, 100*writeFrames), func(float64) {
		if calls++; calls == 3 {
			stop()
		}
	})
	if !errors.Is(err, context.Canceled) || calls != 3 {
		t.Errorf("%v after %d calls", err, calls)
	}
	onlyFile(t, path)
}

// TestReplaces checks that a new take takes the old one's place and permissions.
func TestReplaces(t *testing.T) {
	path := save(t, []byte("the take before"))
	must.Do(t, os.Chmod(path, 0o640))
	must.Do(t, Write(context.Background(), path, noiseSource(1, 5), nil))
	onlyFile(t, path)
	if info, err := os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o640 || open(t, path).Frames() != 5 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
	err := Write(context.Background(), filepath.Join(t.TempDir(), "gone", "take.wav"), noiseSource(1, 5), nil)
	if !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing folder gave %v", err)
	}
}

// TestRepair writes unfinished and broken-off takes back as whole ones.
func TestRepair(t *testing.T) {
	for _, data := range [][]byte{sized(plain16(), dataSizeAt, 0), append(cut(plain16(), 2), 0), cut(plain16(), 2)} {
		broken, path := open(t, save(t, data)), filepath.Join(t.TempDir(), "repaired.wav")
		must.Do(t, Write(context.Background(), path, broken, nil))
		repaired := open(t, path)
		if got, want := interleaved(t, repaired), interleaved(t, broken); len(broken.Warnings()) != 1 || len(repaired.Warnings()) != 0 || !slices.Equal(got, want) {
			t.Errorf("got %v, want %v, warnings %q", got, want, codes(repaired))
		}
	}
}
