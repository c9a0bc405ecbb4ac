package signal

import (
	"cmp"
	"errors"
	"io"

	"lagwright/calib"
)

// Options says what a take holds and where.
type Options struct {
	Reference, Voice int                    // channels, from 1; zero values mean 1 and 2
	Every            int                    // beats from one voice hit to the next; 0 = any
	PerBeat          int                    // reference hits in a beat; 0 means 1
	Progress         func(fraction float64) // from 0 to 1; may be nil
}

func (o Options) filled() Options {
	o.Reference, o.Voice = cmp.Or(o.Reference, 1), cmp.Or(o.Voice, 2)
	o.Every = max(o.Every, 0)
	o.PerBeat = max(o.PerBeat, 1)
	if o.Progress == nil {
		o.Progress = func(float64) {}
	}
	return o
}

// part returns a progress function that fills the span from one fraction to
// another of report.
func part(report func(float64), from, to float64) func(float64) {
	return func(f float64) { report(from + f*(to-from)) }
}

// less is a take from what is read of one of whose channels something is taken out, given
// the frame at which the samples begin.
type less struct {
	calib.Source
	channel int
	takeOut func(x []float32, frame int64) error
}

func (s less) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	n, err := s.Source.ReadAt(dst, channel, frame)
	if channel != s.channel || err != nil && !errors.Is(err, io.EOF) {
		return n, err
	}
	if bad := s.takeOut(dst[:n], frame); bad != nil {
		return 0, bad
	}
	return n, err
}
