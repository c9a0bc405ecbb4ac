package plotting

import (
	"fmt"
	"slices"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Picture is the data of a take's picture: both channels, the hits and the pairs.
type Picture struct {
	Title          string
	Whole          Stretch // the take from end to end
	Near           Stretch // a part of it from near; without columns there is none
	ReferenceHitsS []float64
	Pairs          []calib.Pair
}

const pictureWidth, pictureHeight = 250 * mm, 140 * mm

// Figure draws the picture: the reference above a shared line, the voice below
// it, a pin on each hit. Pairs that count are joined by a bracket as wide as
// their lag; voice hits that do not are hollow, with a letter that a legend
// explains. With a near stretch the whole take is a strip above it that shows
// where it lies. A picture without a moment of sound is an error.
func (p Picture) Figure(t Theme) (*Figure, error) {
	if !p.Whole.usable() {
		return nil, i18n.Errorf("cannot draw the take: it has no sound between %g and %g s", p.Whole.FromS, p.Whole.ToS)
	}
	v := p.view(t)
	return &Figure{width: pictureWidth, height: pictureHeight, background: t.Paper, paint: []func(pen){v.paint}}, nil
}

// pictureView is a picture ready to be drawn.
type pictureView struct {
	theme       Theme
	title, said string
	whole, near Stretch
	reading     calib.Reading // its hits and pairs that can be drawn, in order
	reasons     []string      // of hits not used, the letter a first
	counts      map[string]int
}

func (p Picture) view(t Theme) *pictureView {
	v := &pictureView{theme: t, title: clean(p.Title), whole: p.Whole, near: p.Near, counts: map[string]int{}}
	r := &v.reading
	for _, s := range p.ReferenceHitsS {
		if finite(s) {
			r.ReferenceHitsS = append(r.ReferenceHitsS, s)
		}
	}
	for _, q := range p.Pairs {
		if finite(q.ReferenceS) && finite(q.VoiceS) && isLag(q.LagMS) {
			q.Reason = clean(q.Reason)
			if r.Pairs = append(r.Pairs, q); q.Used {
				r.VoiceHitsS = append(r.VoiceHitsS, q.VoiceS)
			}
		}
	}
	slices.Sort(r.ReferenceHitsS)
	slices.Sort(r.VoiceHitsS)
	v.said = v.count()
	return v
}

// count notes the reasons, the commonest first, and says what is used.
func (v *pictureView) count() string {
	sum := 0.0
	for _, p := range v.reading.Pairs {
		if p.Used {
			sum += p.LagMS
			continue
		}
		if v.counts[p.Reason]++; v.counts[p.Reason] == 1 {
			v.reasons = append(v.reasons, p.Reason)
		}
	}
	slices.SortStableFunc(v.reasons, func(a, b string) int { return v.counts[b] - v.counts[a] })
	used := v.reading.Used()
	if used == 0 {
		return v.usedWords()
	}
	return joined(calib.LateEarly(sum/float64(used)), v.usedWords())
}

func (v *pictureView) usedWords() string {
	return i18n.F("%d of %d voice hits used", v.reading.Used(), len(v.reading.Pairs))
}

// letter names a reason in the picture.
func (v *pictureView) letter(reason string) string {
	i := slices.Index(v.reasons, reason)
	if i < 0 || i >= 26 {
		return "?"
	}
	return string(rune('a' + i))
}

// legend is what the marks mean; each line is a reason of its own.
func (v *pictureView) legend() []string {
	var words []string
	for _, r := range v.reasons {
		words = append(words, v.letter(r)+"  "+v.why(r))
	}
	return words
}

// why says a reason and how often it holds.
func (v *pictureView) why(reason string) string {
	words := clean(calib.ReasonWords(reason))
	if words == "" {
		words = i18n.L("no reason given")
	}
	return fmt.Sprintf("%s (%d)", words, v.counts[reason])
}

// overviewShare is how much of the height the whole take has above a near part.
const overviewShare vg.Length = 0.27
