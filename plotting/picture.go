package plotting

import (
	"cmp"
	"fmt"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Picture is the data of a take's picture: both channels, the hits and the pairs.
type Picture struct {
	Title   string
	Reading calib.Reading
	Whole   Stretch // the take from end to end; without columns the hits are shown alone
	Near    Stretch // a part of it from near; without columns there is none
}

// Figure draws the picture: the reference above a shared line, the voice below
// it, a pin on each hit. Pairs that count are joined by a bracket as wide as
// their lag; voice hits that do not are hollow, with a letter that a legend
// explains. With a near stretch the whole take is a strip above it that shows
// where it lies.
func (p Picture) Figure() *Figure {
	v := p.view()
	if r := p.Reading; r.Used() >= calib.MinPairs && isLag(r.LagMS) {
		v.said = joined(calib.LateEarly(r.LagMS), v.said)
	}
	if !p.Whole.usable() {
		v.said = hitsAlone()
	}
	return printed(250*mm, 140*mm, v.paint)
}

// hitsAlone says why there is no sound to see.
func hitsAlone() string { return i18n.L("Hits alone: the recording is missing") }

// pictureView is a picture ready to be drawn.
type pictureView struct {
	title, said string
	whole, near Stretch
	reading     calib.Reading // its hits and pairs that can be drawn, in order
	reasons     []string      // of hits not used, the commonest first and the letter a
	counts      map[string]int
}

func (p Picture) view() *pictureView {
	if !p.Whole.usable() {
		p = p.silent()
	}
	v := &pictureView{title: clean(p.Title), whole: p.Whole, near: p.Near, counts: map[string]int{}}
	r := &v.reading
	for _, s := range p.Reading.ReferenceHitsS {
		if finite(s) {
			r.ReferenceHitsS = append(r.ReferenceHitsS, s)
		}
	}
	for _, q := range p.Reading.Pairs {
		if !finite(q.ReferenceS) || !finite(q.VoiceS) || !isLag(q.LagMS) {
			continue
		}
		q.Reason = clean(q.Reason)
		r.Pairs = append(r.Pairs, q)
		if q.Used {
			r.VoiceHitsS = append(r.VoiceHitsS, q.VoiceS)
		} else if v.counts[q.Reason]++; v.counts[q.Reason] == 1 {
			v.reasons = append(v.reasons, q.Reason)
		}
	}
	slices.Sort(r.ReferenceHitsS)
	slices.Sort(r.VoiceHitsS)
	slices.SortStableFunc(v.reasons, func(a, b string) int { return v.counts[b] - v.counts[a] })
	v.said = i18n.F("%d of %d voice hits used", r.Used(), len(r.Pairs))
	return v
}

// letter names a reason in the picture.
func (v *pictureView) letter(reason string) string {
	i := slices.Index(v.reasons, reason)
	if i < 0 || i >= 26 {
		return "?"
	}
	return string(rune('a' + i))
}

// why says a reason and how often it holds.
func (v *pictureView) why(reason string) string {
	words := cmp.Or(clean(calib.ReasonWords(reason)), i18n.L("no reason given"))
	return fmt.Sprintf("%s (%d)", words, v.counts[reason])
}
