package session

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
	hits := h.edited(c).left()
	slices.SortStableFunc(hits, func(a, b Hit) int { return cmp.Compare(a.AtS, b.AtS) })
	return hits
}

// edited returns the hits of a channel after all edits.
func (h Heard) edited(c Channel) *hitList {
	l := &hitList{hits: foundHits(h.Found(), c)}
	if h.ByHand != nil {
		for _, e := range h.ByHand.Edits {
			if e.Channel == c {
				_ = l.apply(e) // validated when it was made and when it was read
			}
		}
	}
	return l
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
	hits := map[Channel]*hitList{ReferenceChannel: h.edited(ReferenceChannel), VoiceChannel: h.edited(VoiceChannel)}
	for _, e := range edits {
		if err := e.validate(); err != nil {
			return err
		}
		if err := hits[e.Channel].apply(e); err != nil {
			return err
		}
	}
	var before []Edit
	if h.ByHand != nil {
		before = h.ByHand.Edits
	}
	h.ByHand = &ByHand{Edits: append(slices.Clip(before), edits...), Found: h.Found()}
	return nil
}

// Found returns the reading before anything was changed by hand.
func (h Heard) Found() calib.Reading {
	if h.ByHand == nil {
		return h.Reading
	}
	return h.ByHand.Found
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

// hitList is the hits of a channel while edits are applied, each in a time that does
// not grow with their number.
type hitList struct {
	hits   []Hit           // in no order
	at     map[float64]int // which hit that is not struck out lies at a time; nil before the first edit
	struck map[float64]int // which struck-out hit was found at a time
	gone   map[int]bool    // those that were added and struck out again
}

func (l *hitList) apply(e Edit) error {
	if l.at == nil {
		l.at, l.struck, l.gone = make(map[float64]int, len(l.hits)), map[float64]int{}, map[int]bool{}
		for i, h := range l.hits {
			l.at[h.AtS] = i
		}
	}
	from := -1
	if e.AtS != nil {
		i, ok := l.at[*e.AtS]
		if !ok {
			return i18n.Errorf("the %s has no hit at %.4f s: choose one of its pins", e.Channel.words(), *e.AtS)
		}
		from = i
	}
	if e.ToS == nil {
		l.strike(from)
		return nil
	}
	if _, taken := l.at[*e.ToS]; taken {
		return i18n.Errorf("the %s has a hit at %.4f s already: choose another moment", e.Channel.words(), *e.ToS)
	}
	if from >= 0 {
		delete(l.at, *e.AtS)
	} else if i, ok := l.struck[*e.ToS]; ok {
		delete(l.struck, *e.ToS)
		from, l.hits[i].Struck = i, false
	} else {
		from = len(l.hits)
		l.hits = append(l.hits, Hit{FoundS: math.NaN()})
	}
	l.hits[from].AtS, l.at[*e.ToS] = *e.ToS, from
	return nil
}

// strike strikes out hit i. A found one stays to be seen where it was found; one
// that was added is gone.
func (l *hitList) strike(i int) {
	h := &l.hits[i]
	delete(l.at, h.AtS)
	if math.IsNaN(h.FoundS) {
		l.gone[i] = true
		return
	}
	h.AtS, h.Struck, l.struck[h.FoundS] = h.FoundS, true, i
}

// left returns the hits that are not gone.
func (l *hitList) left() []Hit {
	if len(l.gone) == 0 {
		return l.hits
	}
	left := make([]Hit, 0, len(l.hits))
	for i, h := range l.hits {
		if !l.gone[i] {
			left = append(left, h)
		}
	}
	return left
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
	found := Heard{Reading: h.ByHand.Found}
	hits := map[Channel]*hitList{ReferenceChannel: found.edited(ReferenceChannel), VoiceChannel: found.edited(VoiceChannel)}
	for i, e := range h.ByHand.Edits {
		err := e.validate()
		if err == nil {
			err = hits[e.Channel].apply(e)
		}
		if err != nil {
			return i18n.Errorf("change %d by hand: %w", i+1, err)
		}
	}
	return nil
}
