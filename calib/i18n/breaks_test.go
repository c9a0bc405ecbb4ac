package i18n

import (
	"strings"
	"testing"
)

func TestPieces(t *testing.T) {
	for text, want := range map[string]string{
		"leave the plate":      "leave| the| plate",
		" two  spaces ":        "two| spaces",
		"板を 6 歩進める。":           "板|を| 6| 歩|進|め|る。",
		"声は「太鼓」です":             "声|は|「太|鼓」|で|す",
		"遅れ12.3 ms(84 BPM)、良い": "遅|れ|12.3| ms(84| BPM)、|良|い",
		"センサー":                 "セ|ン|サー",
		"":                     "",
	} {
		var got []string
		line := ""
		for _, p := range Pieces(text) {
			line = p.After(line)
			if p.Spaced && len(got) > 0 {
				p.Text = " " + p.Text
			}
			got = append(got, p.Text)
		}
		if strings.Join(got, "|") != want || line != strings.Join(strings.Fields(text), " ") {
			t.Errorf("%q: %q, joined again %q", text, got, line)
		}
	}
}
