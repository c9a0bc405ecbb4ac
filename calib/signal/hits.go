package signal

import (
	"cmp"
	"context"
	"errors"
	"io"
	"maps"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Hit is one strike heard in one channel.
type Hit struct {
	TimeS    float64 // where its sound begins, seconds from the start of the take
	Strength float64 // dB above the channel's noise floor
	Level    float64 // dB of full scale above lowHz, over strikeS: a click is no louder than a drum for its peak

	hides float64 // amplitude that a sound before it may have unheard, as a share of its peak
	mainS float64 // where its loudest rise begins: later than TimeS where a leak came first
	upS   float64 // where it has risen to riseShare of its peak
}

// Hits returns the hits of one channel in order of time. It does not know the other
// channel: leaks are still among the hits. It fails only where the channel does not
// exist, cannot be read, or ctx ends.
func Hits(ctx context.Context, src calib.Source, channel int) ([]Hit, error) {
	if err := checkChannel(src, channel); err != nil {
		return nil, err
	}
	c, err := hear(ctx, src, channel, func(float64) {})
	if err != nil {
		return nil, err
	}
	return c.hits, nil
}

// channel is one channel of a take as it was heard.
type channel struct {
	src      calib.Source // the take, with what spoils this channel taken out
	leakless bool         // whether the other channel's leak is
	number   int
	ears     calib.Source // the take as the trigger hears it: without the tones, where they fill the band
	clear    calib.Source // the take as hits are picked from it: the same, where that is as good
	t        *trigger
	clip     clipping
	mains    *mains
	picks    map[int64]Hit // by the frames of their candidates
	hits     []Hit

	offs, crackles, bursts []stretch // what is wrong with its cable, and when
}

// hear listens to a channel: once as it is, and again where that shows hum, or
// tones that fill the band.
func hear(ctx context.Context, src calib.Source, number int, progress func(float64)) (*channel, error) {
	c := &channel{number: number}
	asIs := newSurvey(src)
	if err := c.listen(ctx, src, part(progress, 0, 0.5), asIs.feed); err != nil {
		return nil, err
	}
	c.clip = asIs.clip
	recorded := c.t.levels
	c.crackles = asIs.jumps.crackles(src.Rate())
	c.bursts = asIs.slow.humBursts(asIs.jumps.top)
	if c.mains = findMains(asIs.slow, src.Rate(), asIs.jumps.top); c.mains != nil {
		if err := c.listen(ctx, less{src, number, c.mains.takeOut}, part(progress, 0.5, 0.7), nil); err != nil {
			return nil, err
		}
	}
	if c.t.contrast() < poorDB {
		if err := c.seekNew(ctx, part(progress, 0.7, 1)); err != nil {
			return nil, err
		}
	}
	if err := c.pick(ctx); err != nil {
		return nil, err
	}
	c.offs = silences(recorded, c.hits)
	progress(1)
	return c, nil
}

const (
	poorDB   = 22 // contrast below which what is new is listened for
	betterDB = 6  // by which its contrast must be better

	newDB = 14 // contrast of what is new, to pick hits from it
)

// seekNew listens again for what is new, where sounds that ring on fill the band.
// Where that shows the strikes, hits are picked from it, for no tone bends their
// beginning there; where it shows them best, they are looked for in it too.
func (c *channel) seekNew(ctx context.Context, progress func(float64)) error {
	src, err := newToneless(c.src, c.number)
	if err != nil {
		return err
	}
	t := newTrigger(src.Rate())
	if err := listen(ctx, src, c.number, 0, src.Frames(), progress, t.feed); err != nil {
		return err
	}
	if t.contrast() > newDB {
		c.clear = src
	}
	if t.contrast() > c.t.contrast()+betterDB {
		c.t, c.ears = t, src
	}
	return nil
}

// hearFrom makes src the take that the channel is heard in, which differs from what it
// was in what a leak reaches, and hears that again.
func (c *channel) hearFrom(ctx context.Context, src calib.Source, l *leak) (err error) {
	in := func(was calib.Source) calib.Source {
		if s, ok := was.(toneless); ok {
			return toneless{src, c.number, s.filter}
		}
		return src
	}
	c.ears, c.clear, c.src = in(c.ears), in(c.clear), src
	if c.t, err = c.t.again(ctx, c.ears, c.number, l.reach()); err != nil {
		return err
	}
	maps.DeleteFunc(c.picks, func(frame int64, _ Hit) bool {
		at := float64(frame) / l.rate
		return l.near(at-noiseS-guardS, at+pickedS)
	})
	return c.pick(ctx)
}

// contrast returns by how many dB the channel's loud strikes exceed its noise.
func (t *trigger) contrast() float64 {
	return t.top(peaks(t.candidates), 3) - t.floor()
}

// listen runs the trigger over the channel as it is in src, and what else is to hear it.
func (c *channel) listen(ctx context.Context, src calib.Source, progress func(float64), also func([]float32)) error {
	c.src, c.ears, c.clear, c.t = src, src, src, newTrigger(src.Rate())
	return listen(ctx, src, c.number, 0, src.Frames(), progress, func(block []float32) {
		c.t.feed(block)
		if also != nil {
			also(block)
		}
	})
}

func checkChannel(src calib.Source, channel int) error {
	if n := src.Channels(); channel < 1 || channel > n {
		if n == 1 {
			return i18n.Errorf("the take has one channel only, and reference and voice need one each: record both in one file")
		}
		return i18n.Errorf("the take has %d channels; channel %d is not there: choose another", n, channel)
	}
	if r := src.Rate(); !(r >= lowestRate) {
		return i18n.Errorf("the take's sample rate of %g Hz is too low to tell hits: record at %d Hz or more", r, lowestRate)
	}
	return nil
}

const (
	lowestRate = 4000    // Hz
	readLen    = 1 << 14 // samples read at a time
	floorShare = 0.3     // of the blocks of a channel are noise alone
)

// listen is the first pass: it reads a channel block by block, from one frame to another.
func listen(ctx context.Context, src calib.Source, channel int, from, to int64, progress func(float64), feed func([]float32)) error {
	buf := make([]float32, min(readLen, to-from))
	for at := from; at < to; {
		if err := ctx.Err(); err != nil {
			return err
		}
		n, err := src.ReadAt(buf[:min(int64(len(buf)), to-at)], channel, at)
		clean(buf[:n])
		feed(buf[:n])
		at += int64(n)
		if errors.Is(err, io.EOF) || err == nil && n == 0 {
			break // shorter than it says: what is there still counts
		}
		if err != nil {
			return i18n.Errorf("reading channel %d: %w", channel, err)
		}
		progress(float64(at-from) / float64(to-from))
	}
	return nil
}

const none = -1 // s, the time of what is no hit

const pickedS = strikeS + reachS // after a candidate, the sound that its pick looks at

// pick is the second pass: it makes hits of the trigger's candidates, but for those that
// were picked already.
func (c *channel) pick(ctx context.Context) error {
	found, floor := c.t.worthwhile(), c.t.floor()
	hits := make([]Hit, len(found))
	if err := inParallel(ctx, len(found), func(i int) (err error) {
		frame, from, picked := found[i].frame, int64(0), false
		if i > 0 { // what lies before belongs to another
			from = found[i-1].frame + int64(againS*c.src.Rate())/2
		}
		if hits[i], picked = c.picks[frame]; !picked {
			hits[i], err = pickAt(c.clear, c.number, frame, from)
		}
		if hits[i].Strength = decibels(found[i].peak) - floor; err != nil {
			return i18n.Errorf("reading channel %d: %w", c.number, err)
		}
		return nil
	}); err != nil {
		return err
	}
	c.picks = map[int64]Hit{}
	for i, h := range hits {
		c.picks[found[i].frame] = h
	}
	hits = slices.DeleteFunc(hits, func(h Hit) bool { return h.TimeS == none })
	c.hits = mergeSame(hits)
	slices.SortStableFunc(c.hits, func(a, b Hit) int { return cmp.Compare(a.TimeS, b.TimeS) })
	return nil
}

// A sound begins somewhere between where it first stands out and where it has risen to
// this share of its peak.
const riseShare = 1.0 / 8

// sameS is how close two picks of one strike may lie.
const sameS = 0.003

// mergeSame makes one hit of picks of the same strike; the first one's time
// counts, since the later ones were triggered within the sound.
func mergeSame(hits []Hit) []Hit {
	var kept []Hit
	for _, h := range hits {
		if n := len(kept); n > 0 && h.TimeS-kept[n-1].TimeS < sameS {
			if last := &kept[n-1]; h.Level > last.Level {
				last.Level, last.Strength, last.mainS = h.Level, h.Strength, h.mainS
			}
			continue
		}
		kept = append(kept, h)
	}
	return kept
}

const (
	oneSoundS  = 0.018 // a strike's later swings may pass for another within this time
	oneSoundDB = 6     // unless they are louder by this much
	stageDB    = 20    // by which a drum's second stage may be louder than its first
)

// single returns the hits less those that are later swings of the one before, or its
// second stage: that may be much louder, where the first cannot be the leak of a hit in
// the other channel.
func single(hits, other []Hit) []Hit {
	kept := make([]Hit, 0, len(hits))
	for _, h := range begun(hits) {
		if n := len(kept); n > 0 && h.TimeS-kept[n-1].TimeS < oneSoundS {
			limit := float64(oneSoundDB)
			if _, leak := source(kept[n-1], other); !leak {
				limit = stageDB
			}
			if h.Level < kept[n-1].Level+limit {
				continue
			}
		}
		kept = append(kept, h)
	}
	return kept
}

const (
	stagesS    = 0.08   // s in which one strike may sound again, as a stick that rebounds or a case that rings
	lockedS    = 0.0002 // s by which stages keep their distance: no two strikes do (leastJitterMS)
	stageShare = 0.3    // of a channel's hits, that are second stages
)

// begun returns the hits less those that follow another always as soon, be they ever so
// loud: they are stages of the one sound that it begins.
func begun(hits []Hit) []Hit {
	type pair struct {
		s  float64
		of int
	}
	var after []pair
	for j := range hits {
		for i := j - 1; i >= 0 && hits[j].TimeS-hits[i].TimeS < stagesS; i-- {
			after = append(after, pair{hits[j].TimeS - hits[i].TimeS, j})
		}
	}
	slices.SortFunc(after, func(a, b pair) int { return cmp.Compare(a.s, b.s) })
	var best []pair
	for lo, hi := 0, 0; hi < len(after); hi++ {
		for after[hi].s-after[lo].s > lockedS {
			lo++
		}
		if hi+1-lo > len(best) {
			best = after[lo : hi+1]
		}
	}
	if len(best) < calib.MinPairs || float64(len(best)) < stageShare*float64(len(hits)) {
		return hits
	}
	kept := slices.Clone(hits)
	for _, p := range best {
		kept[p.of].TimeS = none
	}
	return begun(slices.DeleteFunc(kept, func(h Hit) bool { return h.TimeS == none }))
}

// pickAt reads the sound round a candidate, from a frame on at most, and returns its hit;
// its time is none where nothing begins.
func pickAt(src calib.Source, channel int, frame, from int64) (Hit, error) {
	rate := src.Rate()
	start := max(0, frame-int64((noiseS+guardS)*rate))
	raw := make([]float32, frame-start+int64(pickedS*rate))
	got, err := src.ReadAt(raw, channel, start)
	if err != nil && !errors.Is(err, io.EOF) {
		return Hit{}, err
	}
	clean(raw[:got])
	x, at := floats64(raw[:got]), int(frame-start)
	if at >= len(x) {
		return Hit{TimeS: none}, nil
	}
	o, ok := pick(x, at, int(max(from-start, 0)), at-int(math.Ceil(guardS*rate)), 1, rate)
	if !ok {
		return Hit{TimeS: none}, nil
	}
	begin := int(o.first)
	strike := runHighPass(raw[:min(got, begin+int(strikeS*rate))], begin, rate)
	if len(strike) == 0 {
		return Hit{TimeS: none}, nil
	}
	peak, up := math.Abs(strike[peakAt(strike, 0, len(strike))]), 0
	for up+1 < len(strike) && math.Abs(strike[up]) < riseShare*peak {
		up++
	}
	begins := float64(start) + o.first
	return Hit{
		TimeS: begins / rate, mainS: (float64(start) + o.main) / rate, upS: (begins + float64(up)) / rate, hides: o.hides,
		Level: decibels(energy(strike) / float64(len(strike))),
	}, nil
}
