package bench

import (
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
)

// Other is another sound of the voice that a take may be read by.
type Other struct {
	GapMS float64 // from a strike, as the take is read now, to the other sound; negative where that comes first
	hitsS []float64
}

// OtherSound returns the sound that comes with most strikes of a voice in a take at
// one distance, if there is one. Hits that were struck out count, so that the way
// back is open.
func OtherSound(h machine.Heard) (o Other, ok bool) {
	strikes := strikesOf(h.Reading)
	var others []float64
	for _, hit := range h.Hits(machine.VoiceChannel) {
		if !slices.Contains(strikes, hit.AtS) {
			others = append(others, hit.AtS)
		}
	}
	o.hitsS, o.GapMS = calib.OtherSound(strikes, others)
	return o, len(o.hitsS) > 0
}

func strikesOf(r calib.Reading) []float64 {
	var s []float64
	for _, p := range r.Pairs {
		if p.Used {
			s = append(s, p.VoiceS)
		}
	}
	slices.Sort(s)
	return s
}

// ReadOther reads a voice in the take with the given id by its other sound, as one
// change by hand: the strikes of now are struck out, and hits of the other sound that
// were are put back. Where there is no such sound it says so.
func (b *Bench) ReadOther(id int, voice string) (o Other, err error) {
	return o, b.edit(id, voice, i18n.F("the sound that take %d is read by", id), func(h *machine.Heard) error {
		var ok bool
		if o, ok = OtherSound(*h); !ok {
			return i18n.Errorf("take %d has no second sound that comes with most strikes at one distance: strike out, add or move single hits instead", id)
		}
		return h.Edit(o.edits(*h)...)
	})
}

// edits returns what makes the other sound's hits the strikes. Whatever else lies
// near them is struck out too, as the loudest of a crowd it would count.
func (o Other) edits(heard machine.Heard) []machine.Edit {
	var edits []machine.Edit
	strikes := strikesOf(heard.Reading)
	for _, h := range heard.Hits(machine.VoiceChannel) {
		switch other := slices.Contains(o.hitsS, h.AtS); {
		case other && h.Struck:
			edits = append(edits, machine.Add(machine.VoiceChannel, h.FoundS))
		case !other && !h.Struck && (slices.Contains(strikes, h.AtS) || o.near(h.AtS)):
			edits = append(edits, machine.StrikeOut(machine.VoiceChannel, h.AtS))
		}
	}
	return edits
}

// near reports whether a time lies closer to one of the other sound's hits than
// the strikes do.
func (o Other) near(atS float64) bool {
	return slices.ContainsFunc(o.hitsS, func(s float64) bool { return math.Abs(atS-s) < math.Abs(o.GapMS)/1000 })
}
