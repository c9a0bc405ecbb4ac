package plotting

import (
	"time"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting/sketch"
)

// Draw draws one of the figures of a machine for a paper. A view is never changed, so it
// may be called on any goroutine. It fails where the takes cannot be brought together.
type Draw func(v *loop.View, paper Paper) (*Figure, error)

// The figures of a machine: the setting card of today, each setting with the tempos at
// which it stays tight, and how the voices' lags have moved from day to day.
var (
	DrawCard  = drawn(func(v *loop.View, p Paper) *Figure { return CardOf(v, time.Now()).Figure(p) })
	DrawTable = drawn(func(v *loop.View, p Paper) *Figure { return StaircaseOf(v).Figure(p) })
	DrawDays  = drawn(func(v *loop.View, p Paper) *Figure { return DaysOf(v).Figure(p) })
)

// DrawCurve draws the curve with the set list on it and a song of it in hand; -1 is none.
func DrawCurve(song int) Draw {
	return drawn(func(v *loop.View, p Paper) *Figure { return p.onSide(SetListCurveOf(v, song).view(inks).paint) })
}

func drawn(draw func(v *loop.View, p Paper) *Figure) Draw {
	return func(v *loop.View, p Paper) (*Figure, error) {
		if v.Err != nil {
			return nil, v.Err
		}
		return draw(v, p), nil
	}
}

// DrawFan draws the hit fan of a reading as the window does; limitMS is within what it is
// tight, if known.
func DrawFan(r calib.Reading, limitMS, toleranceMS float64) *Figure {
	return fanOf(r, limitMS, toleranceMS).figure()
}

// hitFan is the hit fan on a page.
type hitFan sketch.Fan

func fanOf(r calib.Reading, limitMS, toleranceMS float64) hitFan {
	if isLag(limitMS) {
		toleranceMS = max(toleranceMS, limitMS)
	}
	return hitFan(sketch.FanOf(r, toleranceMS))
}

func (f hitFan) figure() *Figure { return printed(210*mm, 105*mm, f.paint) }

func (f hitFan) paint(p pen) {
	sketch.Fan(f).Draw(p.sketch(), inks, float64(baseSize(p.Size())),
		i18n.L("No pairs yet: once reference and voice have struck, every pair is laid over the others here."))
}
