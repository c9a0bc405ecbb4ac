package machine

import (
	"cmp"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Channel says which of a take's two sounds a hit belongs to.
type Channel string

// The channels of a take.
const (
	ReferenceChannel Channel = "reference"
	VoiceChannel     Channel = "voice"
)

// words names the channel in a sentence.
func (c Channel) words() string {
	if c == ReferenceChannel {
		return i18n.L("reference")
	}
	return i18n.L("voice")
}

// Edit is one change of a hit by hand. A hit with both times moved; without To
// it was struck out; without At it was added, or put back where a struck-out hit
// lies at just that time.
type Edit struct {
	Channel Channel  `json:"channel"`
	AtS     *float64 `json:"at_s"` // where the hit was, seconds from the start of the take; nil = nowhere
	ToS     *float64 `json:"to_s"` // where it is now; nil = nowhere
}

// ByHand is what the builder changed of a take's hits.
type ByHand struct {
	Edits []Edit        `json:"edits"` // in the order they were made; never empty
	Found calib.Reading `json:"found"` // the reading before the first of them
}

// StrikeOut returns the edit that strikes out a hit.
func StrikeOut(c Channel, atS float64) Edit { return Edit{Channel: c, AtS: &atS} }

// Add returns the edit that adds a hit, or puts a struck-out one back.
func Add(c Channel, toS float64) Edit { return Edit{Channel: c, ToS: &toS} }

// MoveHit returns the edit that moves a hit.
func MoveHit(c Channel, atS, toS float64) Edit { return Edit{Channel: c, AtS: &atS, ToS: &toS} }

// Hit is one hit of a take as the builder left it.
type Hit struct {
	AtS    float64 // seconds from the start of the take
	FoundS float64 // where it was found; NaN where it was added by hand
	Struck bool    // struck out: it counts for nothing any more
}

// ByHand reports whether the hit lies where the builder put it.
func (h Hit) ByHand() bool { return h.AtS != h.FoundS }

// Hits returns the hits of a channel in order of time, the struck-out ones
// among them. Those that were found but not used are hits too.
func (h Heard) Hits(c Channel) []Hit {
	hits, _, _ := h.after(c, nil) // the edits were in order when they were made and when they were read
	slices.SortStableFunc(hits, func(a, b Hit) int { return cmp.Compare(a.AtS, b.AtS) })
	return hits
}

// Changed returns how many hits are not as they were found.
func (h Heard) Changed() int {
	n := 0
	for _, hit := range append(h.Hits(ReferenceChannel), h.Hits(VoiceChannel)...) {
		if hit.Struck || hit.ByHand() {
			n++
		}
	}
	return n
}

// Edit adds edits: all of them, or none and an error. The found reading is kept
// aside with the first; Reading is the caller's to bring up to the hits.
func (h *Heard) Edit(edits ...Edit) error {
	for _, c := range []Channel{ReferenceChannel, VoiceChannel} {
		if _, _, err := h.after(c, edits); err != nil {
			return err
		}
	}
	h.ByHand = &ByHand{Edits: append(slices.Clip(h.edits()), edits...), Found: h.Found()}
	return nil
}

// edits returns what was changed by hand so far.
func (h Heard) edits() []Edit {
	if h.ByHand == nil {
		return nil
	}
	return h.ByHand.Edits
}

// Found returns the reading before anything was changed by hand.
func (h Heard) Found() calib.Reading {
	if h.ByHand == nil {
		return h.Reading
	}
	return h.ByHand.Found
}

// Trust takes a warning of a code off the reading, now and as it was found: the builder says
// that it is not so.
func (h *Heard) Trust(code string) {
	off := func(r *calib.Reading) {
		r.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), func(w calib.Warning) bool { return w.Code == code })
	}
	if off(&h.Reading); h.ByHand != nil {
		hand := *h.ByHand
		off(&hand.Found)
		h.ByHand = &hand
	}
}

// foundHits returns the hits of a channel in a reading, in order of time. The
// reading lists only the voice's used ones; the others are in its pairs.
func foundHits(r calib.Reading, c Channel) []Hit {
	times := slices.Clone(r.ReferenceHitsS)
	if c == VoiceChannel {
		times = slices.Clone(r.VoiceHitsS)
		for _, p := range r.Pairs {
			times = append(times, p.VoiceS)
		}
	}
	slices.Sort(times)
	times = slices.Compact(times)
	hits := make([]Hit, len(times))
	for i, at := range times {
		hits[i] = Hit{AtS: at, FoundS: at}
	}
	return hits
}

// after returns the hits of a channel, in no order, after what was changed by hand and some
// more edits; or which of all these cannot be, and why.
func (h Heard) after(c Channel, more []Edit) (hits []Hit, bad int, err error) {
	hits = foundHits(h.Found(), c)
	edits := slices.Concat(h.edits(), more)
	if len(edits) == 0 {
		return hits, 0, nil
	}
	at, struck := make(map[float64]int, len(hits)), map[float64]int{} // which hit counts at a time, and which struck-out one was found there
	for i, hit := range hits {
		at[hit.AtS] = i
	}
	for n, e := range edits {
		if err := e.validate(); err != nil {
			return nil, n, err
		}
		if e.Channel != c {
			continue
		}
		i := -1
		if e.AtS != nil {
			there := false
			if i, there = at[*e.AtS]; !there {
				return nil, n, i18n.Errorf("the %s has no hit at %.4f s: choose one of its pins", c.words(), *e.AtS)
			}
		}
		if e.ToS == nil { // a found one stays to be seen where it was found; one that was added is gone
			delete(at, *e.AtS)
			hit := &hits[i]
			hit.AtS, hit.Struck = hit.FoundS, true
			if !math.IsNaN(hit.FoundS) {
				struck[hit.FoundS] = i
			}
			continue
		}
		if _, taken := at[*e.ToS]; taken {
			return nil, n, i18n.Errorf("the %s has a hit at %.4f s already: choose another moment", c.words(), *e.ToS)
		}
		if i >= 0 {
			delete(at, *e.AtS)
		} else if back, was := struck[*e.ToS]; was {
			i, hits[back].Struck = back, false
			delete(struck, *e.ToS)
		} else {
			i, hits = len(hits), append(hits, Hit{FoundS: math.NaN()})
		}
		hits[i].AtS, at[*e.ToS] = *e.ToS, i
	}
	return slices.DeleteFunc(hits, func(hit Hit) bool { return math.IsNaN(hit.AtS) }), 0, nil
}

func (e Edit) validate() error {
	if e.Channel != ReferenceChannel && e.Channel != VoiceChannel {
		return i18n.Errorf("a hit was changed on channel %q: it must be %q or %q", e.Channel, ReferenceChannel, VoiceChannel)
	}
	if e.AtS == nil && e.ToS == nil {
		return i18n.Errorf("a change of a hit says neither where it was nor where it is")
	}
	if e.ToS != nil && !(*e.ToS >= 0 && *e.ToS <= math.MaxFloat64) {
		return i18n.Errorf("a hit was put at %g s: it must lie inside the take", *e.ToS)
	}
	return nil
}

// validateByHand makes the edits again.
func (h Heard) validateByHand() error {
	if h.ByHand == nil {
		return nil
	}
	switch n := len(h.ByHand.Edits); {
	case n == 0:
		return i18n.Errorf("by_hand lists no change: it must be null where nothing was changed")
	case n > mostEdits:
		return i18n.Errorf("by_hand lists %d changes: nobody makes more than %d", n, mostEdits)
	}
	for _, c := range []Channel{ReferenceChannel, VoiceChannel} {
		if _, n, err := h.after(c, nil); err != nil {
			return i18n.Errorf("change %d by hand: %w", n+1, err)
		}
	}
	return nil
}
