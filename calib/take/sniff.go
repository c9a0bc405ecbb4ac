package take

import (
	"slices"
	"strings"

	"lagwright/calib/i18n"
)

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
