package machine

import (
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"lagwright/calib/i18n"
)

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
