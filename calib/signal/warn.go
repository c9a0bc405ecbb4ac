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
	w := c.cableWarnings()
	if dead(c.hits, c.t) {
		w = []calib.Warning{calib.Warn(calib.WarnDeadChannel, i18n.Say(
			"channel %d carries no hits: stop the crank, wait for rest, then check its cable, its microphone and the recorder's input", c.number))}
	} else if c.clip.clipped() {
		w = append(w, calib.Warn(calib.WarnClipped, i18n.Say(
			"channel %d is clipped: turn the recorder's input down; times hold, loudness does not", c.number)))
	}
	if c.mains != nil && c.clip.clipped() && c.mains.loudest() > humFills*float64(c.clip.top) {
		w = append(w, calib.Warn(calib.WarnDoubtful, i18n.Say(
			"channel %d is doubtful: its hum alone drives the recorder into clipping, and clipped hum cannot be taken out; stop the crank, wait for rest, then check its plug and cable, and record again; never lift the safety earth, mains work is for a qualified electrician", c.number)))
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
		open := i18n.Say("the lag is nearly half of the %.0f ms between reference hits, so the voice may belong to the hit before or after: record at a second tempo to tell", r.ReferencePeriodMS)
		if r.Law.Determined() {
			open = i18n.Say("the lag is nearly half of the %.0f ms between reference hits, so the voice may belong to the hit before or after: to tell, stop the crank, wait for rest, then see how far the plate was turned", r.ReferencePeriodMS)
		}
		w = append(w, calib.Warn(calib.WarnWholeBeat, open))
	}
	if by, sd := r.Trend(); math.Abs(by) > max(trendLeastMS, trendSD*sd) {
		w = append(w, calib.Warn(WarnTrend, i18n.Say(
			"the lag changes by %.0f ms along the take, and the tempo does not explain it: stop the crank, wait for rest, then look for a microphone, pin or plate that moves, and record again", by)))
	}
	if r.Law.Impossible() {
		w = append(w, calib.Warn(calib.WarnRival, i18n.Say(
			"the strikes of this take tell of a delay of %.0f ms, which no fall takes: stop the crank, wait for rest, then see whether the microphone is on this voice and its plug on the right channel, and record again", r.Law.DelayMS)))
	}
	if r.Used() >= calib.MinPairs && r.Widen(0, math.Inf(1)).HalfWidthMS() > vagueMS { // by their scatter alone
		w = append(w, calib.Warn(WarnVague, i18n.Say(
			"the pairs disagree, and the lag is known to ± %.0f ms only: look at the hits, strike out the false ones, or play the take again", r.HalfWidthMS())))
	}
	return w
}

const (
	vagueMS = 5   // half of an interval, by scatter alone, beyond which pairs do not scatter but disagree
	farMost = 0.2 // how likely it may be that where the strikes begin is off by farS
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
	asLoudDB = 4  // hits of one sound are as loud as this
	fewOf    = 20 // beats have one strike at least, or there are too few
)

// doubts returns a warning where too many hits as loud as those that the lag was read from
// lie elsewhere in one of the channels, and not where the other strikes: those may be its
// leak; and where so few beats have a strike that those may be knocks.
func doubts(pairs []calib.Pair, voice, train, reference []Hit, opt Options) []calib.Warning {
	var other []Hit
	for i, p := range pairs {
		if !p.Used && p.Reason != calib.ReasonOffBeat {
			other = append(other, voice[i])
		}
	}
	own := strikes(pairs, voice)
	used, others := len(own), asLoud(other, own, train)
	if n := asLoud(beside(reference, train), train, voice); float64(n)*float64(used) > float64(others)*float64(len(train)) {
		used, others = len(train), n
	}
	beats := len(train) / (opt.PerBeat * max(opt.Every, 1))
	few := len(own)*fewOf < beats
	if len(own) < calib.MinPairs || !few && float64(used) >= most*float64(used+others) {
		return nil
	}
	says := i18n.Say("the lag is doubtful: it was read from %d hits, but %d others as loud lie elsewhere; look at the take, and record again", used, others)
	if few {
		says = i18n.Say("the lag is doubtful: of %d beats only %d have a strike; look at the take, and record again", beats, len(own))
	}
	return []calib.Warning{calib.Warn(calib.WarnRival, says)}
}

// beside returns the hits less some.
func beside(hits, some []Hit) []Hit {
	gone := times(some)
	return slices.DeleteFunc(slices.Clone(hits), func(h Hit) bool { return within(gone, h.TimeS-sameS, h.TimeS+sameS) > 0 })
}

// loud returns the hits that are about as loud as some others of their channel.
func loud(hits, own []Hit) []Hit {
	limit := ownLevel(own, usualShare) - asLoudDB
	return slices.DeleteFunc(slices.Clone(hits), func(h Hit) bool { return h.Level <= limit })
}

// asLoud counts the hits that are about as loud as some others of their channel, and are
// no leak of the other channel's.
func asLoud(hits, own, leaking []Hit) (n int) {
	for _, h := range loud(hits, own) {
		if _, leak := source(h, leaking); !leak {
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
	sameSound     = 0.98  // correlation of what two channels hear of one microphone
)

// same reports whether both channels hear some hits alike to the sample and as loud beside
// each other, as where both plugs are on one microphone.
func (s sound) same(hits []Hit) (bool, error) {
	var cross, e, f float64
	for _, h := range hits {
		at, n := int64(h.TimeS*s.take.Rate()), int(strikeS*s.take.Rate())
		x, err := highPassed(s.take, s.reference.number, at, n)
		y, failed := highPassed(s.take, s.voice.number, at, n)
		if err = cmp.Or(err, failed); err != nil {
			return false, err
		}
		if x != nil && y != nil {
			cross, e, f = cross+dot(x, y), e+energy(x), f+energy(y)
		}
	}
	return math.Abs(cross) > sameSound*math.Sqrt(e*f)+silence, nil
}

// echo reports whether the voice's microphone hears nothing but the reference's leak: that
// is as late from hit to hit as no gate keeps it, or nearly so and its loudness follows that
// of the reference.
func echo(r calib.Reading, reference, voice []Hit) bool {
	var lags, own, louder []float64
	for i, p := range r.Pairs {
		if p.Used {
			o := reference[slices.IndexFunc(reference, func(h Hit) bool { return h.TimeS == p.ReferenceS })]
			lags, own, louder = append(lags, p.LagMS), append(own, o.Level), append(louder, voice[i].Level-o.Level)
		}
	}
	if math.Abs(r.LagMS) > 1000*echoNearS || len(lags) < calib.MinPairs {
		return false
	}
	dof := 0.37 * float64(len(lags)-1) // of a median: as sure as so many of a mean
	return sdOf(lags) < leastJitterMS*math.Sqrt(distuv.ChiSquared{K: dof}.Quantile(0.05)/dof) ||
		sdOf(lags) < echoSD*leastJitterMS && sdOf(louder) < echoLoud*sdOf(own)
}
