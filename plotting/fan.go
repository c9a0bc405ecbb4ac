package plotting

import (
	"slices"

	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// Fan is the data of the hit fan: every pair of a take laid over every other.
type Fan sketch.Fan

const fanWidth, fanHeight = 210 * mm, 105 * mm

func emptyFan() string {
	return i18n.L("No pairs yet: once reference and voice have struck, every pair is laid over the others here.")
}

// Figure draws the fan as the window does. Lags that are not finite are left out and
// counted. A tolerance that is negative or not a number is an error.
func (f Fan) Figure(t Theme) (*Figure, error) {
	if err := checkTolerance(f.ToleranceMS); err != nil {
		return nil, i18n.Errorf("cannot draw the hit fan: %w", err)
	}
	f.LagsMS, f.Used = slices.Clone(f.LagsMS), slices.Clone(f.Used)
	return &Figure{width: fanWidth, height: fanHeight, background: t.Paper, paint: []func(pen){f.paint(t)}}, nil
}

func (f Fan) paint(t Theme) func(pen) {
	return func(p pen) {
		sketch.Fan(f).Draw(sketch.Pen{Surface: surface{p}}, t, float64(baseSize(p.Size())), emptyFan())
	}
}
