package signal

import (
	"context"
	"errors"
	"fmt"
	"slices"

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
	s, err := listenToBoth(ctx, src, opt)
	if err != nil {
		return calib.Reading{}, err
	}
	return s.read(ctx, opt)
}

// sound is a take as it was heard.
type sound struct {
	reference, voice *channel
	warnings         []calib.Warning
}

// listenToBoth hears both channels, finds out which is which, and hears each
// again without the leak of the other where that can be learnt.
func listenToBoth(ctx context.Context, src Source, opt Options) (s sound, err error) {
	if s.reference, err = hear(ctx, src, opt.Reference, part(opt.Progress, 0, 0.4)); err != nil {
		return s, err
	}
	if s.voice, err = hear(ctx, src, opt.Voice, part(opt.Progress, 0.4, 0.8)); err != nil {
		return s, err
	}
	s.warnings = append(s.reference.warnings(), s.voice.warnings()...)
	r, v := s.hits()
	if swapped(r, v) {
		s.reference, s.voice = s.voice, s.reference
		r, v = v, r
		s.warnings = append(s.warnings, calib.Warning{Code: calib.WarnSwapped, Text: fmt.Sprintf(
			"channel %d is the more regular one and was taken for the reference: check which microphone is plugged in where",
			s.reference.number)})
	}
	err = s.unleak(ctx, s.train().hits, v, part(opt.Progress, 0.8, 1))
	return s, err
}

// hits returns each channel's own hits.
func (s sound) hits() (reference, voice []Hit) {
	reference, voice = s.reference.hits, s.voice.hits
	if r, v := Separate(reference, voice); !s.reference.leakless || !s.voice.leakless {
		if !s.reference.leakless {
			reference = r
		}
		if !s.voice.leakless {
			voice = v
		}
	}
	return single(reference), single(voice)
}

// unleak takes each channel's leak out of the other and looks for hits again.
func (s *sound) unleak(ctx context.Context, reference, voice []Hit, progress func(float64)) error {
	toVoice, err := learnLeak(ctx, s.reference, s.voice, reference)
	if err != nil {
		return err
	}
	if toVoice != nil {
		if err := s.voice.without(ctx, toVoice, part(progress, 0, 0.5)); err != nil {
			return err
		}
		_, voice = s.hits()
	}
	toReference, err := learnLeak(ctx, s.voice, s.reference, voice)
	if err != nil {
		return err
	}
	if toReference != nil {
		if err := s.reference.without(ctx, toReference, part(progress, 0.5, 1)); err != nil {
			return err
		}
	}
	progress(1)
	return nil
}

// without hears the channel again with a leak taken out. What is left of it
// where it sounded is no hit.
func (c *channel) without(ctx context.Context, l *leak, progress func(float64)) error {
	before := c.src
	c.src, c.leakless = leakless{before, c.number, l}, true
	if err := c.listen(ctx, progress); err != nil {
		return err
	}
	if err := c.pick(ctx); err != nil {
		return err
	}
	kept := c.hits[:0]
	for _, h := range c.hits {
		is, err := l.residue(before, c.src, c.number, h)
		if err != nil {
			return err
		}
		if !is {
			kept = append(kept, h)
		}
	}
	c.hits = kept
	return nil
}

// train returns the reference's train. Where taking out leaks took hits out of it
// that are as loud as the rest, they were none: both strike together.
func (s sound) train() train {
	r, _ := s.hits()
	own, all := regular(r), regular(single(s.reference.hits))
	var more, kept []float64
	for _, h := range all.hits {
		if _, found := slices.BinarySearchFunc(own.hits, h, func(a, b Hit) int { return sign(a.TimeS - b.TimeS) }); found {
			kept = append(kept, h.Level)
		} else {
			more = append(more, h.Level)
		}
	}
	if len(more) > 0 && len(all.hits) > len(own.hits) && middle(more) > middle(kept)-asLoudDB {
		return all
	}
	return own
}

const asLoudDB = 4 // hits of one sound are as loud as this

// read makes the reading of what was heard.
func (s sound) read(ctx context.Context, opt Options) (calib.Reading, error) {
	_, voice := s.hits()
	reference, err := Align(ctx, s.reference.src, s.reference.number, s.train().hits)
	if err != nil {
		return calib.Reading{}, err
	}
	if voice, err = s.alignVoice(ctx, reference, voice, opt); err != nil {
		return calib.Reading{}, err
	}
	pairs := Pairs(reference, voice, opt)
	r := calib.Read(pairs, times(reference), nil, opt.PerBeat)
	r.VoiceHitsS = voiceHits(r.Pairs, voice)
	opt.Reference, opt.Voice = s.reference.number, s.voice.number
	r.Warnings = append(r.Warnings, s.warnings...)
	r.Warnings = append(r.Warnings, takeWarnings(r, opt)...)
	return r, nil
}

// alignVoice aligns the voice's own strikes; its lesser sounds stay as they are.
func (s sound) alignVoice(ctx context.Context, reference, voice []Hit, opt Options) ([]Hit, error) {
	var strikes, rest []Hit
	for i, p := range Pairs(reference, voice, opt) {
		if p.Used {
			strikes = append(strikes, voice[i])
		} else {
			rest = append(rest, voice[i])
		}
	}
	strikes, err := Align(ctx, s.voice.src, s.voice.number, strikes)
	all := append(strikes, rest...)
	slices.SortStableFunc(all, func(a, b Hit) int { return sign(a.TimeS - b.TimeS) })
	return all, err
}

func (o Options) check(src Source) error {
	if o.Reference == o.Voice {
		return fmt.Errorf("reference and voice are both channel %d: choose two different channels", o.Voice)
	}
	return errors.Join(checkChannel(src, o.Reference), checkChannel(src, o.Voice))
}

// voiceHits returns the times of the hits that are the voice's own strikes; where
// there are no pairs to tell by, all.
func voiceHits(pairs []calib.Pair, voice []Hit) []float64 {
	if len(pairs) == 0 {
		return times(voice)
	}
	s := []float64{}
	for _, p := range pairs {
		if p.Used {
			s = append(s, p.VoiceS)
		}
	}
	return s
}
