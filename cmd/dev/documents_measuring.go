package main

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"lagwright/calib"
)

// measuringPieces are those of calib/signal/MEASURING.md.
var measuringPieces = map[string]piece{
	"trigger": constants("calib/signal/trigger.go",
		"lowHz = corner of the high-pass, Hz: above rumble", "higherHz = the same where tones fill that band, Hz", "highHz = corner of the low-pass, Hz",
		"shortS = time constant of the short-term energy, s", "longS = of the long-term energy, s",
		"triggerOn", "triggerOff = ratio below which the next one may", "blockS = length of the blocks whose energies tell the noise floor, s"),
	"choose": constants("calib/signal/choose.go", "leastDB = dB above the noise floor, and above what sounded before, for a hit",
		"gapDB = dB between two groups of sounds, at least", "spreadDB = dB below the loudest hits to which no gap counts", "weakestDB = dB below them beneath which nothing is a hit, whatever the gap",
		"usualDB = the same where no gap shows"),
	"pick": constants("calib/signal/pick.go", "noiseS = s of sound before a candidate that teach its noise", "guardS = s of them, the last, that are not heard: they may be the hit",
		"beforeS = s before the trigger, at most, where the onset lies", "afterS = s after the trigger in which the attack is over",
		"narrowS = s beyond the first pick that a second look sees", "evidence"),
	"leak": constants("calib/signal/leak.go", "leakEarlyS = s, at most, by which a leak is picked before the hit it comes from", "leakLateS = s, at most, after it",
		"leakWideDB = dB that the leaks of a channel differ by, about one difference to their hits", "leakLoudDB = dB by which a channel's own hits are louder",
		"leakSteady = s by which a leak's delay varies"),
	"unleak": constants("calib/signal/unleak.go", "leakSpanS = s that the filter spans", "lessonMost = hits that teach it, at most",
		"explains = share of such a hit's energy that the leak alone must explain", "believed = share of the energy of hits not learnt from that the filter must foretell",
		"residueDB = dB below what sounded there before: such a hit is what the filter left"),
	"align": constants("calib/signal/align.go", "alike", "mostlyAlike", "fewAlike", "modelMost"),
	"pair": constants("calib/signal/pair.go", "reachPeriods = periods from the common lag, beyond which a voice hit has no reference hit", "bounceS = s after a strike in which shot rebounds, or a second ball falls",
		"bounceDB = dB by which a rebound is weaker, at least", "gateSD = standard deviations of the lags near the common one, beyond which a pair is left out", "gateLeast = the same in s, at least"),
	"steps": stepsPiece,
	"left":  leftPiece,
	"lag":   lagPiece,
}

// stepsPiece counts the hard take's hits from step to step.
func stepsPiece(w *worked) (string, error) {
	count := func(n int) string { return fmt.Sprint(n) }
	return table(
		[]string{"hits", "reference", "voice"},
		[]string{"heard in the channel by itself", count(len(w.heard[0])), count(len(w.heard[1]))},
		[]string{"once the other channel's leaks are out", count(len(w.separated[0])), count(len(w.separated[1]))},
		[]string{"taken for strikes", count(len(w.reading.ReferenceHitsS)), count(len(w.reading.VoiceHitsS))},
		[]string{"struck in truth", count(len(w.truth.ReferenceHitsS)), count(len(w.truth.VoiceHitsS))},
	), nil
}

func leftPiece(w *worked) (string, error) {
	left := w.reading.Rejected()
	rows := [][]string{{"voice hits left out", "why"}}
	for _, reason := range slices.Sorted(maps.Keys(left)) {
		rows = append(rows, []string{fmt.Sprint(left[reason]), reason})
	}
	return table(rows...), nil
}

// lagPiece says how far the hard take's reading is from the truth.
func lagPiece(w *worked) (string, error) {
	r := w.reading
	var worst, sum float64
	for _, at := range r.VoiceHitsS {
		off := nearestMS(at, w.truth.VoiceHitsS)
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
		w.truth.MeanLagMS, sum/float64(len(r.VoiceHitsS)), worst), nil
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
