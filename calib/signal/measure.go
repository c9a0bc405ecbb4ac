package signal

import (
	"context"
	"errors"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Measure makes the reading of a take: hits of both channels, pairs of them,
// and [calib.Read]. A take in which too little is heard is no error: its reading
// has few pairs and warnings that say why. Measure fails only where a channel
// does not exist or cannot be read, or ctx ends; the error does not name the
// file, which the caller knows.
func Measure(ctx context.Context, src calib.Source, opt Options) (calib.Reading, error) {
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

// listenToBoth hears both channels, and each again without the leak of the other
// where that can be learnt. Which channel is which it leaves as it was told.
func listenToBoth(ctx context.Context, src calib.Source, opt Options) (s sound, err error) {
	ears := [2]*channel{}
	err = inParallel(ctx, 2, func(i int) (err error) {
		progress := []func(float64){part(opt.Progress, 0, 0.8), func(float64) {}}[i] // the voice takes as long
		ears[i], err = hear(ctx, src, []int{opt.Reference, opt.Voice}[i], progress)
		return err
	})
	if err != nil {
		return s, err
	}
	s.reference, s.voice = ears[0], ears[1]
	s.warnings = append(s.reference.warnings(), s.voice.warnings()...)
	r, v := s.hits()
	t := s.train(r)
	if loose := s.reference.loose() || s.voice.loose(); !loose && swapped(t, regular(v), v) { // hits that a cable lost tell nothing
		s.warnings = append(s.warnings, calib.Warn(calib.WarnSwapped, i18n.Say(
			"channel %d strikes more often than channel %d, as a reference does: stop the crank, wait for rest, then check which microphone is plugged in where, or take the channels the other way round",
			s.voice.number, s.reference.number)))
	}
	return s, s.unleak(ctx, t.hits, part(opt.Progress, 0.8, 1))
}

// hits returns each channel's own hits. Where the leak was taken out, those that
// come with the other channel's are its own too.
func (s sound) hits() (reference, voice []Hit) {
	reference, voice = Separate(s.reference.hits, s.voice.hits)
	if s.reference.leakless {
		reference = atMainRise(s.reference.hits, s.voice.hits, true)
	}
	if s.voice.leakless {
		voice = atMainRise(s.voice.hits, s.reference.hits, true)
	}
	return single(reference, s.voice.hits), single(voice, s.reference.hits)
}

// unleak takes each channel's leak, the reference's by its train, out of the other and
// looks for hits again.
func (s *sound) unleak(ctx context.Context, hits []Hit, progress func(float64)) error {
	for i, to := range []*channel{s.voice, s.reference} {
		from := s.reference
		if to == s.reference {
			from = s.voice
			_, hits = s.hits()
		}
		l, err := learnLeak(ctx, from, to, hits)
		if err == nil && l != nil {
			err = to.without(ctx, l)
		}
		if err != nil {
			return err
		}
		progress(float64(i+1) / 2)
	}
	return nil
}

// without hears the channel again with a leak taken out. What is left of it where it
// sounded is no hit.
func (c *channel) without(ctx context.Context, l *leak) error {
	before := c.src
	if err := c.hearFrom(ctx, less{before, c.number, l.takeOut}, l); err != nil {
		return err
	}
	c.leakless = true
	err := inParallel(ctx, len(c.hits), func(i int) error {
		is, err := l.residue(before, c.src, c.number, c.hits[i])
		if is {
			c.hits[i].TimeS = none
		}
		return err
	})
	c.hits = slices.DeleteFunc(c.hits, func(h Hit) bool { return h.TimeS == none })
	return err
}

// train returns the train of the reference's own hits. Where taking out leaks took hits
// out of it that are as loud as the rest, they were none: both strike together.
func (s sound) train(r []Hit) train {
	own, all := regular(r), regular(single(s.reference.hits, s.voice.hits))
	if more := beside(all.hits, own.hits); len(all.hits) > len(own.hits) && 2*asLoud(more, own.hits, nil) > len(more) {
		return all
	}
	return own
}

// loose reports whether a cable has let hits of the channel go missing.
func (c *channel) loose() bool {
	return dead(c.hits, c.t) || len(c.offs)+len(c.crackles)+len(c.bursts) > 0
}

// read makes the reading of what was heard.
func (s sound) read(ctx context.Context, opt Options) (calib.Reading, error) {
	heard, voice := s.hits()
	reference := s.train(heard).hits
	reference, voice, beginsS, err := s.align(ctx, reference, voice, opt)
	if err != nil {
		return calib.Reading{}, err
	}
	pairs := Pairs(reference, voice, opt)
	r := calib.Read(pairs, times(reference), nil, opt.PerBeat)
	at, byS := lostBuffer(r.ReferenceHitsS)
	if at > 0 {
		r = r.WithoutGap(r.ReferenceHitsS[at], byS)
		r.Warnings = append(r.Warnings, calib.Warn(calib.WarnLostBuffer, i18n.Say(
			"the recording jumps ahead by about %.0f ms near %.1f s: the recorder lost samples; the lag holds, but record again with larger buffers",
			1000*byS, r.ReferenceHitsS[at])))
	}
	r = r.Widen(1000*beginsS, s.voice.src.Rate())
	r.VoiceHitsS = voiceHits(r.Pairs, voice)
	r.Warnings = append(r.Warnings, slices.DeleteFunc(s.warnings, func(w calib.Warning) bool {
		return w.Code == calib.WarnDeadChannel && agree(r)
	})...)
	r.Warnings = append(r.Warnings, doubts(r.Pairs, voice, reference, heard)...)
	r.Warnings = append(r.Warnings, s.echo(r, reference, voice)...)
	r.Warnings = append(r.Warnings, takeWarnings(r)...)
	return r, nil
}

// Where a strike begins is known to pickS, a standard uncertainty, at best (measured on
// recorded drums, blocks and bars, as all here; no published source).
const (
	pickS     = 0.00007
	riseMostS = 0.0005 // that a slow rise adds, at most
	hidden    = 0.075  // s, for an attack hidden whole
)

// unclearS returns the standard uncertainty of where hits of one sound begin. It may be
// anywhere between where a hit first stands out and where it has risen to riseShare: a
// rectangle (JCGM 100:2008, 4.3.7). And what sounded before may hide a first stage, the
// likelier the louder it is beside the attack.
func unclearS(hits []Hit) float64 {
	var under, rise []float64
	for _, h := range hits {
		under, rise = append(under, h.under), append(rise, h.upS-h.TimeS)
	}
	slow := min(math.Abs(median(rise))/math.Sqrt(3), riseMostS)
	return math.Hypot(math.Hypot(pickS, slow), hidden*square(median(under)))
}

// align lays the reference's hits over each other, and the voice's own strikes; its
// lesser sounds stay as they are. A sound that changes with the force of the strike
// may fit a wave too early or too late: where aligned times scatter more than the
// picks they came from, the picks count. It also returns the standard uncertainty of
// where the strikes begin: where one beginning for all lies now here and now there from
// the hits' own, it is not clear.
func (s sound) align(ctx context.Context, reference, voice []Hit, opt Options) (r, v []Hit, beginsS float64, err error) {
	var strikes, rest []Hit
	pairs := Pairs(reference, voice, opt)
	for i, p := range pairs {
		if p.Used {
			strikes = append(strikes, voice[i])
		} else {
			rest = append(rest, voice[i])
		}
	}
	with := func(strikes []Hit) []Hit {
		all := slices.Concat(strikes, rest)
		slices.SortStableFunc(all, func(a, b Hit) int { return sign(a.TimeS - b.TimeS) })
		return all
	}
	scatter := func(reference, strikes []Hit) float64 {
		return calib.Read(Pairs(reference, with(strikes), opt), nil, nil, opt.PerBeat).JitterMS
	}
	best, begins := scatter(reference, strikes), calib.SplitMS(pairs, times(reference))/1000
	// laid lays a channel's hits over each other; how they then scatter decides whether that counts.
	laid := func(c *channel, hits []Hit, by func([]Hit) float64) ([]Hit, error) {
		aligned, err := align(ctx, c.clear, c.number, hits)
		var off []float64
		for i, h := range aligned {
			off = append(off, h.TimeS-hits[i].TimeS)
		}
		slices.Sort(off)
		apart := 0.0
		if n := len(off); n > 0 {
			apart = math.Hypot((off[n-1-n/6]-off[n/6])/2, off[n/2]) / math.Sqrt(3) // anywhere within: rectangular (JCGM 100:2008, 4.3.7)
		}
		if now := by(aligned); now <= best {
			hits, best = aligned, now
		}
		begins = math.Hypot(begins, math.Hypot(apart, unclearS(hits)))
		return hits, err
	}
	v, err = laid(s.voice, strikes, func(hits []Hit) float64 { return scatter(reference, hits) })
	if err != nil {
		return nil, nil, 0, err
	}
	r, err = laid(s.reference, reference, func(hits []Hit) float64 { return scatter(hits, v) })
	return r, with(v), begins, err
}

func (o Options) check(src calib.Source) error {
	if o.Reference == o.Voice {
		return i18n.Errorf("reference and voice are both channel %d: choose two different channels", o.Voice)
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
