package playback

import (
	"errors"
	"math"
	"sync"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// of makes a take from two functions of time in s.
func of(rate, lasts float64, reference, voice func(float64) float64, hitsS ...float64) Take {
	m := calib.Recording{RateHz: rate, Samples: [][]float32{make([]float32, int(lasts*rate)), make([]float32, int(lasts*rate))}}
	for i := range m.Samples[0] {
		t := float64(i) / rate
		m.Samples[0][i], m.Samples[1][i] = float32(reference(t)), float32(voice(t))
	}
	return Take{Source: m, Reference: 1, Voice: 2, HitsS: hitsS}
}

func tone(hz float64) func(float64) float64 {
	return func(t float64) float64 { return 0.5 * math.Sin(2*math.Pi*hz*t) }
}

func silence(float64) float64 { return 0 }

// knocks is a channel with a short knock at each of some times.
func knocks(atS ...float64) func(float64) float64 {
	return func(t float64) float64 {
		for _, at := range atS {
			if d := t - at; d > -0.001 && d < 0.001 {
				return 0.5 + 0.5*math.Cos(math.Pi*d/0.001)
			}
		}
		return 0
	}
}

// hear plays some seconds at full volume and returns left and right.
func hear(t testing.TB, l *Listening, seconds float64) (left, right []float32) {
	t.Helper()
	buf := make([]float32, 2*441)
	for len(left) < int(seconds*l.rate) {
		must.Do(t, l.Feed())
		l.Fill(buf)
		for i := 0; i < len(buf); i += 2 {
			left, right = append(left, buf[i]), append(right, buf[i+1])
		}
	}
	return left, right
}

func loud(rate float64, take Take) *Listening {
	l := NewListening(rate, take)
	l.SetVolume(1)
	l.gain = 1
	return l
}

// At full speed and the take's own rate, what comes out is the take, sample for
// sample, the reference on the left and the voice on the right.
func TestListeningIsTheTake(t *testing.T) {
	take := of(44100, 1, tone(440), tone(611))
	left, right := hear(t, loud(44100, take), 1.2)
	x := take.Source.(calib.Recording).Samples
	for i := 300; i < 43000; i++ {
		if math.Abs(float64(left[i]-x[0][i])) > 1e-6 || math.Abs(float64(right[i]-x[1][i])) > 1e-6 {
			t.Fatalf("sample %d: %g and %g, want %g and %g", i, left[i], right[i], x[0][i], x[1][i])
		}
	}
	if left[0] != 0 || peak(left[44100:]) != 0 {
		t.Error("it does not begin and end in silence")
	}
	l := loud(44100, take)
	l.Ears(Mixed)
	left, right = hear(t, l, 0.5)
	if i := 10000; left[i] != right[i] || math.Abs(float64(left[i]-(x[0][i]+x[1][i])/2)) > 1e-6 {
		t.Errorf("mixed: %g and %g", left[i], right[i])
	}
}

// Slowed, a tone sounds deeper by as much, and purely: gonum's Fourier transform
// finds its energy at that pitch and next to nothing elsewhere. So it does where
// the output has another rate.
func TestSlowedToneIsPure(t *testing.T) {
	for _, c := range []struct{ source, out, speed, hz, noiseDB float64 }{
		{48000, 48000, 0.5, 3000, -70}, {48000, 48000, 0.25, 3000, -70}, {48000, 44100, 1, 5000, -70},
		{96000, 48000, 1, 5000, -70}, {44100, 96000, 0.5, 1000, -70}, {48000, 48000, 0.5, 15000, -60},
	} {
		l := loud(c.out, of(c.source, 2, tone(c.hz), silence))
		l.Speed(c.speed)
		left, _ := hear(t, l, 1)
		const n = 1 << 15
		y := make([]float64, n)
		for i := range y {
			w := 0.0
			for k, a := range []float64{0.35875, -0.48829, 0.14128, -0.01168} { // Blackman-Harris
				w += a * math.Cos(2*math.Pi*float64(k)*float64(i)/n)
			}
			y[i] = w * float64(left[4000+i])
		}
		var own, other, top float64
		for k, v := range fourier.NewFFT(n).Coefficients(nil, y) {
			p := real(v)*real(v) + imag(v)*imag(v)
			if math.Abs(float64(k)-c.hz*c.speed*n/c.out) < 6 {
				own += p
			} else {
				other += p
				top = math.Max(top, p)
			}
		}
		if db := 10 * math.Log10(other/own); db > c.noiseDB {
			t.Errorf("%g Hz at %g, %g to %g Hz: all else %.1f dB", c.hz, c.speed, c.source, c.out, db)
		}
	}
}

// What the output's rate cannot carry is left out, not folded back.
func TestNothingFoldsBack(t *testing.T) {
	left, _ := hear(t, loud(44100, of(192000, 1, tone(30000), silence)), 0.5)
	if p := peak(left[1000:]); p > 0.0005 {
		t.Errorf("30 kHz comes back with a peak of %g", p)
	}
}

// A loop comes round again and again, and nothing jumps at its seam.
func TestLoop(t *testing.T) {
	for _, speed := range []float64{1, 0.5, 0.25} {
		take := of(48000, 3, func(t float64) float64 { return 0.5 + 0.3*math.Sin(2*math.Pi*100*t) }, knocks(1.1), 1.1)
		l := loud(48000, take)
		l.LoopHit(0, 0.1, 0.15)
		l.Speed(speed)
		left, right := hear(t, l, 4)
		for i := 1; i < len(left); i++ {
			if d := math.Abs(float64(left[i] - left[i-1])); d > 0.01 {
				t.Fatalf("speed %g: a jump of %g at %.4f s", speed, d, float64(i)/48000)
			}
		}
		var tops []int
		for i := 1; i < len(right)-1; i++ {
			if right[i] > 0.9 && right[i] >= right[i-1] && right[i] > right[i+1] {
				tops = append(tops, i)
			}
		}
		if len(tops) < int(4*speed/0.25)-1 {
			t.Fatalf("speed %g: %d knocks in 4 s", speed, len(tops))
		}
		for i := 1; i < len(tops); i++ {
			if d := float64(tops[i]-tops[i-1]) / 48000; math.Abs(d-0.25/speed) > 1e-4 {
				t.Errorf("speed %g: knocks %g s apart, want %g", speed, d, 0.25/speed)
			}
		}
	}
}

// Before and after, at one press: the same hit of the reference sounds at the same
// time, and only the voice's place differs.
func TestSwitchAlignsHits(t *testing.T) {
	before := of(48000, 4, knocks(1, 2, 3), knocks(1.05, 2.05, 3.05), 1, 2, 3)
	after := of(44100, 5, knocks(1.7, 2.7, 3.7), knocks(1.701, 2.701, 3.701), 1.7, 2.7, 3.7)
	l := loud(48000, before)
	l.Compare(after)
	l.LoopHit(1, 0.1, 0.4)
	_, right := hear(t, l, 1)
	l.Switch()
	if l.Which() != 1 {
		t.Error("what it was switched to is not said at once")
	}
	hear(t, l, 0.5) // what was prepared before
	left2, right2 := hear(t, l, 1)
	if l.Which() != 1 {
		t.Fatal("it did not switch")
	}
	first := func(x []float32) (at int) {
		for i, v := range x {
			if v > x[at] {
				at = i
			}
		}
		return at
	}
	lag := func(left, right []float32) float64 {
		at := first(left[:24000])
		return float64(first(right[max(at-4000, 0):min(at+4000, len(right))])+max(at-4000, 0)-at) / 48
	}
	if d := lag(left2, right2); math.Abs(d-1) > 0.05 {
		t.Errorf("after the switch the voice is %.2f ms late, want 1", d)
	}
	if peak(right) < 0.9 {
		t.Error("the voice did not sound before")
	}
	if at := l.AtS(); at < 2.6 || at > 3.1 {
		t.Errorf("plays at %g s, want round the second hit of the other take", at)
	}
	l.Switch()
	hear(t, l, 0.3)
	if at := l.AtS(); l.Which() != 0 || at < 1.9 || at > 2.4 {
		t.Errorf("back: take %d at %g s", l.Which(), at)
	}
}

// A hit is one of the first take, also while the other plays, which may have begun a
// hit later.
func TestLoopHitOfTheOther(t *testing.T) {
	l := NewListening(8000, of(8000, 8, silence, silence, 1, 2, 3, 4))
	l.Compare(of(8000, 8, silence, silence, 2.1, 3.1, 4.1))
	l.change(func() { l.round(3.5, 3.9) }) // nearest to the last hit but one of both
	l.Switch()
	l.LoopHit(2, 0.1, 0.3)
	must.Do(t, l.Feed())
	if want := 3 + aligned([]float64{1, 2, 3, 4}, []float64{2.1, 3.1, 4.1}, 3) - 0.1; math.Abs(l.fromS-want) > 1e-9 {
		t.Errorf("loops from %g, want %g", l.fromS, want)
	}
}

// Two presses in a row leave everything where it was.
func TestSwitchTwiceIsNothing(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(t, "hits")
		var a, b []float64
		shift := rapid.Float64Range(-0.3, 0.9).Draw(t, "shift")
		for i := range n {
			a, b = append(a, 1+0.7*float64(i)), append(b, 1+shift+0.7*float64(i))
		}
		l := NewListening(8000, of(8000, 12, silence, silence, a...))
		l.Compare(of(11025, 12, silence, silence, b...))
		from := rapid.Float64Range(0.5, 6).Draw(t, "from")
		l.change(func() { l.round(from, from+0.3) })
		l.Switch()
		must.Do(t, l.Feed())
		if got := l.fromS - from; math.Abs(got-shift) > 1e-9 && from+shift > 0 {
			t.Fatalf("moved by %g, want %g", got, shift)
		}
		l.Switch()
		l.Fill(make([]float32, 2000))
		must.Do(t, l.Feed())
		if math.Abs(l.fromS-from) > 1e-9 {
			t.Fatalf("the loop begins at %g, want %g", l.fromS, from)
		}
	})
}

// It starts from silence and rises slowly to a quiet volume.
func TestStartsQuiet(t *testing.T) {
	l := NewListening(8000, of(8000, 3, func(float64) float64 { return 1 }, silence))
	left, _ := hear(t, l, 2)
	if p := peak(left[:400]); p > 0.11 {
		t.Errorf("the first twentieth of a second peaks at %g", p)
	}
	if p := peak(left); math.Abs(p-QuietVolume) > 1e-3 {
		t.Errorf("it gets as loud as %g", p)
	}
	for i := 1; i < len(left); i++ {
		if left[i]-left[i-1] > 0.001 {
			t.Fatalf("volume jumps at sample %d", i)
		}
	}
}

func TestFillDoesNotAllocate(t *testing.T) {
	l := loud(48000, of(48000, 5, tone(100), tone(200)))
	l.change(func() { l.round(1, 2) })
	buf := make([]float32, 512)
	must.Do(t, l.Feed())
	if n := testing.AllocsPerRun(100, func() { l.Fill(buf) }); n != 0 {
		t.Errorf("Fill: %g allocations", n)
	}
	l.Fill(make([]float32, 2<<14))
	must.Do(t, l.Feed())
	feed := func() {
		l.Fill(buf)
		must.Do(t, l.Feed())
	}
	if n := testing.AllocsPerRun(100, feed); n != 0 {
		t.Errorf("Feed: %g allocations", n)
	}
}

// A Feed that comes too late is silence; at the end it can be played again.
func TestLateAndEnded(t *testing.T) {
	l := loud(8000, of(8000, 1, tone(100), silence))
	buf := make([]float32, 8000)
	l.Fill(buf)
	if peak(buf) != 0 {
		t.Error("something sounds before the start")
	}
	must.Do(t, l.Feed())
	l.Fill(buf)
	if late := buf[2*(int(AheadS*8000)+1):]; peak(late) != 0 {
		t.Error("something sounds that was not fed")
	}
	for range 20 {
		must.Do(t, l.Feed())
		l.Fill(buf[:1000])
	}
	if !l.Ended() {
		t.Error("it does not end")
	}
	l.Whole()
	if left, _ := hear(t, l, 0.5); peak(left) < 0.4 {
		t.Error("it does not play again")
	}
}

func TestFeedSaysWhatIsWrong(t *testing.T) {
	take := of(8000, 1, silence, silence)
	take.Source = &soundtest.Memory{Fail: errors.New("the disk is gone"), Recording: take.Source.(calib.Recording)}
	if err := NewListening(8000, take).Feed(); err == nil {
		t.Error("a take that cannot be read plays")
	}
}

// Feeding and filling run at once, and every sample arrives in order.
func TestFeedAndFillAtOnce(t *testing.T) {
	ramp := func(t float64) float64 { return t / 4 }
	l := loud(8000, of(8000, 4, ramp, silence))
	var wg sync.WaitGroup
	wg.Add(1)
	stop := make(chan struct{})
	go func() {
		defer wg.Done()
		for {
			select {
			case <-stop:
				return
			default:
				if err := l.Feed(); err != nil {
					t.Error(err)
				}
			}
		}
	}()
	buf, last := make([]float32, 64), float32(0.01)
	for n := 0; n < 30000; {
		l.Fill(buf)
		for i := 0; i < len(buf); i += 2 {
			if v := buf[i]; v > 0.01 {
				if d := v - last; d < 0 || d > 0.01 {
					t.Fatalf("from %g to %g", last, v)
				}
				last, n = v, n+1
			}
		}
	}
	close(stop)
	wg.Wait()
}
