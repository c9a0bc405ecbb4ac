package plotting

import (
	"strconv"
	"strings"
	"time"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
)

// readingsHead names the columns of the table of readings.
var readingsHead = []string{"take", "date", "file", "song", "target_bpm", "played_bpm", "voice", "setting",
	"lag_ms", "ci_low_ms", "ci_high_ms", "as_played_ms", "jitter_ms", "pairs_used", "pairs", "outcome", "left_out", "warnings"}

// ReadingsCSV returns the readings of a machine as a table: a row for each voice
// of each take, those left out among them, under a row of names. RFC 4180 in
// UTF-8, with a point in numbers whatever the country. The date is RFC 3339 in
// UTC; setting is where the plate stood as far as the takes tell, in steps,
// positive = voice earlier; a positive lag is late, and as the list of takes has it: of the
// beat that all takes together tell, brought to the target tempo, beside the reading's own as played; warnings are the codes of `measure -json`
// with "; " between them. What is not known is empty.
func ReadingsCSV(v *loop.View) []byte { return readings(v, ',') }

// ReadingsText is the same with tabs between the cells, as spreadsheets take it
// from the clipboard.
func ReadingsText(v *loop.View) string { return string(readings(v, '\t')) }

func readings(v *loop.View, comma rune) []byte {
	rows := [][]string{readingsHead}
	for _, results := range v.Results {
		for _, r := range results {
			rows = append(rows, readingRow(r))
		}
	}
	return table(rows, comma)
}

// readingRow is the row of one voice of a take.
func readingRow(of loop.Result) []string {
	r, t := of.Reading, of.Take
	used := r.Used()
	known := func(v float64, least int) string {
		if used < least {
			return ""
		}
		return cell(v, 3)
	}
	played := ""
	if r.TempoBPM > 0 {
		played = cell(r.TempoBPM, 3)
	}
	var codes []string
	for _, w := range r.Warnings {
		codes = append(codes, clean(w.Code))
	}
	return []string{strconv.Itoa(t.ID), t.At.UTC().Format(time.RFC3339), clean(t.File), clean(t.Target.Song),
		cell(t.Target.TempoBPM, -1), played, clean(of.Voice), strconv.Itoa(of.Setting),
		known(of.LagMS, 1), known(of.LagMS-of.HalfMS, 2), known(of.LagMS+of.HalfMS, 2), known(r.LagMS, 1), known(r.JitterMS, 2),
		strconv.Itoa(used), strconv.Itoa(len(r.Pairs)), string(of.Outcome), strconv.FormatBool(t.LeftOut), strings.Join(codes, "; ")}
}

// SaveReadings writes the table of readings to path, whole or not at all.
func SaveReadings(path string, v *loop.View) error {
	if formatOf(path) != "csv" {
		return i18n.Errorf("cannot save the readings as %s: they are a table; let its name end in .csv", path)
	}
	if err := save(path, ReadingsCSV(v)); err != nil {
		return i18n.Errorf("cannot save the readings as %s: check that its folder is there, may be written to and has room: %w", path, err)
	}
	return nil
}
