package main

import (
	"bufio"
	"context"
	bytesof "encoding/binary" // binary is taken in this package
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"

	"lagwright/calib/practice"
	"lagwright/calib/take"
)

// benchTempo is the tempo of the takes, in BPM.
const benchTempo = 96.0

// benchTake is a take on the disk, whole and channel by channel.
type benchTake struct {
	name   string
	stereo string
	mono   [2]string
	truth  practice.Truth
}

// offMS returns how far a lag is off in ms, either way; infinitely far where less
// than half of the hits went into it.
func (t benchTake) offMS(o outcome) float64 {
	if 2*o.Used < len(t.truth.VoiceHitsS) {
		return math.Inf(1)
	}
	return math.Abs(o.LagMS - t.truth.MeanLagMS)
}

// benchPlay plays the simulated machine with its everyday habits for so long.
func benchPlay(minutes, rate float64) (*practice.Recording, practice.Truth) {
	return practice.Default().Play(practice.Play{TempoBPM: benchTempo, Hits: int(minutes*benchTempo) - 3, Rate: rate, Seed: 1})
}

// play writes a take of so many minutes.
func (b *benchmark) play(ctx context.Context, name string, minutes float64) (t benchTake, err error) {
	rec, truth := benchPlay(minutes, b.rate)
	t = benchTake{name: name, stereo: filepath.Join(b.dir, name+".wav"), truth: truth}
	err = take.Write(ctx, t.stereo, rec, nil)
	for i := range t.mono {
		t.mono[i] = filepath.Join(b.dir, fmt.Sprintf("%s%d.wav", name, i+1))
		err = errors.Join(err, take.Write(ctx, t.mono[i], oneChannel{rec, i + 1}, nil))
	}
	return t, err
}

// oneChannel is one channel of a recording.
type oneChannel struct {
	*practice.Recording
	number int
}

func (oneChannel) Channels() int { return 1 }

func (c oneChannel) ReadAt(dst []float32, _ int, frame int64) (int, error) {
	return c.Recording.ReadAt(dst, c.number, frame)
}

const (
	floatTag   = 3 // WAVE_FORMAT_IEEE_FLOAT, RFC 2361
	floatBytes = 4
)

// writeFloat writes a recording as 32-bit float WAV, which take.Write has no use
// for.
func writeFloat(ctx context.Context, path string, rec *practice.Recording) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<16)
	w.Write(floatHeader(rec))
	channels := make([][]float32, rec.Channels())
	for i := range channels {
		channels[i] = make([]float32, decodeBlock)
	}
	for at := int64(0); at < rec.Frames() && ctx.Err() == nil; at += decodeBlock {
		n := 0
		for i, x := range channels {
			n, _ = rec.ReadAt(x, i+1, at)
		}
		writeFrames(w, channels, n)
	}
	return errors.Join(ctx.Err(), w.Flush(), f.Close())
}

// writeFrames writes the first n frames; the writer keeps its error.
func writeFrames(w *bufio.Writer, channels [][]float32, n int) {
	var b []byte
	for i := range n {
		b = b[:0]
		for _, x := range channels {
			b = bytesof.LittleEndian.AppendUint32(b, math.Float32bits(x[i]))
		}
		w.Write(b)
	}
}

// floatHeader is all that comes before the samples.
func floatHeader(rec *practice.Recording) []byte {
	le := bytesof.LittleEndian
	channels, rate := uint32(rec.Channels()), uint32(rec.Rate())
	frame := channels * floatBytes
	size := uint32(rec.Frames()) * frame
	b := le.AppendUint32([]byte("RIFF"), 36+size)
	b = le.AppendUint32(append(b, "WAVEfmt "...), 16)
	b = le.AppendUint16(le.AppendUint16(b, floatTag), uint16(channels))
	b = le.AppendUint32(le.AppendUint32(b, rate), rate*frame)
	b = le.AppendUint16(le.AppendUint16(b, uint16(frame)), 8*floatBytes)
	return le.AppendUint32(append(b, "data"...), size)
}
