package machine

import (
	"cmp"
	"errors"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"pgregory.net/rapid"

	"lagwright/internal/boundedtest"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

var csvVoices = []string{"drum", "elm, left", `the "bar"`}

// readSongs reads all of a text, or none of it.
func readSongs(text string) ([]Song, error) {
	read, err := ReadSongs(strings.NewReader(text), csvVoices)
	if err = cmp.Or(err, errors.Join(read.Wrong...)); err != nil {
		return nil, err
	}
	return read.Songs, nil
}

func writeSongs(t must.Test, songs []Song) string {
	t.Helper()
	var b strings.Builder
	must.Do(t, WriteSongs(&b, songs))
	return b.String()
}

func TestWriteSongs(t *testing.T) {
	got := writeSongs(t, []Song{
		{Name: "Mill Waltz", TempoBPM: 92.5},
		{Name: `Weir, "slow"; 2`, TempoBPM: 120, Voices: []string{"drum", "elm, left"}, Importance: 2},
	})
	want := "song,tempo_bpm,voices,importance\n" +
		"Mill Waltz,92.5,,0\n" +
		"\"Weir, \"\"slow\"\"; 2\",120,\"drum; elm, left\",2\n"
	if got != want {
		t.Errorf("written as\n%s\nwant\n%s", got, want)
	}
	wantSentence(t, WriteSongs(io.Discard, []Song{{Name: "x", TempoBPM: 90, Voices: []string{"a;b"}}}), "a;b", "semicolon")
}

// Whatever a spreadsheet makes of a set list, it is the same one.
func TestReadSongsAsSpreadsheetsWriteThem(t *testing.T) {
	want := []Song{
		{Name: "Mill Waltz", TempoBPM: 92.5, Voices: []string{"drum", "elm, left"}, Importance: 1.5},
		{Name: "Weir", TempoBPM: 120},
	}
	cases := map[string]string{
		"as exported":       writeSongs(t, want),
		"semicolons":        "song;tempo_bpm;voices;importance\nMill Waltz;92.5;\"drum; elm, left\";1.5\nWeir;120;;0\n",
		"decimal commas":    "song;tempo_bpm;voices;importance\nMill Waltz;92,5;\"drum;elm, left\";1,5\nWeir;120,0;;\n",
		"quoted commas":     "song,tempo_bpm,voices,importance\nMill Waltz,\"92,5\",\"drum; elm, left\",\"1,5\"\nWeir,120,,\n",
		"mark and CRLF":     "\ufeffsong,tempo_bpm,voices,importance\r\nMill Waltz,92.5,\"drum; elm, left\",1.5\r\nWeir,120,,\r\n",
		"no last new line":  "song,tempo_bpm,voices,importance\nMill Waltz,92.5,\"drum; elm, left\",1.5\nWeir,120",
		"other order":       "importance,voices,tempo_bpm,song\n1.5,\"drum; elm, left\",92.5,Mill Waltz\n,,120,Weir\n",
		"further columns":   "no,song,tempo_bpm,key,voices,importance,\n1,Mill Waltz,92.5,G,\"drum; elm, left\",1.5,\n2,Weir,120,,,,\n",
		"blank rows":        "\n,,,\nsong,tempo_bpm,voices,importance\n,,,\nMill Waltz,92.5,\"drum; elm, left\",1.5\n\nWeir,120,,\n,,,\n",
		"capitals, spaces":  "Song , Tempo BPM, Voices, Importance\n Mill  Waltz , 92.5 , \"drum; elm, left\", 1.5\nWeir, 120,,\n",
		"tabs":              "song\ttempo_bpm\tvoices\timportance\nMill Waltz\t92,5\tdrum; elm, left\t1,5\nWeir\t120\t\t\n",
		"as people write":   "No.,Title,Tempo (BPM),Voice,Weight\n1,Mill Waltz,92.5 BPM,\"drum; elm, left\",1.5\n2,Weir,♩ = 120,,\n",
		"in German":         "Titel;BPM;Stimmen;Gewicht\nMill Waltz;92,5;\"drum; elm, left\";1,5\nWeir;120 bpm;;\n",
		"in Swedish":        "Låt;Tempo i BPM;Stämmor;Vikt\nMill Waltz;92,5;\"drum;elm, left\";1,5\nWeir;120;;\n",
		"in French":         "Morceau;Tempo BPM;Voix;Priorité;Tonalité\nMill Waltz;92,5;\"drum;elm, left\";1,5;sol\nWeir;120;;;\n",
		"in Japanese":       "曲名,テンポ（ＢＰＭ）,発音体,重要度\nMill Waltz,９２．５,\"drum; elm, left\",1.5\nWeir,１２０,,\n",
		"a name over lines": "song,tempo_bpm,voices,importance\n\"Mill\r\nWaltz\",92.5,\"drum; elm, left\",1.5\nWeir,120,,\n",
	}
	for name, text := range cases {
		if got, err := readSongs(text); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
	short := []Song{{Name: "Weir", TempoBPM: 120}}
	for _, text := range []string{"song,tempo_bpm\nWeir,120\n", "song;tempo_bpm\nWeir;120\n"} {
		if got, err := readSongs(text); err != nil || !reflect.DeepEqual(got, short) {
			t.Errorf("%q: %+v, %v", text, got, err)
		}
	}
	if got, err := readSongs("song,tempo_bpm\n"); err != nil || len(got) != 0 {
		t.Errorf("a header alone: %v, %v", got, err)
	}
}

// What is not understood is said: the columns by their names, the rows by line; the rest
// is read.
func TestReadSongsSaysWhatItDidNotUnderstand(t *testing.T) {
	text := "Titel,Name,Key,,Tempo (BPM)\nWeir,x,G,,120\nMill,x,D,,fast\n\nRace,x,D,,96\n,x,,,80\n"
	read, err := ReadSongs(strings.NewReader(text), csvVoices)
	if err != nil || len(read.Songs) != 2 || read.Songs[1].Name != "Race" || !slices.Equal(read.Ignored, []string{"Name", "Key"}) || len(read.Wrong) != 2 {
		t.Fatalf("%+v, %v", read, err)
	}
	wantSentence(t, read.Wrong[0], "line 3", `"fast" in the column Tempo (BPM)`)
	wantSentence(t, read.Wrong[1], "line 6", "no name")
	read, err = ReadSongs(strings.NewReader("song,bpm\n"+strings.Repeat("Weir,x\n", 50)), csvVoices)
	if err != nil || len(read.Wrong) != mostWrong || read.More != 50-mostWrong {
		t.Errorf("%d rows are told and %d more, %v", len(read.Wrong), read.More, err)
	}
}

// No word stands for two columns.
func TestHeadingWordsAreUnique(t *testing.T) {
	of := map[string]string{}
	for column, words := range headingWords {
		for _, word := range append(strings.Fields(words), column) {
			if other, twice := of[word]; twice && other != column {
				t.Errorf("%s heads %s and %s", word, column, other)
			}
			if of[word] = column; columnOf(word) != column {
				t.Errorf("%s is not understood as %s, but as %q", word, column, columnOf(word))
			}
		}
	}
}

func TestReadSongsRefuses(t *testing.T) {
	const head = "song,tempo_bpm,voices,importance\nMill Waltz,92,,\n\n"
	cases := []struct {
		text string
		says []string
	}{
		{"", []string{"empty"}},
		{"\n,,\n", []string{"empty"}},
		{"Mill Waltz,92\n", []string{"line 1", "no column song (found: Mill Waltz, 92)"}},
		{"song,key\n", []string{"line 1", "no column tempo_bpm"}},
		{"song" + strings.Repeat(",", mostColumns), []string{"line 1", "1001 columns"}},
		{head + "Weir,fast,,\n", []string{"line 4", `"fast"`, "tempo_bpm"}},
		{head + "Weir,,,\n", []string{"line 4", "no tempo"}},
		{head + "Weir,1200,,\n", []string{"line 4", "1200 BPM"}},
		{head + "Weir,NaN,,\n", []string{"line 4", "BPM"}},
		{head + ",92,,\n", []string{"line 4", "no name"}},
		{head + "Weir,92,bell,\n", []string{"line 4", "bell", "semicolons"}},
		{head + "Weir,92,bell,\n\nMill,x,,\nRace,y,,\n", []string{"line 4", "bell", "line 6"}},
		{head + "Weir,92,drum; drum,\n", []string{"line 4", "twice"}},
		{head + "Weir,92,,much\n", []string{"line 4", `"much"`, "importance"}},
		{head + "Weir,92,,-1\n", []string{"line 4", "importance is -1"}},
		{head + "Weir,92,,,drum\n", []string{"line 4", "5 columns"}},
		{head + "\"Weir,92\n", []string{"line 4", "quotation marks"}},
		{head + "We\"ir,92\n", []string{"line 4", "quotation marks"}},
		{"song,tempo_bpm\nM\xfchle,92\n", []string{"not plain text", "UTF-8"}},
		{"s\x00o\x00n\x00g\x00", []string{"not plain text"}},
		{strings.Repeat("x", mostCSV+1), []string{"too large"}},
	}
	for _, c := range cases {
		got, err := readSongs(c.text)
		wantSentence(t, err, c.says...)
		if got != nil {
			t.Errorf("%q: gives songs beside an error", c.text[:min(len(c.text), 80)])
		}
	}
	broken := errors.New("the disk went away")
	if _, err := ReadSongs(iotest.ErrReader(broken), nil); !errors.Is(err, broken) {
		t.Errorf("a reader's error becomes %v", err)
	}
}

func TestSongsComeBackFromCSV(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		songs := rapid.SliceOf(rapid.Custom(func(t *rapid.T) Song {
			s := Song{
				Name:       "n" + strings.ToValidUTF8(rapid.String().Draw(t, "name"), "?"),
				TempoBPM:   rapid.Float64Range(MinTempoBPM, MaxTempoBPM).Draw(t, "tempo"),
				Importance: rapid.Float64Range(0, MostImportance).Draw(t, "importance"),
			}.tidy()
			for _, v := range csvVoices {
				if rapid.Bool().Draw(t, "voice") {
					s.Voices = append(s.Voices, v)
				}
			}
			return s
		})).Draw(t, "songs")
		got, err := readSongs(writeSongs(t, songs))
		if err != nil || !reflect.DeepEqual(got, songs) && len(got)+len(songs) > 0 {
			t.Fatalf("%+v came back as %+v, %v", songs, got, err)
		}
	})
}

func FuzzReadSongs(f *testing.F) {
	for _, seed := range []string{
		"song,tempo_bpm,voices,importance\nMill Waltz,92.5,\"drum; elm, left\",1.5\n",
		"\ufeffsong;tempo_bpm\r\n\"We\"\"ir\";120,5\r\n;;\r\n", "tempo_bpm,song\n1e2,\"a\nb\"", "song", "\"",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		boundedtest.Check(t, len(text), boundedtest.Bounds{Fixed: 1 << 20, PerByte: 1000, TimeEach: 2 * time.Microsecond}, func() {
			songs, err := readSongs(text)
			if err != nil {
				if songs != nil || len(err.Error()) < 20 {
					t.Errorf("%d songs and %q", len(songs), err)
				}
				return
			}
			again, err := readSongs(writeSongs(t, songs))
			if err != nil || !reflect.DeepEqual(again, songs) {
				t.Errorf("%+v came back as %+v, %v", songs, again, err)
			}
		})
	})
}
