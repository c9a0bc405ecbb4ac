package take

import (
	"encoding/binary"
	"math"
	"slices"

	"lagwright/calib/i18n"
)

// decode fills dst with a channel (counting from 1) of raw, whole frames as they
// lie in the file. bad reports samples that are no finite number. It is the loop
// that reading a take spends its time in, hence one for each usual layout.
func (f format) decode(dst []float32, raw []byte, channel int) (bad bool) {
	samples := raw[(channel-1)*f.container:]
	usual := !f.bigEndian && !f.low
	switch {
	case f.float && f.container == 4 && usual:
		return f.decodeFloat32(dst, samples)
	case f.float:
		return f.decodeFloats(dst, samples)
	case f.container == 2 && usual:
		f.decode16(dst, samples)
	case f.container == 3 && usual:
		f.decode24(dst, samples)
	default:
		f.decodeInts(dst, samples)
	}
	return false
}

func (f format) decodeFloat32(dst []float32, samples []byte) (bad bool) {
	for i := range dst {
		v := math.Float32frombits(binary.LittleEndian.Uint32(samples[i*f.blockAlign:]))
		if v-v != 0 {
			v, bad = 0, true
		}
		dst[i] = v
	}
	return bad
}

// decodeFloats decodes floats of any size and order of bytes.
func (f format) decodeFloats(dst []float32, samples []byte) (bad bool) {
	for i := range dst {
		b := f.littleEndian(samples[i*f.blockAlign:])
		v := math.Float32frombits(binary.LittleEndian.Uint32(b[:]))
		if f.container == 8 {
			v = float32(math.Float64frombits(binary.LittleEndian.Uint64(b[:]))) // infinite beyond a float's range
		}
		if v-v != 0 {
			v, bad = 0, true
		}
		dst[i] = v
	}
	return bad
}

func (f format) decode16(dst []float32, samples []byte) {
	for i := range dst {
		dst[i] = float32(int16(binary.LittleEndian.Uint16(samples[i*f.blockAlign:]))) / (1 << 15)
	}
}

func (f format) decode24(dst []float32, samples []byte) {
	for i := range dst {
		at := i * f.blockAlign
		if b := samples[at:]; len(b) > 3 { // four bytes are read as quickly as one
			dst[i] = float32(int32(binary.LittleEndian.Uint32(b)<<8)) / (1 << 31)
		} else {
			dst[i] = float32(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)) / (1 << 31)
		}
	}
}

// decodeInts decodes integers of any layout.
func (f format) decodeInts(dst []float32, samples []byte) {
	shift := 0
	if f.low {
		shift = f.padBits()
	}
	for i := range dst {
		b := f.littleEndian(samples[i*f.blockAlign:])
		v := topAligned(b[:f.container]) << shift
		dst[i] = float32(float64(v) / (1 << 63))
	}
}

// littleEndian returns the bytes of the first of the samples, the lowest first.
func (f format) littleEndian(samples []byte) (b [8]byte) {
	copy(b[:], samples[:f.container])
	if f.bigEndian {
		slices.Reverse(b[:f.container])
	}
	return b
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

const (
	probeBlocks = 8    // places of a take that are looked at for its justification
	probeFrames = 1024 // at each of them
)

// probeJustification finds where samples narrower than their containers lie.
// The specification puts them at the top with zeros below; some recorders put
// them at the bottom. They lie low if, over several places of the take, the
// bits below are in use and those above only repeat one bit.
func (f *File) probeJustification() error {
	block := make([]byte, probeFrames*f.form.blockAlign)
	var belowUsed, aboveUsed bool
	for i := range int64(probeBlocks) {
		first := (f.Frames() - 1) / probeBlocks * i
		raw := block[:min(probeFrames, f.Frames()-first)*int64(f.form.blockAlign)]
		if _, err := f.file.ReadAt(raw, f.start+first*int64(f.form.blockAlign)); err != nil {
			return sentence(err, i18n.Errorf("could not be read: check the disk or the connection and open it again"))
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
	b := f.littleEndian(sample)
	v := topAligned(b[:f.container])
	below = uint64(v)<<f.valid != 0
	top := v >> (64 - f.padBits())
	return below, top != 0 && top != -1
}
