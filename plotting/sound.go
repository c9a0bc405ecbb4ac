package plotting

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Sound is a recording that can be read anywhere, as take.File can. Channels
// count from 1 and full scale is ±1; ReadAt fills dst with one channel from the
// given frame on and returns io.EOF at the end, as io.ReaderAt does.
type Sound interface {
	Rate() float64 // frames per second
	Frames() int64
	ReadAt(dst []float32, channel int, frame int64) (int, error)
}

// StretchOf reads both channels of a recording between two moments, in seconds,
// as columns as fine as a page shows; memory stays bounded whatever the length.
// It returns ctx.Err() when cancelled.
func StretchOf(ctx context.Context, sound Sound, reference, voice int, fromS, toS float64) (Stretch, error) {
	rate := sound.Rate()
	first := min(max(int64(fromS*rate), 0), sound.Frames())
	frames := min(max(int64(math.Ceil(toS*rate)), first), sound.Frames()) - first
	s := Stretch{FromS: float64(first) / rate, ToS: float64(first+frames) / rate}
	for channel, into := range map[int]*[]Column{reference: &s.Reference, voice: &s.Voice} {
		var err error
		if *into, err = columnsOf(ctx, sound, channel, first, frames); err != nil {
			return Stretch{}, err
		}
	}
	return s, nil
}

// columnsOf reads one channel. A recording that ends early leaves silence.
func columnsOf(ctx context.Context, sound Sound, channel int, first, frames int64) ([]Column, error) {
	n := min(frames, mostColumns)
	columns, buf := make([]Column, n), make([]float32, 1<<14)
	for at := int64(0); at < frames; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		got, err := sound.ReadAt(buf[:min(int64(len(buf)), frames-at)], channel, first+at)
		for i, v := range buf[:got] {
			if c := &columns[(at+int64(i))*n/frames]; v == v { // a number
				c.Min, c.Max = min(c.Min, v), max(c.Max, v)
			}
		}
		at += int64(got)
		if errors.Is(err, io.EOF) || err == nil && got == 0 {
			return columns, nil
		}
		if err != nil {
			return nil, i18n.Errorf("cannot read the take at %.1f s: %w", float64(first+at)/sound.Rate(), err)
		}
	}
	return columns, nil
}

// nearPairs is how many pairs the near stretch of a picture shows.
const nearPairs = 3

// NearS returns from when to when, in seconds, the take is worth seeing from
// near: a few pairs about one that counts, where most reasons for leaving hits
// out are in sight, and of such places the one nearest to the middle. It is not
// ok where no more than these pairs count.
func (p Picture) NearS() (fromS, toS float64, ok bool) {
	v := p.view(Theme{})
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
