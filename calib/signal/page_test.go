package signal

import (
	"fmt"
	"testing"

	"lagwright/internal/pagetest"
)

// TestConstantsOfThePage holds the tables of constants in MEASURING.md.
func TestConstantsOfThePage(t *testing.T) {
	type constant struct {
		name  string
		value any
		is    string
	}
	for piece, constants := range map[string][]constant{
		"trigger": {
			{"lowHz", lowHz, "corner of the high-pass, Hz: above rumble"},
			{"highHz", highHz, "corner of the low-pass, Hz"},
			{"shortS", shortS, "time constant of the short-term energy, s"},
			{"longS", longS, "of the long-term energy, s"},
			{"triggerOn", triggerOn, "ratio at which a candidate begins"},
			{"triggerOff", triggerOff, "ratio below which the next one may"},
			{"blockS", blockS, "length of the blocks whose energies tell the noise floor, s"},
		},
		"choose": {
			{"leastDB", leastDB, "dB above the noise floor, and above what sounded before, for a hit"},
			{"gapDB", gapDB, "dB between two groups of sounds, at least"},
			{"spreadDB", spreadDB, "dB below the loudest hits to which no gap counts"},
			{"weakestDB", weakestDB, "dB below them beneath which nothing is a hit, whatever the gap"},
			{"knockS", knockS, "s from one knock to the next, on average, at least"},
			{"knockOne", knockOne, "of so many sounds, at least, one may be a knock"},
			{"usualDB", usualDB, "the same where no gap shows"},
		},
		"pick": {
			{"noiseS", noiseS, "s of sound before a candidate that teach its noise"},
			{"guardS", guardS, "s of them, the last, that are not heard: they may be the hit"},
			{"beforeS", beforeS, "s before the trigger, at most, where the onset lies"},
			{"afterS", afterS, "s after the trigger in which the attack is over"},
			{"narrowS", narrowS, "s beyond the first pick that a second look sees"},
			{"nothing", nothing, "share of the strike's peak energy: what is weaker is no part of it, however quiet the room"},
			{"evidence", evidence, "log-likelihood ratio below which a second look tells nothing"},
		},
		"leak": {
			{"leakEarlyS", leakEarlyS, "s, at most, by which a leak is picked before the hit it comes from"},
			{"leakLateS", leakLateS, "s, at most, after it"},
			{"leakWideDB", leakWideDB, "dB that the leaks of a channel differ by, about one difference to their hits"},
			{"leakLoudDB", leakLoudDB, "dB by which a channel's own hits are louder"},
			{"leakSteady", leakSteady, "s by which a leak's delay varies"},
		},
		"unleak": {
			{"leakSpanS", leakSpanS, "s that the filter spans"},
			{"lessonMost", lessonMost, "hits that teach it, at most"},
			{"explains", explains, "share of such a hit's energy that the leak alone must explain"},
		},
		"align": {
			{"alike", alike, "correlation below which a hit keeps its own pick"},
			{"fewAlike", fewAlike, "hits that make an average"},
			{"modelMost", modelMost, "hits that make the average, and are kept in memory, at most"},
		},
		"pair": {
			{"reachPeriods", reachPeriods, "periods from the common lag, beyond which a voice hit has no reference hit"},
			{"bounceS", bounceS, "s after a strike in which shot rebounds, or a second ball falls"},
			{"bounceDB", bounceDB, "dB by which a rebound is weaker, at least"},
			{"gateSD", gateSD, "standard deviations of the lags near the common one, beyond which a pair is left out"},
			{"gateLeast", gateLeast, "the same in s, at least"},
		},
	} {
		rows := [][]string{{"in calib/signal/" + piece + ".go", "value", "what it is"}}
		for _, c := range constants {
			rows = append(rows, []string{"`" + c.name + "`", fmt.Sprint(c.value), c.is})
		}
		pagetest.Piece(t, "MEASURING.md", piece, pagetest.Table(rows...))
	}
	pagetest.Says(t, "../LAW.md", "0.07 ms for each of the two", pickS == 0.00007)
	pagetest.Says(t, "../LAW.md", "an eighth of its peak, which counts up to 0.5 ms", riseShare == 1.0/8 && riseMostS == 0.0005)
	pagetest.Says(t, "../LAW.md", "5 ms earlier, where what sounded before may hide a first stage, with twice the square", hiddenS == 0.005 && weakly == 2)
	pagetest.Says(t, "MEASURING.md", "the odds are 2 to 1 for the aligned ones times (J of the picks / J of the aligned)^(2n/3)", alignOdds == 2 && alignFree == 2.0/3)
	pagetest.Says(t, "MEASURING.md", "one chance in five begin more than 2 ms elsewhere", farMost == 0.2 && farS == 0.002)
}
