package signal

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Codes of warnings of a reading.
const (
	WarnFewHits = "few-hits" // too few pairs were found for it to be trusted
	WarnTrend   = "trend"    // the lag changes along the take by more than the tempo explains
	WarnVague   = "vague"    // the used pairs disagree
)

const (
	trendSD      = 5   // standard uncertainties by which a trend must stand out
	trendLeastMS = 4.0 // from the first strike to the last
	deadDB       = 16  // above its noise a channel with nothing but noise never gets
	wholeBeat    = 0.4 // of a reference period: beyond, a lag may be a beat off
)

// warnings returns what one channel alone tells.
func (c *channel) warnings() []calib.Warning {
	var w []calib.Warning
	if dead(c.hits, c.t) {
		w = append(w, calib.Warn(calib.WarnDeadChannel, i18n.Say(
			"channel %d carries no hits: stop the crank, wait for rest, then check its cable, its microphone and the recorder's input", c.number)))
	}
	if !dead(c.hits, c.t) {
		w = append(w, c.cableWarnings()...)
	}
	if c.clip.clipped() && !dead(c.hits, c.t) {
		w = append(w, calib.Warn(calib.WarnClipped, i18n.Say(
			"channel %d is clipped: turn the recorder's input down; times hold, loudness does not", c.number)))
	}
	if c.mains != nil && c.clip.clipped() && c.mains.loudest() > humFills*float64(c.clip.top) {
		w = append(w, calib.Warn(calib.WarnDoubtful, i18n.Say(
			"channel %d is doubtful: its hum alone drives the recorder into clipping, and clipped hum cannot be taken out; stop the crank, check its plug and cable, then record again; never lift the safety earth, mains work is for a qualified electrician", c.number)))
	}
	return w
}

// humFills is the share of full range that hum may fill before clipping spoils it.
const humFills = 0.5

// dead reports whether a channel has no hits worth the name and never changes
// its level much.
func dead(hits []Hit, t *trigger) bool {
	loud := func(h Hit) bool { return h.Strength >= deadDB }
	return !slices.ContainsFunc(hits, loud) && quantile(t.levels, 0.98)-quantile(t.levels, 0.1) < deadDB
}

// agree reports whether pairs enough share a lag: a channel so faint that it seems
// dead is then none.
func agree(r calib.Reading) bool {
	return r.Used() > calib.MinPairs && r.HalfWidthMS() < vagueMS/2
}

// takeWarnings returns what only both channels together tell.
func takeWarnings(r calib.Reading) []calib.Warning {
	var w []calib.Warning
	if n := r.Used(); n < calib.MinPairs && !r.Has(calib.WarnDeadChannel) {
		w = append(w, calib.Warn(WarnFewHits, i18n.SayN(n,
			"only %d pair of reference and voice found: record a longer take, or check which channel is which",
			"only %d pairs of reference and voice found: record a longer take, or check which channel is which", n)))
	}
	told := r.Law.Determined() && !r.Law.WholeBeatsOpen // by the take's own tempos
	if !told && r.Used() > 0 && r.ReferencePeriodMS > 0 && math.Abs(r.LagMS) > wholeBeat*r.ReferencePeriodMS {
		w = append(w, calib.Warn(calib.WarnWholeBeat, i18n.Say(
			"the lag is nearly half of the %.0f ms between reference hits, so it may be a whole beat more or less: record at a second tempo to tell", r.ReferencePeriodMS)))
	}
	if by, sd := r.Trend(); math.Abs(by) > max(trendLeastMS, trendSD*sd) {
		w = append(w, calib.Warn(WarnTrend, i18n.Say(
			"the lag changes by %.0f ms along the take, and the tempo does not explain it: stop the crank, wait for rest, then look for a microphone, pin or plate that moves, and record again", by)))
	}
	if r.Law.Impossible() {
		w = append(w, calib.Warn(calib.WarnRival, i18n.Say(
			"the strikes of this take tell of a delay of %.0f ms, which no fall takes: stop the crank, wait for rest, then see whether the microphone is on this voice and its plug on the right channel, and record again", r.Law.DelayMS)))
	}
	if half := r.HalfWidthMS(); r.Used() >= calib.MinPairs && (half > vagueMS || r.Budget.BeginsMS > unclearMS) {
		w = append(w, calib.Warn(WarnVague, i18n.Say(
			"the pairs disagree, and the lag is known to ± %.0f ms only: look at the hits, strike out the false ones, or take it again", half)))
	}
	return w
}

const (
	vagueMS   = 5   // half of an interval beyond which pairs do not scatter but disagree
	unclearMS = 1.2 // standard uncertainty of where the strikes begin, beyond which hits are of two kinds
)

// within returns how many times lie between two others.
func within(s []float64, from, to float64) int {
	n := 0
	for _, t := range s {
		if t > from && t < to {
			n++
		}
	}
	return n
}

// most is the share of a voice's loud hits that a lag must be read from: what fewer
// say is no answer.
const (
	most     = 2.0 / 3
	asLoudDB = 4 // hits of one sound are as loud as this
)

// doubts returns a warning where too many hits as loud as those that the lag was read from
// lie elsewhere in one of the channels, and not where the other strikes: those may be its
// leak.
func doubts(pairs []calib.Pair, voice, train, reference []Hit) []calib.Warning {
	if len(pairs) != len(voice) {
		return nil
	}
	var own, other []Hit
	for i, p := range pairs {
		if p.Used {
			own = append(own, voice[i])
		} else if p.Reason != ReasonOffBeat {
			other = append(other, voice[i])
		}
	}
	used, others := len(own), asLoud(other, own, train)
	rest := beside(reference, train)
	if n := max(asLoud(rest, train, voice), ahead(rest, train, voice)); float64(n)*float64(used) > float64(others)*float64(len(train)) {
		used, others = len(train), n
	}
	if len(own) < calib.MinPairs || float64(used) >= most*float64(used+others) {
		return nil
	}
	return []calib.Warning{calib.Warn(calib.WarnRival, i18n.Say(
		"the lag is doubtful: it was read from %d hits, but %d others as loud lie elsewhere; look at the take, and record again",
		used, others))}
}

const (
	aheadS  = 0.1   // s before a strike in which the same sound may have begun
	aheadSD = 0.001 // s by which that varies from hit to hit, where it is one sound
)

// ahead counts the hits that come before others of their channel always by as much, and
// are no leak of the other channel's: which of two such trains strikes is not clear.
func ahead(hits, own, leaking []Hit) (n int) {
	var by []float64
	for _, h := range hits {
		i, _ := slices.BinarySearchFunc(own, h.TimeS, func(o Hit, t float64) int { return cmp.Compare(o.TimeS, t) })
		if _, leak := source(h, leaking); !leak && i < len(own) && own[i].TimeS-h.TimeS < aheadS {
			by = append(by, own[i].TimeS-h.TimeS)
		}
	}
	usual := median(by)
	return within(by, usual-aheadSD, usual+aheadSD)
}

// beside returns the hits less some.
func beside(hits, some []Hit) []Hit {
	gone := times(some)
	return slices.DeleteFunc(slices.Clone(hits), func(h Hit) bool { return within(gone, h.TimeS-sameS, h.TimeS+sameS) > 0 })
}

// asLoud counts the hits that are about as loud as some others of their channel, and are
// no leak of the other channel's.
func asLoud(hits, own, leaking []Hit) (n int) {
	limit := ownLevel(own, usualShare) - asLoudDB
	for _, h := range hits {
		if _, leak := source(h, leaking); !leak && h.Level > limit {
			n++
		}
	}
	return n
}

const (
	leastJitterMS = 0.3   // from hit to hit the least that any gate does (common practice, no published source)
	echoNearS     = 0.012 // s: one sound in two channels is picked this near, though its first stage be lost in one
	echoLoud      = 0.5   // of the spread of the reference's loudness, that of what one sound's differs by
	echoSD        = 2     // of leastJitterMS, beyond which equal loudness is luck
	sameShare     = 0.9   // of the hits come in both channels, where those are one
	sameLoudDB    = 1.0   // by which one microphone's hits differ in loudness from channel to channel
)

// echo returns a warning where the two channels hear the same: where both plugs are on
// one microphone, all hits come in both, always as much louder; where the voice's
// microphone hears nothing but the reference's leak, it is as late from hit to hit as no
// gate keeps it, or nearly so and its loudness follows that of the reference.
func (s sound) echo(r calib.Reading, reference, voice []Hit) []calib.Warning {
	var all, lags, own, louder []float64
	for _, h := range s.voice.heard {
		if o, ok := source(h, s.reference.heard); ok {
			all = append(all, h.Level-o.Level)
		}
	}
	for i, p := range r.Pairs {
		if p.Used {
			o := reference[slices.IndexFunc(reference, func(h Hit) bool { return h.TimeS == p.ReferenceS })]
			lags, own, louder = append(lags, p.LagMS), append(own, o.Level), append(louder, voice[i].Level-o.Level)
		}
	}
	hits := max(len(s.reference.heard), len(s.voice.heard))
	near, dof := math.Abs(r.LagMS) < 1000*echoNearS && len(lags) >= calib.MinPairs, 0.37*float64(len(lags)-1) // of a median: as sure as so many of a mean
	slices.Sort(all)
	switch n := len(all); {
	case n >= calib.MinPairs && float64(n) > sameShare*float64(hits) && all[n-1-n/20]-all[n/20] < sameLoudDB:
	case near && sdOf(lags) < leastJitterMS*math.Sqrt(distuv.ChiSquared{K: dof}.Quantile(0.05)/dof):
	case near && sdOf(lags) < echoSD*leastJitterMS && sdOf(louder) < echoLoud*sdOf(own):
	default:
		return nil
	}
	return []calib.Warning{calib.Warn(calib.WarnDoubtful, i18n.Say(
		"the lag is doubtful: channels %d and %d hear the same hits, always as far apart as no machine keeps them; stop the crank, wait for rest, then check that each microphone is on its own part and in its own plug",
		s.reference.number, s.voice.number))}
}
