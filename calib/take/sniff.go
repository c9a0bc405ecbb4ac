package take

import (
	"bytes"
	"slices"
)

// outer are the names a WAV file may start with.
var outer = []string{"RIFF", "RIFX", "RF64", "BW64"}

// kinds are the first bytes of files that people mistake for WAV, as their
// formats' specifications give them.
var kinds = []struct {
	offset int
	magic  string
	name   string
}{
	{0, "fLaC", "a FLAC file"},
	{0, "OggS", "an Ogg file"},
	{0, "ID3", "an MP3 file"},
	{0, "\xFF\xFB", "an MP3 file"},
	{0, "\xFF\xF3", "an MP3 file"},
	{0, "\xFF\xF2", "an MP3 file"},
	{0, "\xFF\xF1", "an AAC file"},
	{0, "\xFF\xF9", "an AAC file"},
	{0, "caff", "a Core Audio file"},
	{0, "riff\x2E\x91\xCF\x11", "a Wave64 file"},
	{0, "MThd", "a MIDI file"},
	{0, ".snd", "an AU file"},
	{4, "ftyp", "an MP4 or M4A file"},
	{8, "AIFF", "an AIFF file"},
	{8, "AIFC", "an AIFF file"},
	{8, "AVI ", "an AVI film"},
	{8, "WEBP", "a picture"},
	{0, "\x89PNG", "a picture"},
	{0, "\xFF\xD8\xFF", "a picture"},
	{0, "PK\x03\x04", "a ZIP archive"},
}

// refusal says what a file that starts with top is if it is not a WAV file, and
// is empty for a WAV file.
func refusal(top []byte) string {
	for _, k := range kinds {
		if len(top) >= k.offset && bytes.HasPrefix(top[k.offset:], []byte(k.magic)) {
			return "is " + k.name + ", not a WAV file: export it as PCM WAV (16 or 24 bit) and open that"
		}
	}
	if len(top) < 4 || !slices.Contains(outer, string(top[:4])) {
		return "is not a WAV file: export the take as PCM WAV (16 or 24 bit) and open that"
	}
	if len(top) < 12 {
		return "breaks off inside its header: copy it from the recorder again or record the take again"
	}
	if string(top[8:12]) != "WAVE" {
		return "is a RIFF file but holds no WAVE sound: export the take as PCM WAV (16 or 24 bit) and open that"
	}
	return ""
}

// coding names the format tags of the IANA WAVE codec registry (RFC 2361) that
// recorders, telephones and exporters are likely to use.
func coding(tag uint16) string {
	switch tag {
	case 0x0002:
		return "ADPCM-coded"
	case 0x0006:
		return "A-law"
	case 0x0007:
		return "mu-law"
	case 0x0011:
		return "IMA-ADPCM-coded"
	case 0x0031:
		return "GSM-coded"
	case 0x0050, 0x0055:
		return "MPEG-coded"
	}
	return ""
}
