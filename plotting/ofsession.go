package plotting

import (
	"time"

	"lagwright/calib/loop"
)

// Draw draws one of the figures of a session for a paper. A view is never changed, so it
// may be called on any goroutine.
type Draw func(v *loop.View, paper Paper) (*Figure, error)

// DrawCurve draws the curve with the set list on it and a song of it in hand; -1 is none.
func DrawCurve(song int) Draw {
	return func(v *loop.View, paper Paper) (*Figure, error) {
		if v.Err != nil {
			return nil, v.Err
		}
		c := SetListCurveOf(v, song)
		c.Paper = paper
		return c.Figure(Light())
	}
}

// DrawCard draws the setting card of today.
func DrawCard(v *loop.View, paper Paper) (*Figure, error) {
	c, err := CardOf(v, time.Now())
	if err != nil {
		return nil, err
	}
	c.Paper = paper
	return c.Figure()
}

// DrawDays draws how the voices' lags have moved from day to day.
func DrawDays(v *loop.View, paper Paper) (*Figure, error) {
	if v.Err != nil {
		return nil, v.Err
	}
	d := DaysOf(v)
	d.Paper = paper
	return d.Figure(Light())
}

// DrawTable draws each setting with the tempos at which it stays tight.
func DrawTable(v *loop.View, paper Paper) (*Figure, error) {
	if v.Err != nil {
		return nil, v.Err
	}
	s := StaircaseOf(v)
	s.Paper = paper
	return s.Figure(Light())
}
