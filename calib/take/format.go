package take

import (
	"bytes"
	"encoding/binary"
	"math"
	"slices"

	"lagwright/calib/i18n"
)

// Format tags, IANA WAVE codec registry (RFC 2361).
const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xFFFE
)

// The rates and channels taken. The trade records at 8 to 384 kHz; the room on
// either side costs nothing, while a rate far outside is a broken header.
const (
	minRate, maxRate = 1000, 768000
	maxChannels      = 64
)

// guidTail ends the sub-format GUIDs of all registered tags
// (0000xxxx-0000-0010-8000-00AA00389B71).
var guidTail = []byte{0x80, 0x00, 0x00, 0xAA, 0x00, 0x38, 0x9B, 0x71}

// format is the layout of a frame.
type format struct {
	float      bool
	bigEndian  bool
	low        bool // samples lie at the low end of their containers
	channels   int
	rate       uint32 // frames per second
	container  int    // bytes a sample takes, 1 to 8
	valid      int    // bits of it that count
	blockAlign int    // bytes a frame takes
}

// padBits returns how many bits of a container are not used.
func (f format) padBits() int { return 8*f.container - f.valid }

// parseFormat reads a fmt chunk. The note, if any, completes a sentence about a
// harmless contradiction.
func parseFormat(b []byte, order binary.ByteOrder) (f format, note i18n.Message, err error) {
	if len(b) < 16 {
		return f, note, i18n.Errorf("breaks off inside its header: copy it from the recorder again or record the take again")
	}
	f.bigEndian = order == binary.BigEndian
	f.channels = int(order.Uint16(b[2:]))
	f.rate = order.Uint32(b[4:])
	f.blockAlign = int(order.Uint16(b[12:]))
	bits := int(order.Uint16(b[14:]))
	tag, valid, err := subFormat(b, order)
	if err != nil {
		return f, note, err
	}
	f.float = tag == tagFloat
	if err := f.checkTop(tag); err != nil {
		return f, note, err
	}
	if err := f.setContainer(bits, valid); err != nil {
		return f, note, err
	}
	if mean := order.Uint32(b[8:]); uint64(mean) != uint64(f.rate)*uint64(f.blockAlign) {
		note = i18n.Say("contradicts itself: %d bytes a second at %d frames a second and %d bytes a frame; the last two were used, so check the tempo against a clock", mean, f.rate, f.blockAlign)
	}
	return f, note, nil
}

// subFormat returns the tag that counts and, for WAVE_FORMAT_EXTENSIBLE, the
// valid bits (0 when not given).
func subFormat(b []byte, order binary.ByteOrder) (tag uint16, valid int, err error) {
	tag = order.Uint16(b)
	if tag != tagExtensible {
		return tag, 0, nil
	}
	if len(b) < 40 {
		return 0, 0, i18n.Errorf("breaks off inside its extended format header: export it as PCM WAV (16 or 24 bit)")
	}
	guid := b[24:40]
	if order.Uint16(guid[4:]) != 0 || order.Uint16(guid[6:]) != 0x10 || !bytes.Equal(guid[8:], guidTail) || order.Uint32(guid) > 0xFFFF {
		return 0, 0, i18n.Errorf("holds sound in an unknown form (sub-format %x): export it as PCM WAV (16 or 24 bit)", guid)
	}
	return uint16(order.Uint32(guid)), int(order.Uint16(b[18:])), nil
}

// checkTop refuses codings, channels and rates that are not taken.
func (f format) checkTop(tag uint16) error {
	switch {
	case !codings[tag].IsZero():
		return i18n.Errorf("holds %s sound, which blurs the moment of a hit: export it as PCM WAV (16 or 24 bit), or better record it so", codings[tag])
	case tag != tagPCM && tag != tagFloat:
		return i18n.Errorf("holds sound in an unknown form (format tag %d): export it as PCM WAV (16 or 24 bit)", tag)
	case f.channels < 1 || f.channels > maxChannels:
		return i18n.Errorf("claims %d channels, and takes have 1 to %d: export the channels you need as PCM WAV", f.channels, maxChannels)
	case f.rate < minRate || f.rate > maxRate:
		return i18n.Errorf("claims %d frames a second, and takes have %d to %d: export it as PCM WAV at 48000 Hz", f.rate, minRate, maxRate)
	}
	return nil
}

// setContainer derives the container from the block align, which is what the
// bytes in the file follow, and checks the bits against it.
func (f *format) setContainer(bits, valid int) error {
	f.container = f.blockAlign / f.channels
	if f.blockAlign%f.channels != 0 || bits < 1 || f.container > 8 || bits > 8*f.container {
		return i18n.Errorf("contradicts itself: %d bytes a frame for %d channels of %d bits: export it as PCM WAV (16 or 24 bit)", f.blockAlign, f.channels, bits)
	}
	if f.float && (bits != 8*f.container || bits != 32 && bits != 64) {
		return i18n.Errorf("holds floating-point samples of %d bits in %d bytes, and only 32 and 64 bits are known: export it as PCM WAV (16 or 24 bit)", bits, f.container)
	}
	f.valid = bits
	if valid > 0 && valid < bits && !f.float {
		f.valid = valid
	}
	return nil
}

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
