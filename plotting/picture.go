package plotting

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/sketch"
)

// Picture is the data of a take's picture: both channels, the hits and the pairs.
type Picture struct {
	Title          string
	Whole          Stretch // the take from end to end
	Near           Stretch // a part of it from near; without columns there is none
	ReferenceHitsS []float64
	Pairs          []calib.Pair
}

// Stretch is a part of a take as columns of equal width from its first moment
// to its last, in seconds from the start of the take. Both channels may be of
// different fineness.
type Stretch struct {
	FromS, ToS       float64
	Reference, Voice []Column
}

// Column is the lowest and the highest sample of a piece of one channel.
type Column struct{ Min, Max float32 }

const pictureWidth, pictureHeight = 250 * mm, 140 * mm

// mostColumns is as fine as a page can show.
const mostColumns = 1400

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

func (s Stretch) usable() bool {
	return finite(s.FromS) && finite(s.ToS) && s.ToS > s.FromS && len(s.Reference) > 0 && len(s.Voice) > 0
}

// pictureView is a picture ready to be drawn.
type pictureView struct {
	theme       Theme
	title, said string
	whole, near *strip        // near is nil where there is none
	reading     calib.Reading // its hits and pairs that can be drawn, in order
	reasons     []string      // of hits not used, the letter a first
	counts      map[string]int
}

// strip is a stretch whose waves are scaled to their hits.
type strip struct {
	span
	reference, voice wave
}

// wave is one channel of a strip; full is the height that fills its half.
type wave struct {
	columns []Column
	full    float64
}

func (p Picture) view(t Theme) *pictureView {
	v := &pictureView{theme: t, title: clean(p.Title), counts: map[string]int{}}
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
	v.whole = v.strip(p.Whole)
	if p.Near.usable() {
		v.near = v.strip(p.Near)
	}
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
	return joined(sketch.LagWords(sum/float64(used)), v.usedWords())
}

func (v *pictureView) usedWords() string {
	return i18n.F("%d of %d voice hits used", v.reading.Used(), len(v.reading.Pairs))
}

// strip scales a stretch.
func (v *pictureView) strip(s Stretch) *strip {
	return &strip{span{Lo: s.FromS, Hi: s.ToS}, scaled(s.Reference, s, v.reading.ReferenceHitsS), scaled(s.Voice, s, v.reading.VoiceHitsS)}
}

// hitSoundS is how long after a hit its sound is loudest.
const hitSoundS = 0.03

// scaled returns a wave in which a usual hit of those in the stretch reaches far
// into its half; without any, the loudest moment does.
func scaled(columns []Column, s Stretch, hitsS []float64) wave {
	w := wave{columns: joinedColumns(columns, mostColumns)}
	perS := float64(len(w.columns)) / (s.ToS - s.FromS)
	var heights []float64
	for _, at := range hitsS {
		if at >= s.FromS && at < s.ToS {
			from := min(int((at-s.FromS)*perS), len(w.columns)-1)
			to := min(from+1+int(hitSoundS*perS), len(w.columns))
			heights = append(heights, highest(w.columns[from:to]))
		}
	}
	if slices.Sort(heights); len(heights) > 0 {
		w.full = heights[len(heights)/2] * 1.25
	}
	if !(w.full > 0) {
		w.full = max(highest(w.columns), 1e-9)
	}
	return w
}

// highest returns how far columns reach from zero.
func highest(columns []Column) float64 {
	most := 0.0
	for _, c := range columns {
		if h := float64(max(c.Max, -c.Min)); finite(h) {
			most = math.Max(most, h)
		}
	}
	return most
}

// joinedColumns returns at most so many columns that reach as far.
func joinedColumns(columns []Column, most int) []Column {
	if len(columns) <= most {
		return columns
	}
	joined := make([]Column, most)
	for i := range joined {
		part := columns[i*len(columns)/most : (i+1)*len(columns)/most]
		joined[i] = part[0]
		for _, c := range part[1:] {
			joined[i] = Column{min(joined[i].Min, c.Min), max(joined[i].Max, c.Max)}
		}
	}
	return joined
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
