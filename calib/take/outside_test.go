package take

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/go-audio/wav"

	"lagwright/internal/must"
)

// run runs an outside program and returns what it prints. A missing program
// fails the test: "go run ./cmd/dev test" installs sox and flac.
func run(t *testing.T, name string, args ...string) []byte {
	t.Helper()
	var errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %v: %v %s (go run ./cmd/dev test installs what is missing)", name, args, err, &errs)
	}
	return out
}

// soxSamples decodes a file with sox into doubles.
func soxSamples(t *testing.T, path string) []float64 {
	t.Helper()
	raw := run(t, "sox", "-D", path, "-t", "raw", "-e", "floating-point", "-b", "64", "-L", "-")
	out := make([]float64, len(raw)/8)
	for i := range out {
		out[i] = math.Float64frombits(le.Uint64(raw[8*i:]))
	}
	return out
}

// soxStep is the step of sox's 32-bit integers, floatStep of a float32 below 1.
const soxStep, floatStep = 1. / (1 << 31), 1. / (1 << 24)

func compareWithSox(t *testing.T, path string) {
	t.Helper()
	got, want := interleaved(t, open(t, path)), soxSamples(t, path)
	if len(got) != len(want) {
		t.Fatalf("%d samples, sox has %d", len(got), len(want))
	}
	for i := range got {
		if d := math.Abs(float64(got[i]) - want[i]); d > soxStep+floatStep/2 {
			t.Fatalf("sample %d is %v, sox says %v", i, got[i], want[i])
		}
	}
}

// TestSoxAgrees compares generated layouts with sox's reading of them.
func TestSoxAgrees(t *testing.T) {
	noise := make([]float32, 600)
	doubled := make([]float64, len(noise))
	values := make([]int64, len(noise))
	random := rand.New(rand.NewPCG(1, 2))
	for i := range noise {
		values[i] = random.Int64N(1<<32) - 1<<31
		noise[i] = float32(float64(values[i]) / (1 << 31))
		doubled[i] = float64(values[i]) / (1 << 31)
	}
	bytesOf := func(container int) []byte {
		return chunk("data", ints(container, shifted(values, 32-8*container)...))
	}
	tests := map[string][]byte{
		"8":             riff(pcm(2, 48000, 8), bytesOf(1)),
		"16":            riff(pcm(2, 48000, 16), bytesOf(2)),
		"24":            riff(pcm(2, 48000, 24), bytesOf(3)),
		"32":            riff(pcm(2, 48000, 32), bytesOf(4)),
		"24 extensible": riff(extensible(1, 3, 96000, 3, 24, 24), bytesOf(3)),
		"float":         riff(float(2, 48000, 32), chunk("data", floats(noise...))),
		"double":        riff(float(2, 48000, 64), chunk("data", doubles(doubled...))),
		"big-endian":    rifx(fmtBody(be, 1, 2, 48000, 6, 24), 3, shifted(values, 8)),
	}
	for name, data := range tests {
		t.Run(name, func(t *testing.T) { compareWithSox(t, save(t, data)) })
	}
}

func shifted(values []int64, by int) (out []int64) {
	for _, v := range values {
		out = append(out, v>>by)
	}
	return out
}

// TestSoxPipe reads what sox leaves behind when it cannot go back to its header.
func TestSoxPipe(t *testing.T) {
	data := run(t, "sox", "-D", "-n", "-r", "48000", "-b", "24", "-t", "wav", "-", "synth", "0.1", "sine", "440")
	f := open(t, save(t, data))
	if f.Frames() != 4800 || codes(f) != "unfinished " {
		t.Errorf("%d frames, warnings %q", f.Frames(), codes(f))
	}
}

// TestFixtures reads the files that go-audio/wav v1.1.0 comes with (Apache-2.0)
// and compares each sample with sox's reading.
func TestFixtures(t *testing.T) {
	module := strings.TrimSpace(string(run(t, "go", "list", "-m", "-f", "{{.Dir}}", "github.com/go-audio/wav")))
	names := []string{
		"32bit", "8bit", "bass", "bwf", "dirty-kick-24b441k", "flloop", "kick-16b441k",
		"kick", "listChunkInHeader", "listinfo", "misaligned-chunk", "padded24b",
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			compareWithSox(t, filepath.Join(module, "fixtures", name+".wav"))
		})
	}
}

// TestDecoderAgrees compares our loops bit by bit with go-audio/wav v1.1.0 on the
// layouts that it decodes rightly.
func TestDecoderAgrees(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for _, container := range []int{2, 3, 4} {
		for _, channels := range []int{1, 2, 3} {
			values := make([]int64, 3000*channels)
			for i := range values {
				values[i] = random.Int64N(1<<32) - 1<<31
			}
			values[0], values[1] = -1<<31, 1<<31-1
			data := riff(pcm(channels, 48000, 8*container), chunk("data", ints(container, shifted(values, 32-8*container)...)))
			buf := must.Get(wav.NewDecoder(bytes.NewReader(data)).FullPCMBuffer())(t)
			var want []float32
			for _, v := range buf.Data {
				want = append(want, float32(float64(v)/float64(int64(1)<<(8*container-1))))
			}
			if got := interleaved(t, open(t, save(t, data))); !slices.Equal(got, want) {
				t.Errorf("%d channels of %d bytes are read otherwise by go-audio/wav", channels, container)
			}
		}
	}
}

// TestFlacAgrees has flac read what Write wrote and decode it losslessly.
func TestFlacAgrees(t *testing.T) {
	for _, frames := range []int64{1, 777, 20_001} {
		src := noiseSource(1, frames)
		wavPath := filepath.Join(t.TempDir(), "take.wav")
		must.Do(t, Write(context.Background(), wavPath, src, nil))
		flacPath := wavPath + ".flac"
		run(t, "flac", "-s", "-o", flacPath, wavPath)
		raw := run(t, "flac", "-s", "-d", "-c", "--force-raw-format", "--endian=little", "--sign=signed", flacPath)
		var want []byte
		for _, v := range src.Samples[0] {
			want = append(want, ints(3, int64(math.Round(float64(v)*(1<<23))))...)
		}
		if !bytes.Equal(raw, want) {
			t.Errorf("%d frames: flac does not read what was written", frames)
		}
	}
}

// TestSoxReadsWritten checks rate, channels and length of a written take.
func TestSoxReadsWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "take.wav")
	must.Do(t, Write(context.Background(), path, noiseSource(3, 1001), nil))
	compareWithSox(t, path)
	for flag, want := range map[string]string{"-r": "48000", "-c": "3", "-b": "24", "-s": "1001"} {
		if got := strings.TrimSpace(string(run(t, "sox", "--i", flag, path))); got != want {
			t.Errorf("sox --i %s: %s, want %s", flag, got, want)
		}
	}
	info := must.Get(os.Stat(path))(t)
	if want := int64(headerSize + 3*3*1001 + 1); info.Size() != want {
		t.Errorf("%d bytes, want %d with the pad byte", info.Size(), want)
	}
}
