package machine

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"lagwright/calib/i18n"
)

// The columns of a set list as CSV (RFC 4180), in the order they are written.
const (
	songColumn       = "song"
	tempoColumn      = "tempo_bpm"
	voicesColumn     = "voices"
	importanceColumn = "importance"
)

// voiceSeparator stands between the voices of a song.
const voiceSeparator = ";"

// A file of more bytes or columns is no set list.
const (
	mostCSV     = 1 << 20
	mostColumns = 1000
)

// WriteSongs writes a set list as CSV, in playing order under a header row. It
// refuses a voice whose name holds a semicolon, which stands between voices.
func WriteSongs(w io.Writer, songs []Song) error {
	out := csv.NewWriter(w)
	rows := [][]string{{songColumn, tempoColumn, voicesColumn, importanceColumn}}
	for _, s := range songs {
		for _, v := range s.Voices {
			if strings.Contains(v, voiceSeparator) {
				return i18n.Errorf("the voice %q of %q has a semicolon in its name, which stands between voices in a set list: it cannot be exported", v, s.Name)
			}
		}
		rows = append(rows, []string{s.Name, plainNumber(s.TempoBPM), strings.Join(s.Voices, voiceSeparator+" "), plainNumber(s.Importance)})
	}
	return out.WriteAll(rows)
}

func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// SongsRead is what a text says of songs.
type SongsRead struct {
	Songs   []Song
	Ignored []string // columns that it was not asked for or that are unknown, as the header row has them
	Wrong   []error  // rows that are no songs, each with its line and what to do; mostWrong at most
	More    int      // such rows beyond those
}

// mostWrong is how many rows are told one by one: who has more has another problem.
const mostWrong = 20

// ReadSongs reads a set list from CSV for a machine with the given voices. The header
// row says which column is which, in the words that people use for them in any language
// of the program (headingWords); voices and importance may be missing, other columns are
// passed over. Columns may be separated by semicolons or tabs, numbers may have a
// decimal comma or BPM behind them, and the text may begin with a byte-order mark. Rows
// that are not understood are told; the error is for a text that is no set list.
func ReadSongs(r io.Reader, voices []string) (SongsRead, error) {
	text, err := readText(r)
	if err != nil {
		return SongsRead{}, err
	}
	in := csv.NewReader(bytes.NewReader(text))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = separator(text), -1, true
	var head *columns
	read := SongsRead{Songs: []Song{}}
	for {
		row, err := in.Read()
		switch {
		case err == io.EOF && head == nil:
			return SongsRead{}, i18n.Errorf("it is empty: its first row must name the columns %s and %s", songColumn, tempoColumn)
		case err == io.EOF:
			return read, nil
		case err != nil:
			return SongsRead{}, badRow(err)
		case !slices.ContainsFunc(row, func(s string) bool { return strings.TrimSpace(s) != "" }):
			continue // as spreadsheets leave them
		}
		line, _ := in.FieldPos(0)
		if head == nil {
			if head, read.Ignored, err = headings(row); err != nil {
				return SongsRead{}, i18n.Errorf("line %d: %w", line, err)
			}
			continue
		}
		song, err := head.song(row)
		if err == nil {
			err = song.validate(voices)
		}
		switch {
		case err == nil:
			read.Songs = append(read.Songs, song)
		case len(read.Wrong) < mostWrong:
			read.Wrong = append(read.Wrong, i18n.Errorf("line %d: %w", line, err))
		default:
			read.More++
		}
	}
}

// readText reads all of a text in UTF-8, without its byte-order mark.
func readText(r io.Reader) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostCSV+1))
	if err != nil {
		return nil, err
	}
	if len(text) > mostCSV {
		return nil, i18n.Errorf("it is too large for a set list: choose another file")
	}
	if !utf8.Valid(text) || bytes.IndexByte(text, 0) >= 0 {
		return nil, i18n.Errorf("it is not plain text: save it as CSV in UTF-8")
	}
	return bytes.TrimPrefix(text, []byte("\ufeff")), nil
}

// separator returns what separates the columns of the header row.
func separator(text []byte) rune {
	head, _, _ := bytes.Cut(bytes.TrimLeft(text, "\r\n"), []byte("\n"))
	found, most := ',', bytes.Count(head, []byte(","))
	for _, r := range ";\t" {
		if n := bytes.Count(head, []byte(string(r))); n > most {
			found, most = r, n
		}
	}
	return found
}

// badRow says where the text is no CSV.
func badRow(err error) error {
	var bad *csv.ParseError
	if !errors.As(err, &bad) {
		return err
	}
	return i18n.Errorf("line %d: its quotation marks do not match: put a name with one in quotation marks and double those inside", bad.Line)
}

// columns are those of a set list: what each holds, in the words of WriteSongs, empty
// where that is nothing we know, and as whoever made the list calls it.
type columns struct{ hold, called []string }

// song reads the row of a song.
func (c columns) song(row []string) (Song, error) {
	if len(row) > len(c.hold) {
		return Song{}, i18n.Errorf("it has %d columns where the first row names %d: put what holds the separator in quotation marks", len(row), len(c.hold))
	}
	s := Song{Name: c.cell(row, songColumn), Voices: splitVoices(c.cell(row, voicesColumn))}.tidy()
	var err error
	if c.cell(row, tempoColumn) == "" {
		return Song{}, i18n.Errorf("it has no tempo")
	}
	if s.TempoBPM, err = c.number(row, tempoColumn); err != nil {
		return Song{}, err
	}
	if c.cell(row, importanceColumn) != "" {
		s.Importance, err = c.number(row, importanceColumn)
	}
	return s, err
}

// cell returns what stands in a column; nothing where the row is too short or
// there is no such column.
func (c columns) cell(row []string, name string) string {
	i := slices.Index(c.hold, name)
	if i < 0 || i >= len(row) {
		return ""
	}
	return strings.TrimSpace(row[i])
}

// number reads a number with a decimal point or comma, such as "92,5", "♩ = 92" and
// "92 BPM", also in wide letters.
func (c columns) number(row []string, name string) (float64, error) {
	cell := c.cell(row, name)
	plain := norm.NFKC.String(cell)
	plain = plain[strings.LastIndex(plain, "=")+1:]
	plain = strings.TrimSpace(strings.TrimSuffix(strings.ToLower(plain), "bpm"))
	v, err := strconv.ParseFloat(strings.Replace(plain, ",", ".", 1), 64)
	if err != nil {
		return 0, i18n.Errorf("%q in the column %s is not a number", cell, c.called[slices.Index(c.hold, name)])
	}
	return v, nil
}

func splitVoices(cell string) []string {
	var voices []string
	for _, v := range strings.Split(cell, voiceSeparator) {
		if v = strings.TrimSpace(v); v != "" {
			voices = append(voices, v)
		}
	}
	return voices
}

// headingWords are what people write over the columns of a set list, in the languages
// of the program: German, Swedish, French and Japanese after English. A word counts
// once its letters are small, and without what is no letter.
var headingWords = map[string]string{
	songColumn: "song songs title name tune piece track" +
		" titel stück lied musikstück werk" +
		" låt låtar låttitel namn stycke melodi" +
		" morceau morceaux titre chanson pièce nom air" +
		" 曲 曲名 曲目 題名 タイトル 楽曲",
	tempoColumn: "tempo bpm speed metronome beatsperminute" +
		" geschwindigkeit metronom schlägeprominute" +
		" hastighet slagperminut" +
		" vitesse métronome battementsparminute" +
		" テンポ 速さ 速度",
	voicesColumn: "voices voice instruments instrument" +
		" stimmen stimme instrumente" +
		" stämmor stämma" +
		" voix" +
		" 発音体 楽器",
	importanceColumn: "importance weight priority" +
		" wichtigkeit gewicht gewichtung priorität" +
		" betydelse vikt prioritet" +
		" poids priorité" +
		" 重要度 優先度",
}

// headings reads the header row. Columns that are unknown, or that hold what another
// one holds already, are ignored.
func headings(row []string) (c *columns, ignored []string, err error) {
	c = &columns{}
	if len(row) > mostColumns {
		return nil, nil, i18n.Errorf("it has %d columns: no set list needs so many, choose another file", len(row))
	}
	for _, heading := range row {
		column := columnOf(heading)
		if slices.Contains(c.hold, column) {
			column = ""
		}
		if heading = strings.TrimSpace(heading); column == "" && heading != "" {
			ignored = append(ignored, heading)
		}
		c.hold, c.called = append(c.hold, column), append(c.called, heading)
	}
	for _, needed := range []string{songColumn, tempoColumn} {
		if !slices.Contains(c.hold, needed) {
			return nil, nil, i18n.Errorf("there is no column %s (found: %s): the first row must name the columns %s and %s", needed, strings.Join(c.called, ", "), songColumn, tempoColumn)
		}
	}
	return c, ignored, nil
}

// columnOf returns what a heading such as "Tempo (BPM)" is over; empty where unknown.
func columnOf(heading string) string {
	letters := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || r == 'ー' { // which lengthens a vowel
			return unicode.ToLower(r)
		}
		return -1
	}, norm.NFKC.String(heading))
	for column, words := range headingWords {
		for _, unit := range []string{"", "bpm", "inbpm", "ibpm", "enbpm"} { // as in "Tempo in BPM"
			if plain, has := strings.CutSuffix(letters, unit); has && (unit == "" || column == tempoColumn) && slices.Contains(strings.Fields(words), plain) {
				return column
			}
		}
	}
	return ""
}
