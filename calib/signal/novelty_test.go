package signal

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"lagwright/calib"
)

// memory is a take in memory, one channel.
type memory struct {
	rate float64
	x    []float32
}

func (m memory) Rate() float64 { return m.rate }
func (m memory) Channels() int { return 1 }
func (m memory) Frames() int64 { return int64(len(m.x)) }
func (m memory) ReadAt(dst []float32, _ int, frame int64) (int, error) {
	return copy(dst, m.x[min(frame, m.Frames()):]), nil
}

// ringing is three tones that ring on, as loud as the strike at sample 30000 that
// is one sample long, over noise 60 dB down.
func ringing(at int) memory {
	r := rand.New(rand.NewPCG(1, 2))
	m := memory{48000, make([]float32, 60000)}
	for i := range m.x {
		x := 0.001 * r.NormFloat64()
		for k, hz := range []float64{1175, 3239, 6350} {
			x += 0.3 * math.Exp(-float64(i)/60000) * math.Sin(2*math.Pi*hz/m.rate*float64(i)+float64(k))
		}
		if i == at {
			x += 0.3
		}
		m.x[i] = float32(x)
	}
	return m
}

func TestTonelessLeavesWhatIsNew(t *testing.T) {
	const at = 30000
	take := ringing(at)
	x := make([]float32, 2000)
	src, failed := newToneless(take, 1)
	n, err := src.ReadAt(x, 1, at-1000)
	if err = cmp.Or(err, failed); err != nil || n != len(x) {
		t.Fatalf("%d samples, %v", n, err)
	}
	loudest := 0
	for i, v := range x {
		if math.Abs(float64(v)) > math.Abs(float64(x[loudest])) {
			loudest = i
		}
	}
	if loudest != 1000 || math.Abs(float64(x[1000])-0.3) > 0.03 {
		t.Errorf("the strike of 0.3 at sample 1000 comes out as %.3f at %d", x[loudest], loudest)
	}
	if rest := math.Sqrt(energy(floats64(x[:900])) / 900); rest > 0.003 {
		t.Errorf("%.4f r.m.s. of the tones is left", rest)
	}
}

// What is read does not depend on how it is read.
func TestTonelessInPieces(t *testing.T) {
	take := ringing(30000)
	whole, pieces := make([]float32, 30000), make([]float32, 30000)
	src, _ := newToneless(take, 1)
	src.ReadAt(whole, 1, 20000)
	for i := 0; i < len(pieces); i += 777 {
		src.ReadAt(pieces[i:min(i+777, len(pieces))], 1, int64(20000+i))
	}
	for i := range whole {
		if whole[i] != pieces[i] {
			t.Fatalf("sample %d is %g at once and %g in pieces", i, whole[i], pieces[i])
		}
	}
}

// Hits in plain noise are weak but no tones drown them, and where they agree the
// channel is not dead either.
func TestNoiseIsNoTones(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	var take two
	for c := range take {
		take[c] = make([]float32, 12*48000)
		for i := range take[c] {
			take[c][i] = float32(0.003 * r.NormFloat64())
		}
	}
	for k := range 14 {
		for c, size := range []float64{0.5, 0.02} {
			at := 30000 + 36000*k + 9000*c
			for i := range 4000 {
				s := float64(i) / 48000
				take[c][at+i] += float32(size * math.Exp(-s/0.02) * math.Sin(2*math.Pi*900*s))
			}
		}
	}
	got, err := Measure(context.Background(), take, Options{})
	if err != nil || math.Abs(got.LagMS-187.5) > 0.3 || got.Used() != 14 || got.Has(calib.WarnDoubtful, calib.WarnDeadChannel) {
		t.Errorf("lag %.2f ms of %d pairs, warnings %v, %v", got.LagMS, got.Used(), got.Warnings, err)
	}
}
