package session

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

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

// ReadSongs reads a set list from CSV for a machine with the given voices: all of
// it, or none and an error that names the line. The header row says which column
// is which; voices and importance may be missing, other columns are passed over.
// Columns may be separated by semicolons, numbers may have a decimal comma, and
// the text may begin with a byte-order mark.
func ReadSongs(r io.Reader, voices []string) ([]Song, error) {
	text, err := readText(r)
	if err != nil {
		return nil, err
	}
	in := csv.NewReader(bytes.NewReader(text))
	in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = separator(text), -1, true
	var head columns
	songs := []Song{}
	for {
		row, err := in.Read()
		switch {
		case err == io.EOF && head == nil:
			return nil, i18n.Errorf("it is empty: its first row must name the columns %s and %s", songColumn, tempoColumn)
		case err == io.EOF:
			return songs, nil
		case err != nil:
			return nil, badRow(err)
		}
		line, _ := in.FieldPos(0)
		if err := head.take(row, voices, &songs); err != nil {
			return nil, i18n.Errorf("line %d: %w", line, err)
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
	if bytes.Count(head, []byte(";")) > bytes.Count(head, []byte(",")) {
		return ';'
	}
	return ','
}

// badRow says where the text is no CSV.
func badRow(err error) error {
	var bad *csv.ParseError
	if !errors.As(err, &bad) {
		return err
	}
	return i18n.Errorf("line %d: its quotation marks do not match: put a name with one in quotation marks and double those inside", bad.Line)
}

// columns are the names of the columns of a set list, as the header row has them.
type columns []string

// take takes the next row: the header, then one song each. Rows without anything
// in them, as spreadsheets leave them, are passed over.
func (c *columns) take(row, voices []string, songs *[]Song) error {
	if !slices.ContainsFunc(row, func(s string) bool { return strings.TrimSpace(s) != "" }) {
		return nil
	}
	if *c == nil {
		return c.name(row)
	}
	song, err := c.song(row)
	if err == nil {
		err = song.validate(voices)
	}
	*songs = append(*songs, song)
	return err
}

// name reads the header row.
func (c *columns) name(row []string) error {
	if len(row) > mostColumns {
		return i18n.Errorf("it has %d columns: no set list needs so many, choose another file", len(row))
	}
	for i, name := range row {
		name = strings.ToLower(strings.Join(strings.Fields(name), "_"))
		if name != "" && slices.Contains(*c, name) {
			return i18n.Errorf("two columns are called %q: each name may stand once", row[i])
		}
		*c = append(*c, name)
	}
	for _, needed := range []string{songColumn, tempoColumn} {
		if !slices.Contains(*c, needed) {
			return i18n.Errorf("there is no column %s: the first row must name the columns %s and %s", needed, songColumn, tempoColumn)
		}
	}
	if slices.Contains(*c, "voice") && !slices.Contains(*c, voicesColumn) {
		return i18n.Errorf("its voices are in a column called voice, as on a saved card: call it %s, with semicolons between them", voicesColumn)
	}
	return nil
}

// song reads the row of a song.
func (c columns) song(row []string) (Song, error) {
	if len(row) > len(c) {
		return Song{}, i18n.Errorf("it has %d columns where the first row names %d: put what holds the separator in quotation marks", len(row), len(c))
	}
	s := Song{Name: c.cell(row, songColumn), Voices: splitVoices(c.cell(row, voicesColumn))}.tidy()
	var err error
	if s.TempoBPM, err = number(c.cell(row, tempoColumn), tempoColumn); err != nil {
		return Song{}, err
	}
	if cell := c.cell(row, importanceColumn); cell != "" {
		s.Importance, err = number(cell, importanceColumn)
	}
	return s, err
}

// cell returns what stands in a column; nothing where the row is too short or
// there is no such column.
func (c columns) cell(row []string, name string) string {
	i := slices.Index(c, name)
	if i < 0 || i >= len(row) {
		return ""
	}
	return strings.TrimSpace(row[i])
}

// number reads a number with a decimal point or comma.
func number(cell, column string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(cell, ",", ".", 1), 64)
	if err != nil {
		return 0, i18n.Errorf("%q in the column %s is not a number", cell, column)
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
