package signal

import (
	"context"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"

	"lagwright/internal/must"
)

// TestLevinson solves Toeplitz systems as gonum's dense solver does, and refuses
// one that is not positive definite.
func TestLevinson(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for _, n := range []int{1, 2, 7, 60} {
		row, c := make([]float64, n), make([]float64, n)
		for i := range n {
			row[i], c[i] = math.Exp(-float64(i)/5)*math.Cos(0.7*float64(i)), r.NormFloat64()
		}
		row[0] += 0.01
		a := mat.NewDense(n, n, nil)
		for i := range n {
			for j := range n {
				a.Set(i, j, row[max(i-j, j-i)])
			}
		}
		var want mat.VecDense
		must.Do(t, want.SolveVec(a, mat.NewVecDense(n, c)))
		got := levinson(row, c)
		for i := range got {
			if math.Abs(got[i]-want.AtVec(i)) > 1e-9*(1+math.Abs(want.AtVec(i))) {
				t.Errorf("%d unknowns: x[%d] is %g, want %g", n, i, got[i], want.AtVec(i))
			}
		}
	}
	if got := levinson([]float64{1, 2}, []float64{1, 1}); got != nil {
		t.Errorf("a system that is not positive definite gives %v", got)
	}
}

// two is a take of two channels in memory.
type two [2][]float32

func (two) Rate() float64   { return 48000 }
func (two) Channels() int   { return 2 }
func (s two) Frames() int64 { return int64(len(s[0])) }
func (s two) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	x := s[channel-1]
	n := copy(dst, x[min(frame, int64(len(x))):])
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}

// leaking is ten strikes on channel 1, no two alike, that leak into channel 2
// through a short echo; gain 0 leaves channel 2 with noise of its own alone.
func leaking(gain float64) (s two, hits []Hit) {
	const rate = 48000
	r := rand.New(rand.NewPCG(6, 1))
	s[0], s[1] = make([]float32, 6*rate), make([]float32, 6*rate)
	for k := range 10 {
		at, hz := rate/2+k*rate/2, 300+300*float64(k)
		hits = append(hits, Hit{TimeS: float64(at) / rate})
		for i := range rate / 5 {
			t := float64(i) / rate
			s[0][at+i] += float32(0.5 * math.Exp(-t/0.02) * (math.Sin(2*math.Pi*hz*t) + 0.3*r.NormFloat64()))
		}
	}
	for i := range s[1] {
		s[1][i] = float32(0.0005 * r.NormFloat64())
		for lag, g := range map[int]float64{24: 1, 61: -0.5, 130: 0.25} {
			if i >= lag {
				s[1][i] += float32(gain*g) * s[0][i-lag]
			}
		}
	}
	return s, hits
}

// TestLeakIsTakenOut learns how one channel leaks into the other and takes it out
// of what is read, wherever reading begins; the other channel stays as it is.
func TestLeakIsTakenOut(t *testing.T) {
	s, hits := leaking(0.3)
	from, to := &channel{src: s, number: 1}, &channel{src: s, number: 2}
	l, err := learnLeak(context.Background(), from, to, hits)
	if err != nil || l == nil {
		t.Fatalf("learnt %v, %v", l, err)
	}
	clean := less{s, 2, l.takeOut}
	for _, h := range hits[1:] {
		start, n := int64(h.TimeS*s.Rate()), int(0.06*s.Rate())
		was, _ := highPassed(s, 2, start, n)
		is, err := highPassed(clean, 2, start, n)
		if was == nil || is == nil {
			t.Fatal(err)
		}
		if down := decibels(energy(was)) - decibels(energy(is)); down < 15 {
			t.Errorf("the leak at %.2f s is down by %.1f dB only", h.TimeS, down)
		}
	}
	a, b := make([]float32, 999), make([]float32, 999)
	s.ReadAt(a, 1, 24000)
	clean.ReadAt(b, 1, 24000)
	for i := range a {
		if a[i] != b[i] {
			t.Fatal("the channel that leaks was changed")
		}
	}
	whole, parts := make([]float32, 3000), make([]float32, 3000)
	clean.ReadAt(whole, 2, 47900)
	for i := 0; i < len(parts); i += 500 {
		clean.ReadAt(parts[i:i+500], 2, int64(47900+i))
	}
	for i := range whole {
		if math.Abs(float64(whole[i]-parts[i])) > 1e-4 {
			t.Fatalf("sample %d is %g read in one and %g in parts", i, whole[i], parts[i])
		}
	}
}

// TestNoLeakIsLearntOfNoise: where the other channel hears nothing of the hits, or
// sounds of its own come with them, there is no leak.
func TestNoLeakIsLearntOfNoise(t *testing.T) {
	silent, hits := leaking(0)
	own, _ := leaking(0)
	r := rand.New(rand.NewPCG(2, 7))
	for _, h := range hits {
		at, hz, phase := int(h.TimeS*own.Rate()), 150+900*r.Float64(), 6*r.Float64()
		for i := range 6000 {
			t := float64(i) / own.Rate()
			own[1][at+i] += float32(0.4 * math.Exp(-t/0.02) * math.Sin(2*math.Pi*hz*t+phase))
		}
	}
	for name, s := range map[string]two{"noise": silent, "strikes of its own": own} {
		l, err := learnLeak(context.Background(), &channel{src: s, number: 1}, &channel{src: s, number: 2}, hits)
		if err != nil || l != nil {
			t.Errorf("%s: learnt a leak, %v", name, err)
		}
	}
}

// TestLeakNear: a leak sounds from just before its hit until it was let go.
func TestLeakNear(t *testing.T) {
	l := &leak{atS: []float64{1, 2}}
	for at, want := range map[float64]bool{0.99: false, 0.999: true, 1 + leakS - 0.01: true, 1 + leakS + 0.01: false, 2.05: true, 3: false} {
		if l.near(at, at) != want {
			t.Errorf("%g s: near is %v", at, !want)
		}
	}
}

// TestAlone: a hit teaches a leak only where the other channel does not strike itself,
// and where both always strike together none does.
func TestAlone(t *testing.T) {
	var hits, leaks, both []Hit
	for i := range 12 {
		at := 1 + 0.5*float64(i)
		hits = append(hits, Hit{TimeS: at, Level: -10})
		leaks = append(leaks, Hit{TimeS: at + 0.001, Level: -25})
		own := Hit{TimeS: at + 0.02, Level: -10 + float64(i%3)}
		both = append(both, own)
		if i%2 == 0 {
			leaks = append(leaks, own)
		}
	}
	if got := alone(hits, leaks); len(got) != 6 || got[0].TimeS != 1.5 {
		t.Errorf("%d hits leak alone, want every other one of 12", len(got))
	}
	for i := range both {
		both[i].TimeS -= 0.021
	}
	if got := alone(hits, both); len(got) > 0 {
		t.Errorf("%d hits leak alone where both strike together", len(got))
	}
}
