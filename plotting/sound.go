package plotting

import (
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/plotting/wave"
)

// mostColumns is as fine as a page can show.
const mostColumns = 1400

// Stretch is a part of a take as columns of equal width from its first moment to its
// last, in seconds from the start of the take.
type Stretch struct {
	FromS, ToS       float64
	Reference, Voice Wave
}

// Wave is one channel of a stretch, drawn so many times taller than full scale.
type Wave struct {
	Columns []wave.Range
	Gain    float64
}

func (s Stretch) usable() bool {
	return finite(s.FromS) && finite(s.ToS) && s.ToS > s.FromS && len(s.Reference.Columns) > 0 && len(s.Voice.Columns) > 0
}

// AddSound gives the picture both channels of its take: all of it, and from near what
// lies between two moments in seconds. Where that is all as well there is nothing from
// near, unless something worth seeing from near is wanted.
func (p *Picture) AddSound(reference, voice *wave.Pyramid, fromS, toS float64, near bool) (err error) {
	if reference == nil || voice == nil {
		return nil
	}
	length := max(float64(reference.Frames())/reference.Rate(), float64(voice.Frames())/voice.Rate())
	if p.Whole, err = stretchOf(reference, voice, 0, length); err != nil {
		return err
	}
	part := toS-fromS < length
	if !part && near {
		fromS, toS, part = p.NearS()
	}
	if part {
		p.Near, err = stretchOf(reference, voice, fromS, toS)
	}
	return err
}

// stretchOf returns the columns between two moments, as fine as a page shows.
func stretchOf(reference, voice *wave.Pyramid, fromS, toS float64) (Stretch, error) {
	s := Stretch{FromS: fromS, ToS: toS}
	for of, into := range map[*wave.Pyramid]*Wave{reference: &s.Reference, voice: &s.Voice} {
		each := (toS - fromS) * of.Rate() / mostColumns
		*into = Wave{make([]wave.Range, mostColumns), of.Gain()}
		if err := of.Columns(into.Columns, fromS*of.Rate(), each); err != nil {
			return Stretch{}, err
		}
	}
	return s, nil
}

// silent returns the picture without a sound in it, as long as its hits go on.
func (p Picture) silent() Picture {
	end := 1.0
	for _, s := range slices.Concat(p.Reading.ReferenceHitsS, p.Reading.VoiceHitsS) {
		if finite(s) {
			end = max(end, s+0.5)
		}
	}
	silence := Wave{make([]wave.Range, 1), 1}
	p.Whole = Stretch{ToS: end, Reference: silence, Voice: silence}
	if from, to, ok := p.NearS(); ok {
		p.Near = Stretch{FromS: from, ToS: to, Reference: silence, Voice: silence}
	}
	return p
}

// nearPairs is how many pairs the near stretch of a picture shows.
const nearPairs = 3

// NearS returns from when to when, in seconds, the take is worth seeing from
// near: a few pairs about one that counts, where most reasons for leaving hits
// out are in sight, and of such places the one nearest to the middle. It is not
// ok where no more than these pairs count.
func (p Picture) NearS() (fromS, toS float64, ok bool) {
	v := p.view()
	used := slices.DeleteFunc(slices.Clone(v.reading.Pairs), func(q calib.Pair) bool { return !q.Used })
	if len(used) <= nearPairs {
		return 0, 0, false
	}
	var gaps []float64
	for i := 1; i < len(used); i++ {
		gaps = append(gaps, used[i].ReferenceS-used[i-1].ReferenceS)
	}
	slices.Sort(gaps)
	half := math.Max(gaps[len(gaps)/2], 0.01) * nearPairs / 2
	middle, best := (p.Whole.FromS+p.Whole.ToS)/2, -1
	for _, q := range used {
		at := math.Min(math.Max((q.ReferenceS+q.VoiceS)/2, p.Whole.FromS+half), p.Whole.ToS-half)
		seen := v.reasonsBetween(at-half, at+half)
		if seen > best || seen == best && math.Abs(at-middle) < math.Abs((fromS+toS)/2-middle) {
			fromS, toS, best = at-half, at+half, seen
		}
	}
	return fromS, toS, 2*half < p.Whole.ToS-p.Whole.FromS
}

// reasonsBetween counts the different reasons of hits left out between two moments.
func (v *pictureView) reasonsBetween(fromS, toS float64) int {
	seen := map[string]bool{}
	for _, q := range v.reading.Pairs {
		if !q.Used && q.VoiceS >= fromS && q.VoiceS <= toS {
			seen[q.Reason] = true
		}
	}
	return len(seen)
}
