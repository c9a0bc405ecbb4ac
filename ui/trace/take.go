package trace

import (
	"context"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/plotting/wave"
	"lagwright/ui/trace/picture"
)

// Take is what the trace draws. The trace owns it once it is set.
type Take = picture.Take

// Load builds both pyramids of a take whose hits are as they were found, reference and voice being channels of src
// that count from 1. It may run on any goroutine and is cancelled through ctx;
// progress, if not nil, gets the share done on the same goroutine.
func Load(ctx context.Context, src calib.Source, reference, voice int, reading calib.Reading, progress func(float64)) (*Take, error) {
	half := func(start float64) func(float64) {
		if progress == nil {
			return nil
		}
		return func(share float64) { progress(start + share/2) }
	}
	r, err := wave.Build(ctx, src, reference, half(0))
	if err != nil {
		return nil, err
	}
	v, err := wave.Build(ctx, src, voice, half(0.5))
	if err != nil {
		return nil, err
	}
	found := machine.Heard{Reading: reading}
	return &Take{
		Reference: r, Voice: v, Reading: reading,
		ReferenceHits: found.Hits(machine.ReferenceChannel), VoiceHits: found.Hits(machine.VoiceChannel),
	}, nil
}

// seconds returns how long the longer channel is.
func seconds(tk *Take) float64 {
	return max(float64(tk.Reference.Frames())/tk.Reference.Rate(), float64(tk.Voice.Frames())/tk.Voice.Rate())
}
