package take

import (
	"bytes"
	"crypto/md5"
	"encoding/hex"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/internal/must"
)

// strikes is a take as machines make them, in steps of so many bits: channels that are
// much alike, as an encoder likes to have them, with silence between the strikes.
func strikes(channels, frames, bits int) (values []int64) {
	top := float64(int64(1)<<(bits-1) - 1)
	for i := range frames {
		t := float64(i%2000) / 2000
		for c := range channels {
			v := math.Exp(-9*t) * math.Sin(float64(i)/3+float64(c)/5)
			if i%2000 > 1500 {
				v = 0
			}
			values = append(values, int64(math.Round(top*v)))
		}
	}
	return values
}

// wavOf is a WAV file of such values, the highest bit of each at the top.
func wavOf(channels, rate, bits int, values []int64) []byte {
	container := (bits + 7) / 8
	laid := slices.Clone(values)
	for i := range laid {
		if laid[i] <<= 8*container - bits; bits == 8 {
			laid[i] += 128 // unsigned
		}
	}
	data := chunk("data", ints(container, laid...))
	if bits%8 != 0 {
		return riff(extensible(1, channels, rate, container, 8*container, bits), data)
	}
	return riff(pcm(channels, rate, bits), data)
}

// packedBy has the reference encoder make a FLAC file of a WAV file.
func packedBy(t *testing.T, wav string, args ...string) string {
	t.Helper()
	path := strings.TrimSuffix(wav, ".wav") + fmt.Sprint(len(args)) + ".flac"
	run(t, "flac", append([]string{"-s", "-f", "--channel-map=none", "-o", path, wav}, args...)...)
	return path
}

// What the reference encoder made of a WAV file reads as that does, sample by sample,
// whatever its bits, channels and rate; and the checksum of STREAMINFO (RFC 9639, 8.2),
// as the reference tool prints it, is that of what is read.
func TestFlacReadsAsWav(t *testing.T) {
	for _, c := range []struct {
		channels, rate, bits int
		args                 []string
	}{
		{2, 48000, 16, nil}, {2, 48000, 24, []string{"-8"}}, {1, 8000, 8, []string{"-0"}}, {3, 44100, 16, []string{"-5"}},
		{2, 96000, 20, []string{"-8", "-p"}}, {2, 12345, 12, []string{"--lax"}}, {8, 192000, 24, []string{"-2"}},
		{2, 24000, 16, []string{"-b", "192"}}, {2, 176400, 24, []string{"-8", "-e"}}, {2, 384000, 24, []string{"--lax", "-8"}},
	} {
		t.Run(fmt.Sprintf("%d channels of %d bits at %d Hz", c.channels, c.bits, c.rate), func(t *testing.T) {
			values := strikes(c.channels, 6001, c.bits)
			wav := save(t, wavOf(c.channels, c.rate, c.bits, values))
			path := packedBy(t, wav, c.args...)
			want, f := interleaved(t, open(t, wav)), open(t, path)
			if got := interleaved(t, f); !slices.Equal(got, want) {
				t.Errorf("FLAC reads otherwise than the WAV it was made of")
			}
			if f.Rate() != float64(c.rate) || f.Channels() != c.channels || f.Frames() != 6001 || !f.Packed() || len(f.Warnings()) > 0 {
				t.Errorf("%g Hz, %d channels, %d frames, packed %t, %q", f.Rate(), f.Channels(), f.Frames(), f.Packed(), codes(f))
			}
			sum := md5.Sum(ints((c.bits+7)/8, values...))
			if printed := strings.TrimSpace(string(run(t, "metaflac", "--show-md5sum", path))); printed != hex.EncodeToString(sum[:]) {
				t.Errorf("STREAMINFO has the checksum %s, the sound %x", printed, sum)
			}
		})
	}
}

// The library asks for files of some rates at each block of them: that stays out of
// the log, and the log goes on as before.
func TestFlacIsQuiet(t *testing.T) {
	var said bytes.Buffer
	was := log.Writer()
	log.SetOutput(&said)
	defer log.SetOutput(was)
	open(t, packedBy(t, save(t, wavOf(1, 24000, 16, strikes(1, 3000, 16)))))
	if log.Print("still here"); strings.Count(said.String(), "\n") != 1 {
		t.Errorf("the log has %q", said.String())
	}
}

// Where two such files are unpacked at once, the log goes on as before as well.
func TestFlacIsQuietTwice(t *testing.T) {
	was := log.Writer()
	defer log.SetOutput(was)
	first := quiet(24000)
	if quieting.TryLock() {
		t.Error("the second does not wait for the first")
	}
	first()
	quiet(176400)()
	if log.Writer() != was {
		t.Error("the log stays quiet")
	}
}

// flacBytes is a FLAC file of 9000 frames.
func flacBytes(t *testing.T, args ...string) []byte {
	t.Helper()
	return must.Get(os.ReadFile(packedBy(t, save(t, wavOf(2, 48000, 16, strikes(2, 9000, 16))), args...)))(t)
}

func saveFlac(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "take.flac")
	must.Do(t, os.WriteFile(path, data, 0o600))
	return path
}

// A FLAC file that was cut short is read as far as it goes, with a warning; one whose
// sound is not what went into it is refused, and so is one that would fill the disk.
func TestFlacTraps(t *testing.T) {
	whole := flacBytes(t, "--no-padding", "--no-seektable", "-b", "1152")
	cutShort := open(t, saveFlac(t, whole[:len(whole)*3/4]))
	if n := cutShort.Frames(); n < 1152 || n >= 9000 || codes(cutShort) != calib.WarnTruncated+" " {
		t.Errorf("cut short: %d frames, %q", n, codes(cutShort))
	}
	got, want := interleaved(t, cutShort), interleaved(t, open(t, saveFlac(t, whole)))
	if !slices.Equal(got, want[:len(got)]) {
		t.Error("what comes before the cut is not what was packed")
	}
	flipped := slices.Clone(whole)
	flipped[len(flipped)-700] ^= 1 // in a block, whose own checksum tells
	if f := open(t, saveFlac(t, flipped)); codes(f) != calib.WarnTruncated+" " {
		t.Errorf("a flipped bit: %q", codes(f))
	}
	const sumAt = 4 + 4 + 18 // RFC 9639, 8.2
	wrong := slices.Clone(whole)
	wrong[sumAt] ^= 1
	silent := save(t, wavOf(2, 48000, 16, make([]int64, 2*2_000_000)))
	for name, c := range map[string]struct{ path, want string }{
		"another checksum": {saveFlac(t, wrong), "checksum"},
		"header only":      {saveFlac(t, whole[:86]), "holds no sound"},
		"half a header":    {saveFlac(t, whole[:20]), "header cannot be read"},
		"silence":          {packedBy(t, silent, "-8"), "200 times"},
	} {
		if f, err := Open(c.path); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, %v", name, f, err)
		}
	}
	left, _ := filepath.Glob(filepath.Join(os.TempDir(), "lagwright-*.pcm"))
	if len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}

// Where the recorder did not know length and checksum, as into a pipe, all is read.
func TestFlacOfUnknownLength(t *testing.T) {
	whole := flacBytes(t)
	const lengthAt = 4 + 4 + 14 // its lower 32 bits, then the checksum: RFC 9639, 8.2
	copy(whole[lengthAt:], make([]byte, 4+16))
	if f := open(t, saveFlac(t, whole)); f.Frames() != 9000 || len(f.Warnings()) > 0 {
		t.Errorf("%d frames, %q", f.Frames(), codes(f))
	}
}

// flacSeeds are files of one and two channels by the reference encoder 1.4.2, for the
// fuzzer to change.
var flacSeeds = []string{
	"664c6143000000221000100000003b00003b0bb800f0000000280da757ebbeb46f32663b5bc485b1049a84000028200000007265666572656e6365206c6962464c414320312e342e3220323032323130323200000000" +
		"fff86a080027d21800000b8015bd1d9501d14b86a361909ce4a0abe952b35a6d755a06de1b5914c269371848ee882a3ff53b45aacf54fbd6808f9a",
	"664c614300000022100010000000490000490bb802f000000040a1bbba7e87cc5978ce7c08a9855a827a84000028200000007265666572656e6365206c6962464c414320312e342e3220323032323130323200000000" +
		"fff86a88003f911800000af113ab1976098fc26198a4ad825a2afb691dad44afd3c6899101b131234f2e9d1fa82222649bb3cb9628f38b31a89d3def2defb5a310c415401fffb07cf5",
}

// FuzzFlac throws files at the decoder. Whatever comes, the answer is sound or a
// sentence, and memory does not grow with what the file claims.
func FuzzFlac(f *testing.F) {
	f.Add([]byte("fLaC"))
	for _, seed := range flacSeeds {
		data := must.Get(hex.DecodeString(seed))(f)
		f.Add(data)
	}
	path := filepath.Join(f.TempDir(), "take.wav")
	f.Fuzz(func(t *testing.T, data []byte) {
		must.Do(t, os.WriteFile(path, append([]byte(flacMark), data[min(len(data), 4):]...), 0o600))
		openAndRead(t, path)
	})
}
