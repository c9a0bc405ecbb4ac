package take

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// headerBytes is the size of the smallest WAV header.
const headerBytes = 44

// pick copies one channel out of whole frames, turned little-endian.
func (f format) pick(mono, raw []byte, channel int) {
	at := (channel - 1) * f.container
	for i := 0; i < len(mono); i += f.container {
		sample := mono[i : i+f.container]
		copy(sample, raw[at:])
		if f.bigEndian {
			reverse(sample)
		}
		at += f.blockAlign
	}
}

func reverse(b []byte) {
	for i, j := 0, len(b)-1; i < j; i, j = i+1, j-1 {
		b[i], b[j] = b[j], b[i]
	}
}

// decode fills dst from one channel's little-endian samples, which lie in mono
// behind room for a header. bad reports samples that are no finite number. ints
// is at least as long as dst.
func (f format) decode(dst []float32, mono []byte, ints []int) (bad bool, err error) {
	samples := mono[headerBytes:]
	switch {
	case f.float && f.container == 4:
		return decodeFloats(dst, func(i int) float64 {
			return float64(math.Float32frombits(binary.LittleEndian.Uint32(samples[4*i:])))
		}), nil
	case f.float:
		return decodeFloats(dst, func(i int) float64 {
			return math.Float64frombits(binary.LittleEndian.Uint64(samples[8*i:]))
		}), nil
	case f.plain():
		return false, f.decodePlain(dst, mono, ints)
	}
	f.decodeInts(dst, samples)
	return false, nil
}

func decodeFloats(dst []float32, at func(int) float64) (bad bool) {
	for i := range dst {
		v := float32(at(i)) // a double beyond a float's range becomes infinite
		if v-v != 0 {
			v, bad = 0, true
		}
		dst[i] = v
	}
	return bad
}

// plain reports the layouts go-audio/wav decodes rightly.
func (f format) plain() bool {
	return !f.low && f.container >= 2 && f.container <= 4
}

// decodePlain has go-audio/wav decode mono, behind a header of our own, so that
// it never sees the file's chunks.
func (f format) decodePlain(dst []float32, mono []byte, ints []int) error {
	putHeader(mono, f.container)
	buf := &audio.IntBuffer{Data: ints[:len(dst)]}
	n, err := wav.NewDecoder(bytes.NewReader(mono)).PCMBuffer(buf)
	if err != nil {
		return err
	}
	if n != len(dst) {
		return fmt.Errorf("decoded %d of %d samples", n, len(dst))
	}
	scale := 1 / float64(int64(1)<<(8*f.container-1))
	for i, v := range buf.Data {
		dst[i] = float32(float64(v) * scale)
	}
	return nil
}

// putHeader writes the canonical header of mono PCM over the first bytes of b.
// The rate does not matter to its reader.
func putHeader(b []byte, container int) {
	const rate = 48000
	h := append(b[:0], "RIFF"...)
	h = binary.LittleEndian.AppendUint32(h, uint32(len(b)-8))
	h = append(h, "WAVEfmt "...)
	h = binary.LittleEndian.AppendUint32(h, 16)
	h = binary.LittleEndian.AppendUint16(h, tagPCM)
	h = binary.LittleEndian.AppendUint16(h, 1)
	h = binary.LittleEndian.AppendUint32(h, rate)
	h = binary.LittleEndian.AppendUint32(h, uint32(rate*container))
	h = binary.LittleEndian.AppendUint16(h, uint16(container))
	h = binary.LittleEndian.AppendUint16(h, uint16(8*container))
	h = append(h, "data"...)
	binary.LittleEndian.AppendUint32(h, uint32(len(b)-headerBytes))
}

// decodeInts decodes the containers go-audio/wav does not: 8 bit, wider than 32
// bit, and samples at the low end of their containers.
func (f format) decodeInts(dst []float32, samples []byte) {
	shift := 0
	if f.low {
		shift = f.padBits()
	}
	for i := range dst {
		v := topAligned(samples[i*f.container:(i+1)*f.container]) << shift
		dst[i] = float32(float64(v) / (1 << 63))
	}
}

// topAligned returns a little-endian sample shifted to the top of 64 bits. One
// byte is unsigned with its middle at 128, as the 1991 specification has it.
func topAligned(b []byte) int64 {
	if len(b) == 1 {
		return int64(b[0]^0x80) << 56
	}
	var v uint64
	for i, c := range b {
		v |= uint64(c) << (64 - 8*len(b) + 8*i)
	}
	return int64(v)
}

// probeBlocks is how many places of a take are looked at for its justification.
const probeBlocks = 8

// probeJustification finds where samples narrower than their containers lie.
// The specification puts them at the top with zeros below; some recorders put
// them at the bottom. They lie low if, over several places of the take, the
// bits below are in use and those above only repeat one bit.
func (f *File) probeJustification() error {
	b := f.newBlock(1024)
	var belowUsed, aboveUsed bool
	for i := range int64(probeBlocks) {
		first := (f.frames - 1) / probeBlocks * i
		raw := b.raw[:min(int64(b.frames), f.frames-first)*int64(f.form.blockAlign)]
		if _, err := f.file.ReadAt(raw, f.start+first*int64(f.form.blockAlign)); err != nil {
			return sentence(err, "could not be read: check the disk or the connection and open it again")
		}
		for ; len(raw) > 0; raw = raw[f.form.container:] {
			below, above := f.form.bitsOutside(raw[:f.form.container])
			belowUsed = belowUsed || below
			aboveUsed = aboveUsed || above
		}
	}
	f.form.low = belowUsed && !aboveUsed
	return nil
}

// bitsOutside reports, of one sample as it lies in the file, whether bits below
// a top-justified value and above a low-justified one carry anything.
func (f format) bitsOutside(sample []byte) (below, above bool) {
	if f.container == 1 {
		return false, true // offset binary: the middle is at the top by definition
	}
	var le [8]byte
	copy(le[:], sample)
	if f.bigEndian {
		reverse(le[:len(sample)])
	}
	v := topAligned(le[:len(sample)])
	below = uint64(v)<<f.valid != 0
	top := v >> (64 - f.padBits())
	return below, top != 0 && top != -1
}
