package take

import (
	"encoding/binary"
	"io"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// maxChunks bounds the walk through a file made of nothing but tiny chunks.
const maxChunks = 1 << 14

// unset stands in a 32-bit size field for "see ds64" in RF64 and for "not known
// yet" in RIFF.
const unset = 0xFFFFFFFF

// scanner walks the chunks of a WAV file for its format and the extent of its
// sound. No size in the file makes it allocate or read beyond the file.
type scanner struct {
	r     io.ReaderAt
	size  int64 // of the file, bytes
	order binary.ByteOrder
	wide  bool // RF64 or BW64: sizes may stand in ds64

	riffSize int64 // as the header claims
	ds64Data int64 // data size in ds64, -1 when there is none

	form       []byte // the fmt chunk, cut to what is needed
	hasData    bool
	dataStart  int64
	dataSize   int64 // bytes that are there
	claimed    int64 // bytes the header promises; 0 when unfinished
	unfinished bool

	growing bool // as our own recorder says
	gaps    []Gap
}

func (s *scanner) scan() error {
	if err := s.readTop(); err != nil {
		return err
	}
	pos := int64(12)
	for i := 0; i < maxChunks && pos+8 <= s.size && !(s.form != nil && s.hasData); i++ {
		next, err := s.readChunk(pos)
		if err != nil {
			return err
		}
		pos = next
	}
	switch {
	case s.form == nil:
		return i18n.Errorf("is a WAV file without a format (fmt) chunk, so its layout is unknown: copy it from the recorder again or export it as PCM WAV")
	case !s.hasData:
		return i18n.Errorf("holds no sound: copy it from the recorder again or record the take again")
	}
	return nil
}

// readTop reads the 12 bytes that say what kind of file this is.
func (s *scanner) readTop() error {
	top, err := s.bytes(0, 16)
	if err != nil {
		return err
	}
	if err := refusal(top); err != nil {
		return err
	}
	s.order = binary.LittleEndian
	switch string(top[:4]) {
	case "RIFX":
		s.order = binary.BigEndian
	case "RF64", "BW64":
		s.wide = true
	}
	s.ds64Data = -1
	s.riffSize = int64(s.order.Uint32(top[4:]))
	return nil
}

// readChunk reads the chunk at pos and returns where the next one starts.
func (s *scanner) readChunk(pos int64) (next int64, err error) {
	head, err := s.bytes(pos, 8)
	if err != nil {
		return 0, err
	}
	size, body := int64(s.order.Uint32(head[4:])), pos+8
	switch id := string(head[:4]); {
	case id == "ds64" && s.wide:
		err = s.readDS64(body, size)
	case id == "fmt " && s.form == nil:
		s.form, err = s.bytes(body, min(size, 40))
	case id == ownID && s.gaps == nil:
		err = s.readOwn(body, size)
	case id == "data" && !s.hasData:
		size = s.takeData(body, size)
	}
	if err != nil {
		return 0, err
	}
	return s.afterPad(body+size, size)
}

// readDS64 takes the 64-bit sizes of EBU Tech 3306: riffSize, dataSize.
func (s *scanner) readDS64(body, size int64) error {
	b, err := s.bytes(body, min(size, 16))
	if err != nil || len(b) < 16 {
		return err
	}
	s.riffSize = int64(min(binary.LittleEndian.Uint64(b), 1<<62))
	s.ds64Data = int64(min(binary.LittleEndian.Uint64(b[8:]), 1<<62))
	return nil
}

// takeData notes the extent of the sound and returns the size to step over.
func (s *scanner) takeData(body, field int64) int64 {
	size := field
	if s.wide && field == unset && s.ds64Data >= 0 {
		size = s.ds64Data
	}
	rest := s.size - body
	if size == 0 && s.chunkAt(body) {
		return 0 // an empty chunk with another one behind it
	}
	s.hasData, s.dataStart, s.claimed = true, body, size
	if s.neverWritten(body, size, rest) {
		s.unfinished, s.claimed, s.dataSize = true, 0, rest
		return rest
	}
	s.dataSize = min(size, rest)
	return size
}

// neverWritten tells a size a recorder would have put in at the end, had it
// come to that: zero, a stand-in that reaches beyond the file, or a size at odds
// both with the outer one and with what follows the sound.
func (s *scanner) neverWritten(body, size, rest int64) bool {
	switch {
	case size == 0:
		return true
	case size == unset, size >= 0x7FFF0000 && size <= 0x80000000: // the latter around 2 GiB, as sox leaves in a pipe
		return size > rest
	}
	end := body + size
	return end > s.riffSize+8 && end+1 < s.size && !s.chunkAt(end+size%2)
}

// chunkAt reports whether a chunk that fits into the file starts at pos.
func (s *scanner) chunkAt(pos int64) bool {
	if pos+8 > s.size {
		return false
	}
	head, err := s.bytes(pos, 8)
	if err != nil {
		return false
	}
	for _, c := range head[:4] {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return pos+8+int64(s.order.Uint32(head[4:])) <= s.size
}

// afterPad skips the pad byte behind a chunk of odd size. Some writers leave it
// out; a pad byte is zero and no chunk's name starts with zero.
func (s *scanner) afterPad(end, size int64) (int64, error) {
	if size%2 == 0 || end >= s.size {
		return end, nil
	}
	b, err := s.bytes(end, 1)
	if err != nil {
		return 0, err
	}
	if b[0] != 0 && s.chunkAt(end) {
		return end, nil
	}
	return end + 1, nil
}

// bytes reads up to n bytes at pos, fewer at the end of the file.
func (s *scanner) bytes(pos, n int64) ([]byte, error) {
	b := make([]byte, max(0, min(n, s.size-pos)))
	if _, err := s.r.ReadAt(b, pos); err != nil {
		return nil, sentence(err, i18n.Errorf("could not be read: check the disk or the connection and open it again"))
	}
	return b, nil
}

// tellEnd warns of how the sound ends.
func (f *File) tellEnd(s *scanner) {
	switch there := f.DurationS(); {
	case s.unfinished:
		f.warn(calib.WarnUnfinished, i18n.Say("was never finished by its recorder, which left no length in it; the %.2f s that are there were read: listen to the end of the take before you trust it", there))
	case s.growing:
		f.warn(calib.WarnUnfinished, i18n.Say("broke off while it was recorded; the %.2f s that are there were read: use it if that is enough, or record it again", there))
	}
	if s.claimed > s.dataSize {
		second := f.Rate() * float64(f.form.blockAlign)
		f.warn(calib.WarnTruncated, i18n.Say("is cut short: its header promises %.2f s and %.2f s are there, which were read; copy it from the recorder again if you need the rest", float64(s.claimed)/second, float64(s.dataSize)/second))
	}
}

// outer are the names a WAV file may start with.
var outer = []string{"RIFF", "RIFX", "RF64", "BW64"}

// kinds are the first bytes of files that people mistake for WAV, as their
// formats' specifications give them. Those of phones and messengers leave out of the
// sound what few ears miss, and with it the moment of a hit.
var kinds = []struct {
	phone  bool
	name   i18n.Message
	offset int
	magics []string
}{
	{true, i18n.Say("an Ogg file"), 0, []string{"OggS"}},
	{true, i18n.Say("an MP3 file"), 0, []string{"ID3", "\xFF\xFB", "\xFF\xF3", "\xFF\xF2"}},
	{true, i18n.Say("an AAC file"), 0, []string{"\xFF\xF1", "\xFF\xF9"}},
	{true, i18n.Say("an AMR file"), 0, []string{"#!AMR"}},
	{true, i18n.Say("a WebM file"), 0, []string{"\x1A\x45\xDF\xA3"}},
	{true, i18n.Say("an MP4 or M4A file"), 4, []string{"ftyp"}},
	{false, i18n.Say("a Core Audio file"), 0, []string{"caff"}},
	{false, i18n.Say("a Wave64 file"), 0, []string{"riff\x2E\x91\xCF\x11"}},
	{false, i18n.Say("a MIDI file"), 0, []string{"MThd"}},
	{false, i18n.Say("an AU file"), 0, []string{".snd"}},
	{false, i18n.Say("an AIFF file"), 8, []string{"AIFF", "AIFC"}},
	{false, i18n.Say("an AVI film"), 8, []string{"AVI "}},
	{false, i18n.Say("a picture"), 8, []string{"WEBP"}},
	{false, i18n.Say("a picture"), 0, []string{"\x89PNG", "\xFF\xD8\xFF"}},
	{false, i18n.Say("a ZIP archive"), 0, []string{"PK\x03\x04"}},
}

// refusal says what a file that starts with top is if it is not a WAV file, and
// is nil for a WAV file.
func refusal(top []byte) error {
	for _, k := range kinds {
		begins := func(magic string) bool { return strings.HasPrefix(string(top[min(k.offset, len(top)):]), magic) }
		switch {
		case !slices.ContainsFunc(k.magics, begins):
		case k.phone:
			return i18n.Errorf("is %s, which blurs the moment of a hit: record as WAV or FLAC, or if you must, convert it first, as ffmpeg -i recording.m4a take.wav does", k.name)
		default:
			return i18n.Errorf("is %s, neither WAV nor FLAC: export it as PCM WAV (16 or 24 bit) and open that", k.name)
		}
	}
	if len(top) < 4 || !slices.Contains(outer, string(top[:4])) {
		return i18n.Errorf("is neither a WAV nor a FLAC file: export the take as PCM WAV (16 or 24 bit) and open that")
	}
	if len(top) < 12 {
		return i18n.Errorf("breaks off inside its header: copy it from the recorder again or record the take again")
	}
	if string(top[8:12]) != "WAVE" {
		return i18n.Errorf("is a RIFF file but holds no WAVE sound: export the take as PCM WAV (16 or 24 bit) and open that")
	}
	return nil
}

// codings names the format tags of the IANA WAVE codec registry (RFC 2361) that
// recorders, telephones and exporters are likely to use.
var codings = map[uint16]i18n.Message{
	0x0002: i18n.Say("ADPCM-coded"),
	0x0006: i18n.Say("A-law"),
	0x0007: i18n.Say("mu-law"),
	0x0011: i18n.Say("IMA-ADPCM-coded"),
	0x0031: i18n.Say("GSM-coded"),
	0x0050: i18n.Say("MPEG-coded"),
	0x0055: i18n.Say("MPEG-coded"),
}
