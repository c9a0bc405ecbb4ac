package signal_test

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/must"
	"lagwright/internal/pagetest"
)

// TestHardTakeOfThePage holds what MEASURING.md shows of a hard take. A test of
// plotting draws the same one.
func TestHardTakeOfThePage(t *testing.T) {
	sound, truth := practice.Default().Play(practice.Play{TempoBPM: 96, Setting: 20, Hits: 14, Seed: 3, Disturb: practice.Disturb{
		ClunkDB: -9, LeakDB: -11, ClatterDB: -14, KnockDB: -6, KnocksPerS: 0.6, MissedShare: 0.1, DoubleShare: 0.15, HumDB: -20,
	}})
	var heard [2][]signal.Hit
	for i := range heard {
		heard[i] = must.Get(signal.Hits(t.Context(), sound, i+1))(t)
	}
	reference, voice := signal.Own(heard[0], heard[1]), signal.Own(heard[1], heard[0])
	r := must.Get(signal.Measure(t.Context(), sound, signal.Options{}))(t)
	row := func(what string, reference, voice int) []string {
		return []string{what, fmt.Sprint(reference), fmt.Sprint(voice)}
	}
	pagetest.Piece(t, "MEASURING.md", "steps", pagetest.Table(
		[]string{"hits", "reference", "voice"},
		row("heard in the channel by itself", len(heard[0]), len(heard[1])),
		row("once the other channel's leaks are out", len(reference), len(voice)),
		row("taken for strikes", len(r.ReferenceHitsS), len(r.VoiceHitsS)),
		row("struck in truth", len(truth.ReferenceHitsS), len(truth.VoiceHitsS)),
	))
	rows := [][]string{{"voice hits left out", "why"}}
	left := r.Rejected()
	for _, reason := range slices.Sorted(maps.Keys(left)) {
		rows = append(rows, []string{fmt.Sprint(left[reason]), reason})
	}
	pagetest.Piece(t, "MEASURING.md", "left", pagetest.Table(rows...))
	pagetest.Piece(t, "MEASURING.md", "lag", lagPiece(r, truth))
}

// lagPiece says how far the hard take's reading is from the truth.
func lagPiece(r calib.Reading, truth practice.Truth) string {
	var worst, sum float64
	for _, at := range r.VoiceHitsS {
		off := nearestMS(at, truth.VoiceHitsS)
		worst, sum = math.Max(worst, math.Abs(off)), sum+off
	}
	var codes []string
	for _, warning := range r.Warnings {
		codes = append(codes, "`"+warning.Code+"`")
	}
	warned := "without a warning"
	if len(codes) > 0 {
		warned = "with the warnings " + strings.Join(codes, ", ")
	}
	return fmt.Sprintf("The voice is %s, 95 %% between %.2f and %.2f ms, jitter %.2f ms, %s. The hits that were played lie %.3f ms from their beats; the strikes were picked %.3f ms off on average, %.3f ms at worst.\n",
		calib.LateEarly(r.LagMS), r.LagCI95MS[0], r.LagCI95MS[1], r.JitterMS, warned,
		truth.MeanLagMS, sum/float64(len(r.VoiceHitsS)), worst)
}

// nearestMS returns by how many ms a time lies after the nearest of others.
func nearestMS(at float64, others []float64) float64 {
	least := math.Inf(1)
	for _, o := range others {
		if off := 1000 * (at - o); math.Abs(off) < math.Abs(least) {
			least = off
		}
	}
	return least
}
