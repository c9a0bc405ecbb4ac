package take

import (
	"encoding/binary"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// headerSize is where the sound of a growing take begins. The header has a block
// of the disk to itself, so that bringing it up to date never touches one with
// sound in it, and is done in one write.
const headerSize = 4096

// ownID names our own chunk, ownMark begins it. It lies before the sound and has
// room from the start, so that gaps are stored as they happen and survive a
// crash. Other programs step over it.
const (
	ownID   = "lagw"
	ownMark = "take"
	maxGaps = 200
	gapSize = 16
)

// ds64Bytes is the size of the chunk that EBU Tech 3306 has one reserve under
// the name JUNK for the case that a file grows past 4 GiB.
const ds64Bytes = 28

// wideFrom is the size in bytes from which the 32-bit fields do not do.
const wideFrom = unset

// header is what stands before the sound of a take.
type header struct {
	form  calib.Format
	sound int64 // bytes of whole frames
	gaps  []Gap
}

// Frames returns how many frames are in the file.
func (h header) Frames() int64 { return h.sound / int64(h.frameBytes()) }

func (h header) frameBytes() int { return h.form.Channels * depth / 8 }

// total is the bytes of the file that follow its first eight.
func (h header) total() int64 { return headerSize - 8 + h.sound + h.sound%2 }

// bytes is the header; growing says that there may be more sound to come.
func (h header) bytes(growing bool) []byte { return h.bytesAs(h.total() >= wideFrom, growing) }

// bytesAs is bytes with or without 64-bit sizes.
func (h header) bytesAs(wide, growing bool) []byte {
	le, total := binary.LittleEndian, h.total()
	form, sizes := "RIFF", "JUNK"
	if wide {
		form, sizes = "RF64", "ds64"
	}
	b := make([]byte, 0, headerSize)
	b = le.AppendUint32(append(b, form...), size32(wide, total))
	b = append(b, "WAVE"...)
	b = le.AppendUint32(append(b, sizes...), ds64Bytes)
	for _, size := range []int64{total, h.sound, h.Frames()} {
		if !wide {
			size = 0
		}
		b = le.AppendUint64(b, uint64(size))
	}
	b = le.AppendUint32(b, 0) // no table of further sizes
	b = h.appendForm(b)
	b = h.appendOwn(b, growing, headerSize-8)
	return le.AppendUint32(append(b, "data"...), size32(wide, h.sound))
}

func size32(wide bool, size int64) uint32 {
	if wide {
		return unset
	}
	return uint32(size)
}

// appendForm adds the format: the plain one that every program knows, and the
// extensible one where more than two channels ask for it, said to be of no
// particular loudspeaker.
func (h header) appendForm(b []byte) []byte {
	le := binary.LittleEndian
	tag, size := uint16(tagPCM), uint32(16)
	if h.form.Channels > 2 {
		tag, size = tagExtensible, 40
	}
	b = le.AppendUint32(append(b, "fmt "...), size)
	b = le.AppendUint16(b, tag)
	b = le.AppendUint16(b, uint16(h.form.Channels))
	b = le.AppendUint32(b, uint32(h.form.RateHz))
	b = le.AppendUint32(b, uint32(h.form.RateHz*h.frameBytes()))
	b = le.AppendUint16(b, uint16(h.frameBytes()))
	b = le.AppendUint16(b, depth)
	if tag == tagPCM {
		return b
	}
	b = le.AppendUint16(b, 22)
	b = le.AppendUint16(b, depth)
	b = le.AppendUint32(b, 0)
	b = append(b, tagPCM, 0, 0, 0, 0, 0, 0x10, 0)
	return append(b, guidTail...)
}

// appendOwn adds our chunk and fills it up to the given end.
func (h header) appendOwn(b []byte, growing bool, end int) []byte {
	le := binary.LittleEndian
	b = le.AppendUint32(append(b, ownID...), uint32(end-len(b)-8))
	b = append(append(b, ownMark...), 0, 0)
	if growing {
		b[len(b)-2] = 1
	}
	b = le.AppendUint16(b, uint16(len(h.gaps)))
	for _, g := range h.gaps {
		b = le.AppendUint64(b, uint64(g.Frame))
		b = le.AppendUint64(b, uint64(g.Lost))
	}
	return append(b, make([]byte, end-len(b))...)
}

// readOwn reads what our own chunk says, if that is what it is. Gaps beyond the
// sound or out of order are no gaps.
func (s *scanner) readOwn(body, size int64) error {
	b, err := s.bytes(body, min(size, headerSize))
	if err != nil || len(b) < len(ownMark)+4 || string(b[:len(ownMark)]) != ownMark {
		return err
	}
	b = b[len(ownMark):]
	s.growing = b[0] == 1
	count := int(binary.LittleEndian.Uint16(b[2:]))
	for b = b[4:]; count > 0 && len(b) >= gapSize; b, count = b[gapSize:], count-1 {
		g := Gap{int64(binary.LittleEndian.Uint64(b)), int64(binary.LittleEndian.Uint64(b[8:]))}
		if g.Frame >= 0 && g.Lost > 0 && (len(s.gaps) == 0 || g.Frame >= s.gaps[len(s.gaps)-1].Frame) {
			s.gaps = append(s.gaps, g)
		}
	}
	return nil
}

// Gaps returns where sound was lost while the take was recorded, as far as its
// recorder was a Recorder; others leave no word of it.
func (f *File) Gaps() []Gap { return append([]Gap(nil), f.gaps...) }

// mostPlaces is how many gaps are named in a sentence.
const mostPlaces = 3

// gapText says where sound was lost.
func gapText(gaps []Gap, rateHz float64) i18n.Message {
	if len(gaps) == 0 {
		return i18n.Message{}
	}
	lost := int64(0)
	var places []i18n.Message
	for i, g := range gaps {
		lost += g.Lost
		switch {
		case i < mostPlaces:
			places = append(places, i18n.Say("%.2f s", float64(g.Frame)/rateHz))
		case i == mostPlaces:
			places = append(places, i18n.SayN(len(gaps)-i, "%d more places", "%d more places", len(gaps)-i))
		}
	}
	return i18n.Say("lacks %.3f s of sound that never reached the recorder, at %s: hits beside a gap may be missing; if you need them, close other programs, stop the crank, wait for rest, then check the cable, and record again",
		float64(lost)/rateHz, listed(places))
}

// listed tells all of a list with commas between.
func listed(all []i18n.Message) i18n.Message {
	list := all[0]
	for _, one := range all[1:] {
		list = i18n.Say("%s, %s", list, one)
	}
	return list
}

// readGaps takes over the gaps that lie within the sound, and warns of them.
func (f *File) readGaps(s *scanner) {
	for _, g := range s.gaps {
		if g.Frame <= f.Frames() {
			f.gaps = append(f.gaps, g)
		}
	}
	f.warn(calib.WarnLostBuffer, gapText(f.gaps, f.Rate()))
}
