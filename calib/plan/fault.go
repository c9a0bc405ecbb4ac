package plan

import "math"

// Kind is a kind of mistake that takes can show.
type Kind string

// The kinds of mistakes.
const (
	Fine        Kind = ""             // none
	Bad         Kind = "bad-take"     // the lag of one reading is off by no rule
	WrongVoice  Kind = "wrong-voice"  // the reading is that of another voice
	Crossed     Kind = "crossed"      // reference and voice are on each other's channel
	Miscounted  Kind = "miscounted"   // the move was some steps more or fewer than told
	NotMoved    Kind = "not-moved"    // a move was told, and the plate stayed where it was
	NotTold     Kind = "not-told"     // the plate was turned, and no move told
	WrongWay    Kind = "wrong-way"    // the move went the other way
	FallChanged Kind = "fall-changed" // gate or fall of a voice changed before this take
	PinMoved    Kind = "pin-moved"    // pins of a voice moved before this take
	PlateWrong  Kind = "plate-wrong"  // the step is not what the plate's numbers say
	Flipped     Kind = "flipped"      // every move goes the other way than its sign
	Backlash    Kind = "backlash"     // settings differ by the side they were reached from
)

// rates is how often each happens, by take, move or machine (common practice, no
// published source). They are the prior: what is rare needs more evidence.
var rates = map[Kind]float64{
	Fine:        1,
	Bad:         0.03,
	WrongVoice:  0.005,
	Crossed:     0.001,
	Miscounted:  0.02, // by whatever number of steps
	NotMoved:    0.003,
	NotTold:     0.002, // by whatever number of steps, where none were advised
	WrongWay:    0.004,
	FallChanged: 0.002,
	PinMoved:    0.001,
	PlateWrong:  0.02,
	Flipped:     0.005,
	Backlash:    0.05,
}

// Where a move was advised before the take, mistakes about that very move are
// likelier (common practice, no published source). A take without a move told
// follows advice that was carried out and not told about as often as not; a move
// told with another number may have gone as advised; and one told as advised was
// told beforehand, and then forgotten. Who does not tell a move has not told either
// that it was a few steps more or fewer than advised.
const (
	advisedNotTold = 0.3
	advisedAndMore = 0.06 // by whatever number of steps
	advisedInstead = 0.01
	advisedNotMade = 0.03
)

// stoodNotTold is how often the plate stands some steps from where it was told to be,
// after a night or a journey (common practice, no published source).
const stoodNotTold = 0.03

// referenceSlips is how often the reference, which is locked to the crank, makes a take bad
// (common practice, no published source): the lags of all its voices, alike.
const referenceSlips = 0.0025

// denied is how many times rarer a mistake is where the builder says that it did not happen
// (common practice, no published source): people are mistaken about that too, so takes enough
// can still show it.
const denied = 1e-3

// Most steps by which a move is miscounted, a number four times as large being an
// eighth as frequent, and most by which the plate is turned and nothing told.
const (
	mostMiscounted = 20
	mostNotTold    = 40
)

// badMS is the standard deviation of what is wrong with a bad reading: some tens of ms
// either way. changedMS and movedBeats are by what a changed gate or fall
// moves a voice's delay, and moved pins its offset (all common practice, no
// published source).
const (
	badMS      = 80.0
	changedMS  = 25.0
	movedBeats = 0.03
)

// fault is one mistake that a hypothesis supposes, on a list with the ones before.
type fault struct {
	kind   Kind
	take   int    // index of the take
	voice  int    // −1 = all
	steps  int    // by which the plate stands further ahead than told
	of     int    // the voice whose lag a WrongVoice is
	told   int    // steps told of the move before the take
	slip   normal // by which the reference makes all lags of a Bad take late alike
	before *fault
}

// since returns by how many steps more than told the plate was turned since a take, by a fault and
// those before it; since −1 that is how much further ahead than told it then stood.
func (f *fault) since(take int) (steps int) {
	for ; f != nil && f.take > take; f = f.before {
		steps += f.steps
	}
	return steps
}

// slippedIn reports whether the last fault is that the reference of a take slipped.
func (f *fault) slippedIn(take int) bool {
	return f != nil && f.take == take && f.kind == Bad && f.voice < 0
}

// outcome is something that can have become of a reading, or of the move before it.
type outcome struct {
	kind  Kind
	steps int // by which the plate then stands further ahead than told
	log   float64
}

// Places in a list of outcomes; what may have become of the move comes after them.
const (
	asTold = iota
	fallChanged
	pinMoved
	isBad   // all its hits are late alike
	isLost  // bad, and nothing of it counts
	slipped // bad are all readings of the take, off alike by the reference, and nothing of them counts
	isCrossed
	isWrong
	firstMove
)

// outcomes lists what can have become of a move told of so many steps, where so
// many were advised, of a plate that may have stood a night since, and of a move that is said
// to have gone so many times less likely otherwise, after what can be wrong with a reading of a
// take that heard so many of the voices. It uses the room of other outcomes.
func outcomes(room []outcome, move, advised int, stood bool, doubt float64, heard, voices int) []outcome {
	bad, slip := rates[Bad]/float64(heard), referenceSlips
	if heard == 1 {
		slip = 0 // what is bad then is no matter
	}
	all := append(room[:0], outcome{}, outcome{FallChanged, 0, rates[FallChanged]}, outcome{PinMoved, 0, rates[PinMoved]},
		outcome{Bad, 0, bad}, outcome{Bad, 0, bad}, outcome{Bad, 0, slip}, outcome{Crossed, 0, rates[Crossed] / float64(heard)}, outcome{WrongVoice, 0, rates[WrongVoice] / float64(heard*(voices-1))})
	rest, others := 1.0, firstMove // those of a series differ from each other: the same steps come among the others before it
	add := func(kind Kind, steps int, rate float64) {
		if steps == 0 {
			return // the plate stands where it was told to
		}
		rate *= doubt
		rest -= rate
		for i := firstMove; i < others; i++ {
			if all[i].steps == steps {
				all[i].log += rate
				return
			}
		}
		all = append(all, outcome{kind, steps, rate}) // its logarithm at the end
	}
	series := func(kind Kind, around int, most int, rate func(by int) float64) {
		others = len(all)
		for by := 1; by <= most; by++ {
			add(kind, around+by, rate(by))
			add(kind, around-by, rate(by))
		}
	}
	if move == 0 {
		if advised != 0 {
			add(NotTold, advised, advisedNotTold)
			series(NotTold, advised, mostMiscounted, func(by int) float64 { return advisedAndMore * rarity[by] })
		}
		series(NotTold, 0, mostNotTold, func(by int) float64 {
			if rate := rates[NotTold] / (2 * mostNotTold); !stood {
				return rate
			} else {
				return rate + stoodNotTold*rarity[by]
			}
		})
	} else {
		add(NotMoved, -move, rates[NotMoved])
		add(WrongWay, -2*move, rates[WrongWay])
		others = len(all)
		if move == advised {
			add(NotMoved, -move, advisedNotMade)
		} else if advised != 0 {
			add(Miscounted, advised-move, advisedInstead)
		}
		series(Miscounted, 0, mostMiscounted, func(by int) float64 { return rates[Miscounted] * rarity[by] })
	}
	all[asTold].log = rest
	for i := range all {
		all[i].log = math.Log(all[i].log)
	}
	return all
}

// rarity is the share of the miscounts that are by so many steps to one side.
var rarity = func() (share [mostNotTold + 1]float64) {
	var sum float64
	for by := 1; by <= mostNotTold; by++ {
		share[by] = math.Pow(float64(by), -1.5)
		if by <= mostMiscounted {
			sum += 2 * share[by]
		}
	}
	for by := range share {
		share[by] /= sum
	}
	return share
}()
