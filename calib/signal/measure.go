package signal

import (
	"cmp"
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
	take             calib.Source
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
	s.take, s.reference, s.voice = src, ears[0], ears[1]
	s.warnings = append(s.reference.warnings(), s.voice.warnings()...)
	r, _ := s.hits()
	return s, s.unleak(ctx, s.train(r).hits, part(opt.Progress, 0.8, 1))
}

// hits returns each channel's own hits. Where the leak was taken out, those that
// come with the other channel's are its own too.
func (s sound) hits() (reference, voice []Hit) {
	reference, voice = Own(s.reference.hits, s.voice.hits), Own(s.voice.hits, s.reference.hits)
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
	err := s.voice.without(ctx, s.reference, hits)
	progress(0.5)
	if err == nil {
		_, hits = s.hits()
		err = s.reference.without(ctx, s.voice, hits)
	}
	progress(1)
	return err
}

// without hears the channel again without the leak of another's hits, if that can be learnt.
func (c *channel) without(ctx context.Context, from *channel, hits []Hit) error {
	l, err := learnLeak(ctx, from, c, hits)
	if l == nil || err != nil {
		return err
	}
	c.leakless = true
	return c.hearFrom(ctx, less{c.src, c.number, l.takeOut}, l)
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
	train := s.train(heard)
	reference, voice, begins, err := s.align(ctx, train.hits, voice, opt)
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
	r = r.Widen(1000*math.Sqrt(begins.variance), s.voice.src.Rate())
	r.VoiceHitsS = voiceHits(r.Pairs, voice)
	r.Warnings = append(r.Warnings, s.warnings...)
	if loose := s.reference.loose() || s.voice.loose(); !loose && swapped(train, loud(voice, strikes(r.Pairs, voice))) { // hits that a cable lost tell nothing
		r.Warnings = append(r.Warnings, calib.Warn(calib.WarnSwapped, i18n.Say(
			"channel %d strikes more often than channel %d, as a reference does: stop the crank, wait for rest, then check which microphone is plugged in where, or take the channels the other way round",
			s.voice.number, s.reference.number)))
	}
	r.Warnings = append(r.Warnings, doubts(r.Pairs, voice, train.hits, heard, opt)...)
	same, err := s.same(slices.Concat(reference[:min(len(reference), lessonMost)], voice[:min(len(voice), lessonMost)]))
	if same || echo(r, reference, voice) {
		r.Warnings = append(r.Warnings, calib.Warn(calib.WarnDoubtful, i18n.Say(
			"the lag is doubtful: channels %d and %d hear one and the same sound, as if both plugs were on one microphone; stop the crank, wait for rest, then check that each microphone is on its own part and in its own plug",
			s.reference.number, s.voice.number)))
	}
	r.Warnings = append(r.Warnings, takeWarnings(r)...)
	if 1-begins.near > farMost && r.Used() >= calib.MinPairs && !r.Has(WarnVague) {
		r.Warnings = append(r.Warnings, calib.Warn(WarnVague, i18n.Say(
			"the strikes may begin elsewhere, and the lag is known to ± %.0f ms only: look at the hits, or stop the crank, wait for rest, then set the microphones nearer to where it strikes, and record again", r.HalfWidthMS())))
	}
	return r, err
}

// Where a strike begins is known to pickS, a standard uncertainty, at best (measured on
// recorded drums, blocks and bars, as all here; no published source).
const (
	pickS     = 0.00007
	riseMostS = 0.0005  // that a slow rise adds, at most
	alignOdds = 2       // to 1, that aligned times are better than the picks they came from
	alignFree = 2.0 / 3 // of the lags' changes are as good as free: neighbours share a lag, and their sizes correlate by 0.22
	hiddenS   = 0.005   // by which a hidden first stage is earlier
	weakly    = 2       // times the square of the share of its peak that is hidden: as likely is a hidden first stage
)

// open is another place at which hits may begin: how likely that is, and how far off.
type open struct{ p, byS float64 }

// begins is what is known of where strikes begin.
type begins struct {
	variance float64 // s²
	near     float64 // how likely it is that they are not farS away
}

const farS = 0.002 // s, by which nobody wants to be off

// or adds that some may begin in another place.
func (b *begins) or(o open) {
	b.variance += o.p * (1 - o.p) * square(o.byS)
	if math.Abs(o.byS) > farS {
		b.near *= 1 - o.p
	}
}

// add adds what the hits of one sound tell. They may begin anywhere between where they first
// stand out and where they have risen to riseShare: a rectangle (JCGM 100:2008, 4.3.7). What
// sounded before may hide a first stage, the likelier the louder it is beside the attack.
func (b *begins) add(hits []Hit) {
	var hides, rise []float64
	for _, h := range hits {
		hides, rise = append(hides, h.hides), append(rise, h.upS-h.TimeS)
	}
	b.variance += square(pickS) + square(min(math.Abs(median(rise))/math.Sqrt(3), riseMostS))
	b.or(open{min(weakly*square(median(hides)), 0.5), hiddenS})
}

// align lays the reference's hits over each other, and the voice's own strikes; its
// lesser sounds stay as they are. A sound that changes with the force of the strike
// may fit a wave too early or too late: where that scatters the lags so much more that the
// picks are likelier right, the picks count.
func (s sound) align(ctx context.Context, reference, voice []Hit, opt Options) (r, v []Hit, at begins, err error) {
	at.near = 1
	var strikes, rest []Hit
	var beats []int // of the strikes
	for i, p := range Pairs(reference, voice, opt) {
		if p.Used {
			strikes = append(strikes, voice[i])
			beats = append(beats, slices.IndexFunc(reference, func(h Hit) bool { return h.TimeS == p.ReferenceS }))
		} else {
			rest = append(rest, voice[i])
		}
	}
	// scatter is how much lags change from one to the next, of all that were pairs before:
	// or what fits none of the others would be left out.
	scatter := func(reference, strikes []Hit) (sum float64) {
		for i := 1; i < len(beats); i++ {
			sum += math.Abs(strikes[i].TimeS - reference[beats[i]].TimeS - strikes[i-1].TimeS + reference[beats[i-1]].TimeS)
		}
		return sum + 1e-9
	}
	best := scatter(reference, strikes)
	// laid lays a channel's hits over each other; how they then scatter decides whether that counts.
	laid := func(c *channel, hits, other []Hit, by func([]Hit) float64) ([]Hit, error) {
		aligned, where, err := align(ctx, c.clear, c.number, hits, other)
		var off []float64
		for i, h := range aligned {
			off = append(off, h.TimeS-hits[i].TimeS)
		}
		now := by(aligned)
		if picks := 1 / (1 + alignOdds*math.Pow(best/now, alignFree*float64(len(beats)))); picks < 0.5 {
			hits, best = aligned, now
		} else {
			where = open{1 - picks, median(off)}
		}
		at.add(hits)
		at.or(where)
		return hits, err
	}
	v, err = laid(s.voice, strikes, s.reference.hits, func(hits []Hit) float64 { return scatter(reference, hits) })
	if err != nil {
		return nil, nil, at, err
	}
	r, err = laid(s.reference, reference, s.voice.hits, func(hits []Hit) float64 { return scatter(hits, v) })
	voice = slices.Concat(v, rest)
	slices.SortStableFunc(voice, func(a, b Hit) int { return cmp.Compare(a.TimeS, b.TimeS) })
	at.or(open{0.5, calib.SplitMS(Pairs(r, voice, opt), times(r)) / 500})
	return r, voice, at, err
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
	return times(strikes(pairs, voice))
}

// strikes returns the voice hits that count; there is a pair for each hit.
func strikes(pairs []calib.Pair, voice []Hit) (own []Hit) {
	for i, p := range pairs {
		if p.Used {
			own = append(own, voice[i])
		}
	}
	return own
}
