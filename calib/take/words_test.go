package take

import (
	"os"
	"path/filepath"
	"testing"

	"lagwright/calib"
	"lagwright/internal/i18ntest"
	"lagwright/internal/must"
)

// What is wrong with a file is told by phrases, but for its name and what the
// system says; warnings are kept in English.
func TestFilesAreTold(t *testing.T) {
	dir := t.TempDir()
	i18ntest.Use(t)
	var texts []string
	whole := flacBytes(t)
	wrong := append([]byte(nil), whole...)
	wrong[26] ^= 1 // the checksum
	silent := must.Get(os.ReadFile(packedBy(t, save(t, wavOf(1, 48000, 16, make([]int64, 1_000_000))))))(t)
	for i, data := range [][]byte{
		whole[:20], whole[:len(whole)-9], wrong, silent, []byte("OggS............"), []byte("PK\x03\x04............"),
		nil, []byte("x"), []byte("fLaC is no WAV file"), []byte("RIFFxxxxWAVX...."), []byte("RIFF1234"), riff(pcm(1, 48000, 16)), riff(chunk("data", []byte{0, 0})),
		riff(pcm(1, 48000, 16), chunk("data", nil)), riff(pcm(0, 48000, 16), chunk("data", []byte{0, 0})), riff(pcm(1, 10, 16), chunk("data", []byte{0, 0})),
		cut(plain16(), 4), cut(plain16(), 3), sized(plain16(), dataSizeAt, 0),
		riff(extensible(2, 1, 48000, 4, 32, 32), chunk("data", floats(0.5, -0.5))), riff(float(1, 48000, 16), chunk("data", []byte{0, 0})),
	} {
		path := filepath.Join(dir, "crank.wav")
		must.Do(t, os.WriteFile(path, data, 0o600))
		f, err := Open(path)
		if err != nil {
			texts = append(texts, err.Error())
			continue
		}
		_, none := f.ReadAt(nil, 9, 0)
		_, before := f.ReadAt(nil, 1, -1)
		texts = append(texts, none.Error(), before.Error())
		for _, w := range f.Warnings() {
			if texts = append(texts, w.Words()); i18ntest.Bare(w.Text) != w.Text {
				t.Errorf("file %d: %q is kept", i, w.Text)
			}
		}
		f.Close()
		_, err = f.ReadAt(make([]float32, 1), 1, 0)
		texts = append(texts, err.Error())
	}
	for _, path := range []string{dir, filepath.Join(dir, "none.wav")} {
		_, err := Open(path)
		texts = append(texts, err.Error())
	}
	_, err := Create(filepath.Join(dir, "crank.mp3"), calib.Format{RateHz: 48000, Channels: 2})
	texts = append(texts, err.Error())
	_, err = Create(filepath.Join(dir, "crank.wav"), calib.Format{RateHz: 48000, Channels: 2})
	texts = append(texts, err.Error(), brokenSaid(), gapSaid(), noRoom(os.ErrPermission).Error())
	i18ntest.All(t, texts, dir, "crank.wav")
}

func brokenSaid() string {
	f := File{path: "crank.wav", form: format{rate: 48000, blockAlign: 6}}
	f.tellEnd(&scanner{growing: true})
	return f.warnings[0].Words()
}

func gapSaid() string {
	return gapText([]Gap{{Frame: 1, Lost: 2}, {Frame: 5, Lost: 2}, {Frame: 50, Lost: 2}, {Frame: 70, Lost: 2}, {Frame: 90, Lost: 2}}, 48000).String()
}
