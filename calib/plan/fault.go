package plan

import "math"

// Kind is a kind of mistake that takes can show.
type Kind string

// The kinds of mistakes.
const (
	Fine       Kind = ""            // none
	Bad        Kind = "bad-take"    // the lag of one reading is off by no rule
	Miscounted Kind = "miscounted"  // the move was some steps more or fewer than told
	NotMoved   Kind = "not-moved"   // the plate did not engage
	WrongWay   Kind = "wrong-way"   // the move went the other way
	FallOther  Kind = "fall-other"  // gate or fall of a voice changed before this take
	PinOther   Kind = "pin-other"   // pins of a voice moved before this take
	PlateWrong Kind = "plate-wrong" // the step is not what the plate's numbers say
	Flipped    Kind = "flipped"     // every move goes the other way than its sign
	Backlash   Kind = "backlash"    // settings differ by the side they were reached from
)

// rates is how often each happens, by take, move or machine (common practice, no
// published source). They weigh as a prior does: what is rare needs more evidence.
var rates = map[Kind]float64{
	Fine:       1,
	Bad:        0.03,
	Miscounted: 0.01, // by one step, to either side
	NotMoved:   0.003,
	WrongWay:   0.004,
	FallOther:  0.001,
	PinOther:   0.001,
	PlateWrong: 0.02,
	Flipped:    0.005,
	Backlash:   0.05,
}

// twoSteps is how much rarer a miscount by two is than one by one.
const twoSteps = 0.1

// toldWrong is how often the number told is off by more steps than anybody miscounts
// (common practice, no published source): it was typed wrong, or the plate was turned
// by another person. Half of these are off by anything up to mostWrong; with the other
// half the plate went where it should, so that the voice is tight.
const (
	toldWrong = 0.002
	mostWrong = 20
)

// badSpreadMS is over how many ms the lags of bad takes scatter, evenly: some
// tens of ms either way. otherMS and otherBeats are by what a changed gate or fall
// moves a voice's delay, and moved pins its offset (all common practice, no
// published source).
const (
	badSpreadMS = 150.0
	otherMS     = 25.0
	otherBeats  = 0.03
)

// fault is one mistake that a way supposes, on a list with the ones before it.
type fault struct {
	kind   Kind
	take   int // index of the take
	voice  int // −1 = all
	steps  int // by which the plate stands further ahead than told
	before *fault
}

// slip is something that can happen to a move.
type slip struct {
	kind  Kind
	steps int // by which the plate then stands further ahead than told
	log   float64
}

// slips lists what can happen to a move of so many steps, nothing first.
func slips(move int) []slip {
	if move == 0 {
		return []slip{{}}
	}
	all := []slip{{log: math.Log1p(-2 * rates[Miscounted])}}
	for _, by := range [...]int{-1, 1, -2, 2} {
		rate := rates[Miscounted]
		if by*by > 1 {
			rate *= twoSteps
		}
		if by != -move && by != -2*move {
			all = append(all, slip{Miscounted, by, math.Log(rate)})
		}
	}
	return append(all, slip{NotMoved, -move, math.Log(rates[NotMoved])}, slip{WrongWay, -2 * move, math.Log(rates[WrongWay])})
}
