package plotting

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"time"
)

// csv is the card as a table, a line a song under a heading, with a point in
// numbers whatever the country (RFC 4180, but lines end as Unix has it). What is
// unknown is empty.
func (c Card) csv() []byte {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf) // of a buffer, which takes everything
	w.Write([]string{"song", "tempo_bpm", "voice", "setting_steps", "move_steps",
		"window_low_bpm", "window_high_bpm", "lag_ms", "rest_ms", "verified", "date"})
	for _, line := range c.Lines {
		w.Write(line.record())
	}
	w.Flush()
	return buf.Bytes()
}

func (s Settled) record() []string {
	low, high := cell(s.WindowBPM[0], 1), cell(s.WindowBPM[1], 1)
	if s.WindowBPM == [2]float64{} {
		low, high = "", ""
	}
	rest := ""
	if s.RestMS > 0 {
		rest = cell(s.RestMS, 2)
	}
	date := ""
	if !s.Date.IsZero() {
		date = s.Date.Format(time.DateOnly)
	}
	return []string{clean(s.Song), cell(s.TempoBPM, -1), clean(s.Voice), strconv.Itoa(s.SettingSteps), strconv.Itoa(s.MoveSteps),
		low, high, cell(s.LagMS, 2), rest, strconv.FormatBool(s.Verified), date}
}

// cell writes a number with so many decimals, -1 for as many as it takes.
func cell(v float64, decimals int) string {
	if !finite(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
