package take

import (
	"bytes"
	"slices"

	"lagwright/calib/i18n"
)

// outer are the names a WAV file may start with.
var outer = []string{"RIFF", "RIFX", "RF64", "BW64"}

// kinds are the first bytes of files that people mistake for WAV, as their
// formats' specifications give them. Those of phones and messengers leave out of the
// sound what few ears miss, and with it the moment of a hit.
var kinds = []struct {
	offset int
	magic  string
	phone  bool
	name   func() string
}{
	{0, "OggS", true, func() string { return i18n.L("an Ogg file") }},
	{0, "ID3", true, func() string { return i18n.L("an MP3 file") }},
	{0, "\xFF\xFB", true, func() string { return i18n.L("an MP3 file") }},
	{0, "\xFF\xF3", true, func() string { return i18n.L("an MP3 file") }},
	{0, "\xFF\xF2", true, func() string { return i18n.L("an MP3 file") }},
	{0, "\xFF\xF1", true, func() string { return i18n.L("an AAC file") }},
	{0, "\xFF\xF9", true, func() string { return i18n.L("an AAC file") }},
	{0, "#!AMR", true, func() string { return i18n.L("an AMR file") }},
	{0, "\x1A\x45\xDF\xA3", true, func() string { return i18n.L("a WebM file") }},
	{4, "ftyp", true, func() string { return i18n.L("an MP4 or M4A file") }},
	{0, "caff", false, func() string { return i18n.L("a Core Audio file") }},
	{0, "riff\x2E\x91\xCF\x11", false, func() string { return i18n.L("a Wave64 file") }},
	{0, "MThd", false, func() string { return i18n.L("a MIDI file") }},
	{0, ".snd", false, func() string { return i18n.L("an AU file") }},
	{8, "AIFF", false, func() string { return i18n.L("an AIFF file") }},
	{8, "AIFC", false, func() string { return i18n.L("an AIFF file") }},
	{8, "AVI ", false, func() string { return i18n.L("an AVI film") }},
	{8, "WEBP", false, func() string { return i18n.L("a picture") }},
	{0, "\x89PNG", false, func() string { return i18n.L("a picture") }},
	{0, "\xFF\xD8\xFF", false, func() string { return i18n.L("a picture") }},
	{0, "PK\x03\x04", false, func() string { return i18n.L("a ZIP archive") }},
}

// refusal says what a file that starts with top is if it is not a WAV file, and
// is nil for a WAV file.
func refusal(top []byte) error {
	for _, k := range kinds {
		switch {
		case len(top) < k.offset || !bytes.HasPrefix(top[k.offset:], []byte(k.magic)):
		case k.phone:
			return i18n.Errorf("is %s, which blurs the moment of a hit: record as WAV or FLAC, or if you must, convert it first, as ffmpeg -i recording.m4a take.wav does", k.name())
		default:
			return i18n.Errorf("is %s, neither WAV nor FLAC: export it as PCM WAV (16 or 24 bit) and open that", k.name())
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

// coding names the format tags of the IANA WAVE codec registry (RFC 2361) that
// recorders, telephones and exporters are likely to use.
func coding(tag uint16) string {
	switch tag {
	case 0x0002:
		return i18n.L("ADPCM-coded")
	case 0x0006:
		return i18n.L("A-law")
	case 0x0007:
		return i18n.L("mu-law")
	case 0x0011:
		return i18n.L("IMA-ADPCM-coded")
	case 0x0031:
		return i18n.L("GSM-coded")
	case 0x0050, 0x0055:
		return i18n.L("MPEG-coded")
	}
	return ""
}
