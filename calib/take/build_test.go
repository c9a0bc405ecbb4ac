package take

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"lagwright/internal/must"
)

// The builders below lay files out byte by byte from the Multimedia Programming
// Interface and Data Specifications 1.0 (IBM and Microsoft, 1991), the
// WAVEFORMATEXTENSIBLE layout (wiki.multimedia.cx) and EBU Tech 3306 (RF64).

var (
	le = binary.LittleEndian
	be = binary.BigEndian
)

// ord can read, put and append.
type ord interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

func chunkOf(o ord, id string, size uint32, body []byte) []byte {
	b := o.AppendUint32([]byte(id), size)
	return append(b, body...)
}

// chunk returns a little-endian chunk with its pad byte.
func chunk(id string, body []byte) []byte {
	b := chunkOf(le, id, uint32(len(body)), body)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// riff wraps chunks in a RIFF WAVE form.
func riff(chunks ...[]byte) []byte {
	body := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return chunkOf(le, "RIFF", uint32(len(body)), body)
}

func fmtBody(o ord, tag, channels, rate, align, bits int) []byte {
	b := o.AppendUint16(nil, uint16(tag))
	b = o.AppendUint16(b, uint16(channels))
	b = o.AppendUint32(b, uint32(rate))
	b = o.AppendUint32(b, uint32(rate*align))
	b = o.AppendUint16(b, uint16(align))
	return o.AppendUint16(b, uint16(bits))
}

// pcm is the fmt chunk of PCMWAVEFORMAT, samples as narrow as bytes allow.
func pcm(channels, rate, bits int) []byte {
	return chunk("fmt ", fmtBody(le, tagPCM, channels, rate, channels*((bits+7)/8), bits))
}

func float(channels, rate, bits int) []byte {
	return chunk("fmt ", append(fmtBody(le, tagFloat, channels, rate, channels*bits/8, bits), 0, 0))
}

// extensible is the fmt chunk of WAVEFORMATEXTENSIBLE.
func extensible(sub, channels, rate, container, bits, valid int) []byte {
	b := append(fmtBody(le, tagExtensible, channels, rate, channels*container, bits), 22, 0)
	b = le.AppendUint16(b, uint16(valid))
	b = le.AppendUint32(b, 0)
	b = append(b, byte(sub), 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71)
	return chunk("fmt ", b)
}

// ints lays samples out little-endian in containers of so many bytes.
func ints(container int, values ...int64) []byte {
	var b []byte
	for _, v := range values {
		for i := range container {
			b = append(b, byte(v>>(8*i)))
		}
	}
	return b
}

func floats(values ...float32) []byte {
	var b []byte
	for _, v := range values {
		b = le.AppendUint32(b, math.Float32bits(v))
	}
	return b
}

func doubles(values ...float64) []byte {
	var b []byte
	for _, v := range values {
		b = le.AppendUint64(b, math.Float64bits(v))
	}
	return b
}

func save(t testing.TB, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "take.wav")
	must.Do(t, os.WriteFile(path, data, 0o600))
	return path
}

func open(t testing.TB, path string) *File {
	t.Helper()
	f := must.Get(Open(path))(t)
	t.Cleanup(func() { f.Close() })
	return f
}

// readAll returns every channel in full.
func readAll(t testing.TB, f *File) [][]float32 {
	t.Helper()
	all := make([][]float32, f.Channels())
	for c := range all {
		all[c] = make([]float32, f.Frames())
		if n, err := f.ReadAt(all[c], c+1, 0); err != nil && !errors.Is(err, io.EOF) || n != len(all[c]) {
			t.Fatalf("channel %d: read %d of %d: %v", c+1, n, len(all[c]), err)
		}
	}
	return all
}

// interleaved returns all samples in the order of the file.
func interleaved(t testing.TB, f *File) []float32 {
	t.Helper()
	all := readAll(t, f)
	var out []float32
	for i := range f.Frames() {
		for c := range all {
			out = append(out, all[c][i])
		}
	}
	return out
}

func codes(f *File) string {
	var s string
	for _, w := range f.Warnings() {
		s += w.Code + " "
	}
	return s
}
