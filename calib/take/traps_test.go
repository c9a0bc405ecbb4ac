package take

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/internal/must"
)

// bext is a Broadcast Wave chunk of the fixed size EBU Tech 3285 sums to.
func bext() []byte { return chunk("bext", make([]byte, 602)) }

// cut shortens a file by n bytes, sized sets a 32-bit size field in it.
func cut(b []byte, n int) []byte { return b[:len(b)-n] }

func sized(b []byte, at int, size uint32) []byte {
	b = slices.Clone(b)
	le.PutUint32(b[at:], size)
	return b
}

const dataSizeAt = 40 // in a file with a 16-byte fmt chunk first

// plain16 is a mono 16-bit take of four frames.
func plain16(extra ...[]byte) []byte {
	return riff(append([][]byte{pcm(1, 48000, 16), chunk("data", ints(2, 0, 16384, -32768, 32767))}, extra...)...)
}

var plain16Want = []float32{0, 0.5, -1, 32767. / 32768}

// TestTraps has a row for each trap measured in go-audio/wav v1.1.0, and for
// what recorders are known to leave behind.
func TestTraps(t *testing.T) {
	tests := []struct {
		name  string
		data  []byte
		want  []float32
		codes string
	}{
		{"plain", plain16(), plain16Want, ""},
		{"float 32 is not read as bit patterns", riff(float(1, 48000, 32), chunk("data", floats(0.5, -1, 1.5))), []float32{0.5, -1, 1.5}, ""},
		{"float 64", riff(float(1, 48000, 64), chunk("data", doubles(0.5, -0.25))), []float32{0.5, -0.25}, ""},
		{"extensible float", riff(extensible(3, 1, 48000, 4, 32, 32), chunk("data", floats(0.5, -0.5))), []float32{0.5, -0.5}, ""},
		{"extensible 24 in 32, high", riff(extensible(1, 1, 48000, 4, 32, 24), chunk("data", ints(4, 1<<30, -1<<31, 0x100))), []float32{0.5, -1, 1. / (1 << 23)}, ""},
		{"extensible 24 in 32, low", riff(extensible(1, 1, 48000, 4, 32, 24), chunk("data", ints(4, 1<<22, -1<<23, 1))), []float32{0.5, -1, 1. / (1 << 23)}, ""},
		{"24-bit sign", riff(pcm(1, 48000, 24), chunk("data", ints(3, -1, -8388608, 8388607, 0))), []float32{-1. / (1 << 23), -1, 8388607. / (1 << 23), 0}, ""},
		{"24-bit odd data has no ghost", riff(pcm(1, 48000, 24), chunk("data", ints(3, 4194304))), []float32{0.5}, ""},
		{"24-bit odd data, chunk behind", riff(pcm(1, 48000, 24), chunk("data", ints(3, 4194304)), chunk("LIST", make([]byte, 20))), []float32{0.5}, ""},
		{"8 bit is centred, odd data has no ghost", riff(pcm(1, 48000, 8), chunk("data", []byte{0, 128, 192})), []float32{-1, 0, 0.5}, ""},
		{"data size 0", sized(plain16(), dataSizeAt, 0), plain16Want, "unfinished "},
		{"data size 0xFFFFFFFF", sized(plain16(), dataSizeAt, 0xFFFFFFFF), plain16Want, "unfinished "},
		{"both sizes 0xFFFFFFFF", sized(sized(plain16(), 4, 0xFFFFFFFF), dataSizeAt, 0xFFFFFFFF), plain16Want, "unfinished "},
		{"sizes of a pipe", sized(sized(plain16(), 4, 0x7FFFF024), dataSizeAt, 0x7FFFF000), plain16Want, "unfinished "},
		{"both sizes left at a placeholder", sized(sized(plain16(make([]byte, 80)), 4, 42), dataSizeAt, 42), append(slices.Clone(plain16Want), make([]float32, 40)...), "unfinished "},
		{"outer size wrong, data size right", sized(plain16(chunk("LIST", make([]byte, 60))), 4, 0), plain16Want, ""},
		{"truncated", cut(plain16(), 4), plain16Want[:2], "truncated "},
		{"truncated inside a sample", cut(plain16(), 3), plain16Want[:2], "truncated "},
		{"RF64", rf64("RF64", 8, ints(2, 0, 16384, -32768, 32767)), plain16Want, ""},
		{"BW64", rf64("BW64", 8, ints(2, 0, 16384, -32768, 32767)), plain16Want, ""},
		{"RF64 unfinished", rf64("RF64", 0, ints(2, 0, 16384, -32768, 32767)), plain16Want, "unfinished "},
		{"RF64 truncated", rf64("RF64", 1<<33, ints(2, 0, 16384, -32768, 32767)), plain16Want, "truncated "},
		{"RF64 absurd", rf64("RF64", math.MaxUint64, ints(2, 0, 16384, -32768, 32767)), plain16Want, "truncated "},
		{"bext before fmt", riff(bext(), pcm(1, 48000, 16), chunk("data", ints(2, 16384))), []float32{0.5}, ""},
		{"bext after fmt", riff(pcm(1, 48000, 16), bext(), chunk("data", ints(2, 16384))), []float32{0.5}, ""},
		{"data before fmt", riff(chunk("data", ints(3, 4194304)), pcm(1, 48000, 24)), []float32{0.5}, ""},
		{"odd chunk with pad", riff(chunk("note", []byte("odd")), pcm(1, 48000, 16), chunk("data", ints(2, 16384))), []float32{0.5}, ""},
		{"odd chunk without pad", riff(chunkOf(le, "note", 3, []byte("odd")), pcm(1, 48000, 16), chunk("data", ints(2, 16384))), []float32{0.5}, ""},
		{"empty data chunk first", riff(pcm(1, 48000, 16), chunk("data", nil), chunk("data", ints(2, 16384))), []float32{0.5}, ""},
		{"mean rate wrong", sized(plain16(), 28, 1), plain16Want, "header "},
		{"sound ends inside a frame", riff(pcm(2, 48000, 16), chunk("data", ints(2, 16384, 0, 7))), []float32{0.5, 0}, "header "},
		{"not a number", riff(float(1, 48000, 32), chunk("data", floats(float32(math.NaN()), 0.5, float32(math.Inf(-1))))), []float32{0, 0.5, 0}, "not-a-number "},
		{"double beyond a float", riff(float(1, 48000, 64), chunk("data", doubles(1e300, 0.5))), []float32{0, 0.5}, "not-a-number "},
		{"LIST of half the address space", riff(pcm(1, 48000, 16), chunk("data", ints(2, 16384)), chunkOf(le, "LIST", 0x7FFFFFFF, []byte("INFO"))), []float32{0.5}, ""},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			f := open(t, save(t, test.data))
			if got := interleaved(t, f); !slices.Equal(got, test.want) {
				t.Errorf("got %v, want %v", got, test.want)
			}
			if got := codes(f); got != test.codes {
				t.Errorf("warnings %q, want %q", got, test.codes)
			}
		})
	}
}

// rf64 lays out a 16-bit mono file with its sizes in ds64 (EBU Tech 3306).
func rf64(id string, dataSize uint64, data []byte) []byte {
	ds := le.AppendUint64(nil, dataSize+72)
	ds = le.AppendUint64(ds, dataSize)
	ds = le.AppendUint64(ds, dataSize/2)
	body := append([]byte("WAVE"), chunk("ds64", append(ds, 0, 0, 0, 0))...)
	body = append(body, pcm(1, 48000, 16)...)
	body = append(body, chunkOf(le, "data", unset, data)...)
	return chunkOf(le, id, unset, body)
}

// TestDuration pins what the decoder gets wrong: other chunks are no sound.
func TestDuration(t *testing.T) {
	f := open(t, save(t, riff(pcm(1, 48000, 16), bext(), chunk("data", ints(2, 1, 2)))))
	if got, want := f.DurationS(), 2./48000; got != want {
		t.Errorf("got %v s, want %v s", got, want)
	}
}

// TestRefused checks that every refusal names the file, what it is and what to do.
func TestRefused(t *testing.T) {
	tag := func(tag int) []byte {
		return riff(chunk("fmt ", fmtBody(le, tag, 1, 8000, 1, 8)), chunk("data", make([]byte, 16)))
	}
	header := func(channels, rate, align, bits int) []byte {
		return riff(chunk("fmt ", fmtBody(le, tagPCM, channels, rate, align, bits)), chunk("data", make([]byte, 1024)))
	}
	tests := []struct {
		name, want string
		data       []byte
	}{
		{"empty", "is empty", nil},
		{"text", "neither a WAV nor a FLAC file", []byte("once upon a time there was a drum")},
		{"three bytes", "neither a WAV nor a FLAC file", []byte("RIF")},
		{"flac", "FLAC file whose header", []byte("fLaC\x00\x00\x00\x22aaaaaaaaaaaaaaaa")},
		{"mp3 with tag", "MP3 file, which blurs", []byte("ID3\x04aaaaaaaaaaaaaaaa")},
		{"mp3 without tag", "MP3 file, which blurs", []byte("\xFF\xFB\x90\x00aaaaaaaaaaaaaaaa")},
		{"aac", "AAC file, which blurs", []byte("\xFF\xF1aaaaaaaaaaaa")},
		{"amr", "AMR file, which blurs", []byte("#!AMR-WB\naaaaaaa")},
		{"webm", "WebM file, which blurs", []byte("\x1A\x45\xDF\xA3aaaaaaaaaaaa")},
		{"aiff", "AIFF", []byte("FORM\x00\x00\x00\x20AIFFCOMMaaaaaaaa")},
		{"m4a", "MP4 or M4A file, which blurs", []byte("\x00\x00\x00\x20ftypM4A aaaaaaaa")},
		{"ogg", "Ogg file, which blurs", []byte("OggSaaaaaaaaaaaaaaaa")},
		{"avi", "AVI", []byte("RIFF\x20\x00\x00\x00AVI aaaaaaaa")},
		{"riff of another kind", "no WAVE", []byte("RIFF\x20\x00\x00\x00sfbkaaaaaaaa")},
		{"header cut", "breaks off", []byte("RIFF\x20\x00")},
		{"no chunks", "without a format", []byte("RIFF\x04\x00\x00\x00WAVE")},
		{"chunk cut", "without a format", []byte("RIFF\x05\x00\x00\x00WAVEf")},
		{"no data", "holds no sound", riff(pcm(1, 48000, 16))},
		{"empty data", "holds no sound", riff(pcm(1, 48000, 16), chunk("data", nil))},
		{"empty data and more", "holds no sound", riff(pcm(1, 48000, 16), chunk("data", nil), bext())},
		{"less than a frame", "holds no sound", riff(pcm(2, 48000, 24), chunk("data", make([]byte, 5)))},
		{"fmt cut", "breaks off", riff(chunk("fmt ", make([]byte, 14)), chunk("data", make([]byte, 14)))},
		{"extensible cut", "breaks off", riff(chunk("fmt ", fmtBody(le, tagExtensible, 1, 48000, 2, 16)), chunk("data", make([]byte, 14)))},
		{"foreign sub-format", "unknown form", riff(bytes.Replace(extensible(1, 1, 48000, 2, 16, 16), guidTail, make([]byte, 8), 1), chunk("data", make([]byte, 14)))},
		{"sub-format beyond the registry", "unknown form", riff(bytes.Replace(extensible(1, 1, 48000, 2, 16, 16), []byte{1, 0, 0, 0, 0, 0, 0x10}, []byte{1, 0, 7, 0, 0, 0, 0x10}, 1), chunk("data", make([]byte, 14)))},
		{"unfinished before its format", "without a format", riff(chunkOf(le, "data", 0, make([]byte, 16)), pcm(1, 48000, 16))},
		{"extensible mu-law", "mu-law", riff(extensible(7, 1, 48000, 1, 8, 8), chunk("data", make([]byte, 14)))},
		{"mu-law", "mu-law", tag(7)},
		{"A-law", "A-law", tag(6)},
		{"ADPCM", "ADPCM", tag(2)},
		{"IMA ADPCM", "IMA-ADPCM", tag(0x11)},
		{"MPEG", "MPEG", tag(0x55)},
		{"unknown tag", "format tag 4660", tag(0x1234)},
		{"no channels", "0 channels", header(0, 48000, 2, 16)},
		{"65 channels", "65 channels", header(65, 48000, 130, 16)},
		{"rate 0", "0 frames a second", header(1, 0, 2, 16)},
		{"rate absurd", "frames a second", header(1, math.MaxInt32, 2, 16)},
		{"block align 0", "contradicts itself", header(2, 48000, 0, 16)},
		{"block align odd", "contradicts itself", header(2, 48000, 5, 16)},
		{"block align too small", "contradicts itself", header(2, 48000, 4, 24)},
		{"container too wide", "contradicts itself", header(1, 48000, 9, 72)},
		{"0 bits", "contradicts itself", header(1, 48000, 2, 0)},
		{"float 16", "floating-point", riff(float(1, 48000, 16), chunk("data", make([]byte, 16)))},
		{"fmt of 1.5 GiB", "without a format", riff(chunkOf(le, "fmu ", 0x60000000, make([]byte, 16)))},
		{"nothing but tiny chunks", "without a format", riff(bytes.Repeat(chunk("tiny", nil), 1<<16))},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) { wantSentence(t, save(t, test.data), test.want) })
	}
	wantSentence(t, sparse(t, []byte("RIFF\xFF\xFF\xFF\xFFWAVE"), 2<<30, nil), "without a format")
	wantSentence(t, filepath.Join(t.TempDir(), "take.wav"), "does not exist")
	folder := filepath.Join(t.TempDir(), "take.wav")
	must.Do(t, os.Mkdir(folder, 0o700))
	wantSentence(t, folder, "is a folder")
}

func wantSentence(t *testing.T, path, want string) {
	t.Helper()
	f, err := Open(path)
	if err == nil {
		f.Close()
		t.Fatal("opened, want a refusal")
	}
	text := err.Error()
	if !strings.Contains(text, want) || !strings.Contains(text, "take.wav") || !strings.Contains(text, ": ") || strings.Contains(text, "\n") {
		t.Errorf("%q is no sentence that names take.wav and says %q and what to do", text, want)
	}
}
