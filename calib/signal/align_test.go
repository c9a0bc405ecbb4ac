package signal

import (
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"
)

// TestParabola checks the parabola's bias on a critically sampled sinc, d/(2−4d²)
// (Jacovitti and Scarano 1993, IEEE Trans. SP 41:525-533, as quoted in an answer at
// dsp.stackexchange.com), and on a cosine by its own closed form.
func TestParabola(t *testing.T) {
	for d, want := range map[float64]float64{0.1: 0.05102040816326531, 0.2: 0.10869565217391304, 0.3: 0.18292682926829268, 0.4: 0.29411764705882354} {
		if got := parabola(sinc(-1-d), sinc(-d), sinc(1-d)); math.Abs(got-want) > 1e-12 {
			t.Errorf("sinc %g off: %.15f, want %.15f", d, got, want)
		}
	}
	const w, d = 2 * math.Pi / 16, 0.3
	want := math.Tan(w*d) * math.Sin(w) / (2 * (1 - math.Cos(w)))
	if got := parabola(math.Cos(w*(-1-d)), math.Cos(w*d), math.Cos(w*(1-d))); math.Abs(got-want) > 1e-12 {
		t.Errorf("cosine: %.15f, want %.15f", got, want)
	}
}

// samples is one channel in memory.
type samples []float32

func (samples) Rate() float64   { return 48000 }
func (samples) Channels() int   { return 1 }
func (s samples) Frames() int64 { return int64(len(s)) }
func (s samples) ReadAt(dst []float32, _ int, frame int64) (int, error) {
	n := copy(dst, s[min(frame, s.Frames()):])
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}

// TestAlignReachesTheBound lays copies of one sound in white noise and compares
// the scatter of the aligned times with the Cramér-Rao bound for the delay of a
// known signal, σ²/Σṡ² (Knapp and Carter 1976, IEEE Trans. ASSP-24:320-327, at a
// noiseless copy; from memory), at 20 dB and 30 dB of signal over noise in the window,
// for a low, a middling and a high sound; of pure tones beyond about 3 kHz aligning
// slips by whole turns.
func TestAlignReachesTheBound(t *testing.T) {
	for _, hz := range []float64{250, 900, 2500} {
		for _, snrDB := range []float64{20, 30} {
			over, common := scatterOverBound(t, hz, snrDB)
			t.Logf("%g Hz, %g dB: scatter %.3f times the bound, common error %.1f µs", hz, snrDB, over, 1e6*common)
			if over > 1.5 || over < 0.7 { // nothing unbiased scatters less
				t.Errorf("%g Hz, %g dB: the scatter is %.3f times the bound", hz, snrDB, over)
			}
		}
	}
}

// scatterOverBound returns the scatter of the aligned hits of a take in multiples of the
// bound, and their mean error in s.
func scatterOverBound(t *testing.T, hz, snrDB float64) (over, common float64) {
	const rate, hits = 48000.0, 40
	sound := func(s float64) float64 {
		if s < 0 {
			return 0
		}
		return math.Exp(-s/0.02) * (1 - math.Exp(-s/0.0005)) * math.Sin(2*math.Pi*hz*s)
	}
	var power, slopes float64
	window := int((alignBeforeS + alignAfterS) * rate)
	for i := range window {
		s := float64(i)/rate - alignBeforeS
		power += square(sound(s)) / float64(window)
		slopes += square((sound(s+0.5/rate) - sound(s-0.5/rate)) * rate)
	}
	r := rand.New(rand.NewPCG(uint64(hz), uint64(snrDB)))
	sigma := math.Sqrt(power * math.Pow(10, -snrDB/10))
	x := make(samples, int(rate*(1+0.25*hits)))
	var truth, off []float64
	var rough []Hit
	for i := range hits {
		truth = append(truth, 0.5+0.25*float64(i)+r.Float64()/rate)
		rough = append(rough, Hit{TimeS: truth[i] + 0.0002*r.NormFloat64()})
	}
	for i := range x {
		s := float64(i) / rate
		k := min(max(int((s-0.5+0.001)/0.25), 0), hits-1)
		x[i] = float32(sound(s-truth[k]) + sigma*r.NormFloat64())
	}
	got, _, err := align(t.Context(), x, 1, rough, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range got {
		off = append(off, got[i].TimeS-truth[i])
	}
	common, sd := stat.MeanStdDev(off, nil)
	return sd * math.Sqrt(slopes) / sigma, common
}

// TestFirstArrivalInTheAverage: a first stage that no hit was picked at is where the strikes
// begin, unless it keeps its distance to the other channel's hits.
func TestFirstArrivalInTheAverage(t *testing.T) {
	const rate, hits, stageS = 48000.0, 16, 0.003
	tone := func(s, hz float64) float64 {
		if s < 0 {
			return 0
		}
		return math.Exp(-s/0.01) * math.Sin(2*math.Pi*hz*s)
	}
	for _, leaks := range []bool{false, true} {
		r := rand.New(rand.NewPCG(7, 7))
		x := make(samples, int(rate*(1+0.25*hits)))
		var rough, other []Hit
		for i := range hits {
			at, stage := 0.5+0.25*float64(i), stageS
			if leaks {
				stage += 0.0006 * r.NormFloat64()
			}
			rough, other = append(rough, Hit{TimeS: at + 0.0001*r.NormFloat64()}), append(other, Hit{TimeS: at - stage})
			for j := int((at - 0.01) * rate); j < int((at+0.1)*rate); j++ {
				s := float64(j)/rate - at
				x[j] += float32(tone(s, 700) + 0.15*tone(s+stage, 1500))
			}
		}
		for i := range x {
			x[i] += float32(0.01 * r.NormFloat64())
		}
		if !leaks {
			other = nil
		}
		got, _, err := align(t.Context(), x, 1, rough, other)
		if err != nil {
			t.Fatal(err)
		}
		for i, h := range got {
			want := 0.5 + 0.25*float64(i)
			if !leaks {
				want -= stageS
			}
			if math.Abs(h.TimeS-want) > 0.0003 {
				t.Errorf("leaks %v, hit %d: %.2f ms off", leaks, i, 1000*(h.TimeS-want))
			}
		}
	}
}
