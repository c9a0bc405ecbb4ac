package signal

import (
	"context"
	"errors"
	"fmt"

	"lagwright/calib"
)

// Measure makes the reading of a take: hits of both channels, pairs of them,
// and [calib.Read]. A take in which too little is heard is no error: its reading
// has few pairs and warnings that say why. Measure fails only where a channel
// does not exist or cannot be read, or ctx ends; the error does not name the
// file, which the caller knows.
func Measure(ctx context.Context, src Source, opt Options) (calib.Reading, error) {
	opt = opt.filled()
	if err := opt.check(src); err != nil {
		return calib.Reading{}, err
	}
	reference, warnings, err := Hits(ctx, src, opt.Reference, part(opt.Progress, 0, 0.5))
	if err != nil {
		return calib.Reading{}, err
	}
	voice, more, err := Hits(ctx, src, opt.Voice, part(opt.Progress, 0.5, 1))
	if err != nil {
		return calib.Reading{}, err
	}
	reference, voice = Separate(reference, voice)
	reference = regular(reference)
	pairs := Pairs(reference, voice, opt)
	r := calib.Read(pairs, times(reference), firsts(pairs, voice), opt.PerBeat)
	r.Warnings = append(append(r.Warnings, warnings...), more...)
	r.Warnings = append(r.Warnings, takeWarnings(r, opt)...)
	return r, nil
}

func (o Options) check(src Source) error {
	if o.Reference == o.Voice {
		return fmt.Errorf("reference and voice are both channel %d: choose two different channels", o.Voice)
	}
	return errors.Join(checkChannel(src, o.Reference), checkChannel(src, o.Voice))
}

// firsts returns the times of the voice hits that are no bounces or second
// drops.
func firsts(pairs []calib.Pair, voice []Hit) []float64 {
	if len(pairs) == 0 {
		return times(voice)
	}
	var s []float64
	for _, p := range pairs {
		if p.Reason != ReasonBounce {
			s = append(s, p.VoiceS)
		}
	}
	return s
}
