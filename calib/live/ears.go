package live

import (
	"cmp"
	"context"
	"io"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/signal"
	"lagwright/calib/take"
)

// ears hear a recording while it grows: at each tick the ordinary measuring goes
// over what there is, which is quick, so that a live lag is the file's.
type ears struct {
	path string
	plan handsfree.Plan

	file    *take.File    // nil until there is sound
	heard   int64         // frames whose levels were told
	fromS   float64       // what is measured begins here, s
	reading calib.Reading // the latest
	any     bool          // something struck
	block   []float32
}

// waitingS is how much of the past is measured while nobody plays yet, and pastS
// how much at most: no take lasts longer.
const (
	waitingS = 20
	pastS    = handsfree.LongestSweepS + 10
)

// hear returns what came since it was last called; without a reading where ctx is
// done before it is measured.
func (e *ears) hear(ctx context.Context, phase handsfree.Phase) handsfree.Heard {
	if e.file == nil {
		file, err := take.Open(e.path)
		if err != nil {
			return handsfree.Heard{} // no sound yet
		}
		e.file = file
	}
	if e.file.Extend() != nil {
		return handsfree.Heard{}
	}
	recordedS := e.file.DurationS()
	past := float64(pastS)
	if phase == handsfree.Waiting {
		past = waitingS
	}
	e.fromS = max(e.fromS, recordedS-past)
	h := handsfree.Heard{RecordedS: recordedS, Levels: e.levels()}
	if reading, err := e.measure(ctx, recordedS); err == nil {
		e.reading = reading
		e.any = e.any || len(reading.ReferenceHitsS)+len(reading.VoiceHitsS) > 0
		h.Reading, h.MeasuredS = &reading, recordedS
	}
	return h
}

// levels returns those of what came since the last tick.
func (e *ears) levels() []handsfree.Level {
	n := e.file.Frames() - e.heard
	if int64(cap(e.block)) < n {
		e.block = make([]float32, n)
	}
	block := e.block[:n]
	levels := make([]handsfree.Level, e.file.Channels())
	for i := range levels {
		got, _ := e.file.ReadAt(block, i+1, e.heard) // a short read is the end
		levels[i] = handsfree.Hear(block[:got])
	}
	e.heard += n
	return levels
}

// measure measures what is heard between fromS and the end.
func (e *ears) measure(ctx context.Context, toS float64) (calib.Reading, error) {
	first := int64(e.fromS * e.file.Rate())
	part := section{e.file, first, int64(toS*e.file.Rate()) - first}
	r, err := signal.Measure(ctx, part, signal.Options{
		Reference: e.plan.Reference, Voice: e.plan.Voice, PerBeat: e.plan.PerBeat,
	})
	return later(r, float64(first)/e.file.Rate()), err
}

func (e *ears) close() {
	if e.file != nil {
		e.file.Close()
	}
}

// section is a part of a recording.
type section struct {
	*take.File
	first, frames int64
}

func (s section) Frames() int64 { return s.frames }

func (s section) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	if left := max(s.frames-frame, 0); int64(len(dst)) > left {
		n, err := s.File.ReadAt(dst[:left], channel, s.first+frame)
		return n, cmp.Or(err, io.EOF)
	}
	return s.File.ReadAt(dst, channel, s.first+frame)
}

// later returns a reading whose times count from so many seconds earlier.
func later(r calib.Reading, byS float64) calib.Reading {
	for i := range r.ReferenceHitsS {
		r.ReferenceHitsS[i] += byS
	}
	for i := range r.VoiceHitsS {
		r.VoiceHitsS[i] += byS
	}
	for i := range r.Pairs {
		r.Pairs[i].ReferenceS += byS
		r.Pairs[i].VoiceS += byS
	}
	return r
}
