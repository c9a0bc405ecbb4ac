package plotting

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"slices"
	"strconv"
	"time"
)

// csv is the card as a table, a line a song under a heading, with a point in
// numbers whatever the country (RFC 4180, but lines end as Unix has it). What is
// unknown is empty. After lag_voice, whose lag lag_ms is, each voice has two
// columns of its own.
func (c Card) csv() []byte {
	head := []string{"song", "tempo_bpm", "voice", "setting_steps", "move_steps",
		"window_low_bpm", "window_high_bpm", "lag_ms", "rest_ms", "verified", "date", "lag_voice"}
	voices := c.voices()
	for _, voice := range voices {
		head = append(head, clean(voice)+" lag_ms", clean(voice)+" rest_ms")
	}
	rows := [][]string{head}
	for _, line := range c.Lines {
		rows = append(rows, append(line.record(), line.restRecord(voices)...))
	}
	return table(rows, ',', false)
}

// table writes rows as RFC 4180 has them, with lines that end as it wants or as Unix has
// it.
func table(rows [][]string, comma rune, crlf bool) []byte {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	w.Comma, w.UseCRLF = comma, crlf
	w.WriteAll(rows) // to a buffer, which takes everything
	return buf.Bytes()
}

// voices are the voices of which something is known, in the order of the lines.
func (c Card) voices() []string {
	var all []string
	for _, line := range c.Lines {
		for _, rest := range line.Rests {
			if !slices.Contains(all, rest.Voice) {
				all = append(all, rest.Voice)
			}
		}
	}
	return all
}

func (s Settled) record() []string {
	low, high := cell(s.WindowBPM[0], 1), cell(s.WindowBPM[1], 1)
	if s.WindowBPM == [2]float64{} {
		low, high = "", ""
	}
	date := ""
	if !s.Date.IsZero() {
		date = s.Date.Format(time.DateOnly)
	}
	whose := cmp.Or(s.LagVoice, s.Voice)
	if !finite(s.LagMS) {
		whose = ""
	}
	return []string{clean(s.Song), cell(s.TempoBPM, -1), clean(s.Voice), strconv.Itoa(s.SettingSteps), strconv.Itoa(s.MoveSteps),
		low, high, cell(s.LagMS, 2), halfCell(s.RestMS), strconv.FormatBool(s.Verified), date, clean(whose)}
}

// restRecord is what is left of each of the voices, empty where it is unknown.
func (s Settled) restRecord(voices []string) []string {
	var cells []string
	for _, voice := range voices {
		lag, rest := "", ""
		for _, one := range s.Rests {
			if one.Voice == voice {
				lag, rest = cell(one.LagMS, 2), halfCell(one.RestMS)
			}
		}
		cells = append(cells, lag, rest)
	}
	return cells
}

// halfCell writes half an interval; none is unknown.
func halfCell(v float64) string {
	if v > 0 {
		return cell(v, 2)
	}
	return ""
}

// cell writes a number with so many decimals, -1 for as many as it takes.
func cell(v float64, decimals int) string {
	if !finite(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
