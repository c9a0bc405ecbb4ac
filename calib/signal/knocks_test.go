package signal

import (
	"math"
	"math/rand/v2"
	"testing"

	"lagwright/calib"
)

const soundRate = 16000.0

// sounding is a take of two channels as a test lays it.
type sounding struct {
	calib.Recording
	r *rand.Rand
}

// newSounding returns a take of some seconds with a noise of a standard deviation.
func newSounding(seconds int, noise float64) sounding {
	n := seconds * soundRate
	s := sounding{calib.Recording{RateHz: soundRate, Samples: [][]float32{make([]float32, n), make([]float32, n)}}, rand.New(rand.NewPCG(8, 8))}
	for _, x := range s.Samples {
		for i := range x {
			x[i] = float32(noise * s.r.NormFloat64())
		}
	}
	return s
}

// strike lays a tone of hz on a channel that dies away with a time constant of 10 ms.
func (s sounding) strike(channel int, atS, size, hz float64) {
	x := s.Samples[channel-1]
	for j := int(atS*soundRate) + 1; j < min(int((atS+0.1)*soundRate), len(x)); j++ {
		t := float64(j)/soundRate - atS
		x[j] += float32(size * math.Exp(-t/0.01) * math.Sin(2*math.Pi*hz*t))
	}
}

// TestKnocksAreNotTheStrikes: as many knocks as somebody makes who handles the machine, each
// much louder than the strikes, hide none of these, however slow the tempo.
func TestKnocksAreNotTheStrikes(t *testing.T) {
	t.Parallel()
	const size, lagS = 0.015, 0.1
	for _, c := range []struct {
		seconds, bpm, knocks, on int
		dB                       float64
	}{
		{15, 120, 1, 2, 25}, {15, 120, 1, 2, 30}, {30, 120, 2, 2, 30}, {60, 120, 4, 2, 30}, {60, 90, 4, 2, 30},
		{12, 120, 1, 1, 30}, {18, 120, 1, 1, 30}, {60, 120, 4, 1, 30},
		{8, 60, 1, 2, 25}, {20, 60, 2, 1, 44}, {40, 60, 3, 2, 20},
	} {
		s, beats := newSounding(c.seconds, 0.0006), 0
		for at := 0.5; at+2*lagS < float64(c.seconds); at += 60 / float64(c.bpm) {
			s.strike(1, at, size, 700)
			s.strike(2, at+lagS, size, 900)
			beats++
		}
		for i := range c.knocks {
			s.strike(c.on, float64(c.seconds)*(float64(i)+0.2+0.6*s.r.Float64())/float64(c.knocks), size*math.Pow(10, c.dB/20), 600)
		}
		got, err := Measure(t.Context(), s, Options{})
		if err != nil || math.Abs(got.LagMS-1000*lagS) > 0.5 || got.Used() < beats-2*c.knocks || len(got.Warnings) > 0 {
			t.Errorf("%+v: %d of %d beats, %.2f ms, %v, %v", c, got.Used(), beats, got.LagMS, got.Warnings, err)
		}
	}
}

// TestPulsesAreNotTheStrikes: what pulses in a noise ten times a second is no strike, though a
// voice on every fourth beat strikes far more seldom.
func TestPulsesAreNotTheStrikes(t *testing.T) {
	t.Parallel()
	const size, lagS = 0.3, 0.1
	for _, c := range []struct {
		seconds, bpm int
		dB, perS     float64 // below the strikes, pulses
	}{{40, 90, 40, 10}, {40, 90, 26, 14}} {
		s, strikes := newSounding(c.seconds, 0.00003), 0
		for beat := 0; ; beat++ {
			at := 0.5 + 60/float64(c.bpm)*float64(beat)
			if at+2*lagS > float64(c.seconds) {
				break
			}
			s.strike(1, at, size, 700)
			if beat%4 == 0 {
				s.strike(2, at+lagS+0.001*s.r.NormFloat64(), size, 900)
				strikes++
			}
		}
		for at := 0.1; at < float64(c.seconds)-0.1; at += 1 / c.perS * (1 + 0.05*s.r.NormFloat64()) {
			s.strike(2, at, size*math.Pow(10, -(c.dB+3*s.r.NormFloat64())/20), 1500)
		}
		got, err := Measure(t.Context(), s, Options{})
		if err != nil || math.Abs(got.LagMS-1000*lagS) > 0.5 || got.Used() < strikes-1 || got.Used() > strikes || len(got.Warnings) > 0 {
			t.Errorf("%+v: %d used of %d, %.2f ms, %v, %v", c, got.Used(), strikes, got.LagMS, got.Warnings, err)
		}
	}
}

// TestFewOfManyBeats: a few sounds as far from the beat as each other are no voice.
func TestFewOfManyBeats(t *testing.T) {
	s := newSounding(60, 0.0006)
	for beat := range 117 {
		s.strike(1, 1+0.5*float64(beat), 0.015, 700)
	}
	for _, beat := range []float64{10, 45, 70, 100} {
		s.strike(2, 1+0.5*beat-0.23, 0.3, 600)
	}
	if got, err := Measure(t.Context(), s, Options{}); err != nil || !got.Has(calib.WarnRival) {
		t.Errorf("%d used, %.2f ms, %v, %v", got.Used(), got.LagMS, got.Warnings, err)
	}
}
