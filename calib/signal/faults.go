package signal

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// stretch is a part of a take.
type stretch struct {
	fromS, toS float64
	level      float64 // of what is left, dB, where it is a silence
}

const (
	fellDB    = 12   // within two blocks, a level that fell by this much broke off
	lowDB     = 10   // below what it was, a level that stays is off
	offLeastS = 0.15 // a shorter silence may be one between the pulses of a noise
	offFloor  = 6    // dB below the least that is else heard, a cable carries none of the channel's noise
	offShare  = 0.01 // of what is else heard is that little
	endsS     = 0.15 // after a strike its sound may end at once
	endsShare = 0.3  // of the strikes, where it is their way to end
	humanDB   = -95  // below this level of full scale there was nothing to break off
)

// breaks returns the runs of a channel's blocks, by their levels, in which it breaks off:
// first and end of each.
func breaks(dB []float32) (found [][2]int) {
	for i := 3; i < len(dB); i++ {
		before, last := dB[i-3], dB[i-2]
		if last <= humanDB || dB[i] >= min(before, last)-fellDB || before >= last+fellDB/2 {
			continue
		}
		from := i
		for i < len(dB) && dB[i] <= min(before, last)-lowDB {
			i++
		}
		if float64(i-from)*blockS >= offLeastS {
			found = append(found, [2]int{from, i})
		}
	}
	return found
}

// silences returns the breaks in which a channel's own noise is missing: what rings,
// or noise that comes in pulses, may end at once, but leaves that noise behind. Where
// silence follows soon on many strikes, it is how their sound ends.
func silences(dB []float32, hits []Hit) (found []stretch) {
	struck, ends, at := times(hits), 0, 0
	var rest []float32
	follows := func(s stretch) bool { return within(struck, s.fromS-endsS, s.fromS) > 0 }
	for _, b := range breaks(dB) {
		sum := 0.0
		for _, l := range dB[b[0]:b[1]] {
			sum += float64(l)
		}
		s := stretch{float64(b[0]) * blockS, float64(b[1]) * blockS, sum / float64(b[1]-b[0])}
		rest, at = append(rest, dB[at:b[0]]...), b[1]
		if found = append(found, s); follows(s) {
			ends++
		}
	}
	least := quantile(append(rest, dB[at:]...), offShare)
	return slices.DeleteFunc(found, func(s stretch) bool {
		return s.level > least-offFloor || follows(s) && float64(ends) > endsShare*float64(len(hits))
	})
}

const (
	stepShare = 0.2  // of the loudest sample, for a jump that is no sound
	stepSteep = 4    // times the moves of the samples before and after
	stepsNear = 4    // jumps within stepNearS make a crackle
	stepNearS = 0.02 // s
)

// jumps looks for what a loose contact makes: the signal jumps from one sample
// to the next and is smooth before and after. No sound that a recorder can hold
// does that time and again.
type jumps struct {
	top  float32 // largest magnitude so far
	n    int64
	at   []int64
	size []float32
}

// stepsBack is how many samples before the last a jump is told by.
const stepsBack = 7

// feed takes the next samples, before which lie stepsBack of those that it had, with the
// largest magnitude among them and the largest step.
func (j *jumps) feed(x []float32, most, steepest float32) {
	if steepest > stepShare*j.top {
		for i := stepsBack; i < len(x); i++ {
			j.top = max(j.top, x[i], -x[i])
			if step := max(x[i-2]-x[i-3], x[i-3]-x[i-2]); step > stepShare*j.top {
				j.judge(x[i-stepsBack:i+1], j.n+int64(i-stepsBack), step)
			}
		}
	}
	j.top, j.n = max(j.top, most), j.n+int64(len(x)-stepsBack)
}

// judge notes a step of a size in the middle of x, which ends with sample n, if
// it is a jump.
func (j *jumps) judge(x []float32, n int64, step float32) {
	var moves float32
	for _, i := range [...]int{2, 3, 4, 6, 7} {
		moves += max(x[i]-x[i-1], x[i-1]-x[i])
	}
	if n >= stepsBack && step > stepSteep*moves {
		j.at, j.size = append(j.at, n-2), append(j.size, step)
	}
}

// crackles returns the stretches where the contact was loose. No contact chatters twice
// alike: where most stretches begin with the same two gaps, to the sample, it is a sound.
func (j *jumps) crackles(rate float64) []stretch {
	var at []int64
	for i, a := range j.at {
		if j.size[i] > stepShare*j.top {
			at = append(at, a)
		}
	}
	var found []stretch
	begun, alike := map[[2]int64]int{}, 0
	for i := 0; i+stepsNear <= len(at); i++ {
		fromS, toS := float64(at[i])/rate, float64(at[i+stepsNear-1])/rate
		if toS-fromS > stepNearS {
			continue
		}
		if n := len(found); n > 0 && fromS <= found[n-1].toS+stepNearS {
			found[n-1].toS = toS
			continue
		}
		gaps := [2]int64{at[i+1] - at[i], at[i+2] - at[i+1]}
		begun[gaps]++
		alike = max(alike, begun[gaps])
		found = append(found, stretch{fromS: fromS, toS: toS})
	}
	if alike > 1 && 2*alike > len(found) {
		return nil
	}
	return found
}

const (
	burstShare  = 0.12 // of the loudest sample, the hum of a burst
	burstTimes  = 4    // the usual hum
	burstLeastS = 0.25
	burstMostS  = 3.0
	burstSeenS  = 0.1
)

// humBursts returns the stretches where the hum of the mains comes and goes.
func (s slow) humBursts(top float32) []stretch {
	n := int(burstSeenS * s.rate)
	if len(s.x) < 20*n {
		return nil
	}
	var found []stretch
	for _, hz := range []float64{50, 60} {
		hop := n / 2
		tone := newTone(n, hz/s.rate)
		var hum []float64
		var turned []complex128 // the tone as it would be if its phase never moved
		for from := 0; from+n <= len(s.x); from += hop {
			z := tone.of(s.x[from : from+n])
			hum, turned = append(hum, cmplx.Abs(z)), append(turned, z*cmplx.Rect(1, -2*math.Pi*hz/s.rate*float64(from)))
		}
		usual := median(slices.Clone(hum))
		limit := max(burstShare*float64(top), burstTimes*usual)
		hopS := float64(hop) / s.rate
		for i := 0; i < len(hum); i++ {
			k := i
			for k < len(hum) && hum[k] > limit {
				k++
			}
			if d := float64(k-i) * hopS; d >= burstLeastS && d <= burstMostS && steadyTone(turned[i:k]) {
				found = append(found, stretch{fromS: float64(i) * hopS, toS: float64(k)*hopS + burstSeenS/2})
			}
			i = max(i, k)
		}
		if len(found) > 0 {
			return found
		}
	}
	return nil
}

const burstEven = 0.95 // of the amplitude that a tone of steady phase and strength would keep

// steadyTone reports whether what was seen of a tone, its own turning taken out,
// neither dies away nor is of another frequency: a drum that rings does one of them.
func steadyTone(seen []complex128) bool {
	seen = seen[1 : len(seen)-1] // its ends are cut by where it begins and stops
	var sum complex128
	var squares float64
	for _, z := range seen {
		sum += z
		squares += real(z)*real(z) + imag(z)*imag(z)
	}
	return cmplx.Abs(sum) > burstEven*math.Sqrt(float64(len(seen))*squares)
}

// tone is a tone of one frequency, under a Hann window.
type tone []complex128

// newTone returns a tone of n samples and so many turns a sample.
func newTone(n int, turns float64) tone {
	t := make(tone, n)
	for i := range n {
		t[i] = cmplx.Rect(1-math.Cos(2*math.Pi*(float64(i)+0.5)/float64(n)), -2*math.Pi*turns*float64(i))
	}
	return t
}

// of returns the amplitude and phase of the tone in as many samples.
func (t tone) of(x []float32) (z complex128) {
	for i, v := range x {
		z += complex(float64(v), 0) * t[i]
	}
	return z * complex(2/float64(len(x)), 0)
}

// cableWarnings returns what says that a channel's cable is loose.
func (c *channel) cableWarnings() []calib.Warning {
	var w []calib.Warning
	if len(c.offs) > 0 {
		w = append(w, calib.Warn(calib.WarnDropOut, i18n.Say("channel %d goes silent %s: stop the crank, wait for rest, then check its cable and plug, and record again", c.number, when(c.offs))))
	}
	if len(c.crackles) > 0 {
		w = append(w, calib.Warn(calib.WarnCrackle, i18n.Say("channel %d crackles %s: stop the crank, wait for rest, then check its cable and plug, and record again", c.number, when(c.crackles))))
	}
	if len(c.bursts) > 0 {
		w = append(w, calib.Warn(calib.WarnHumBurst, i18n.Say("channel %d has a burst of hum %s: stop the crank, wait for rest, then check its cable and plug, and record again", c.number, when(c.bursts))))
	}
	return w
}

// when tells when stretches of a take are: the first few of them.
func when(s []stretch) i18n.Message {
	at := func(i int) i18n.Message {
		if s[i].toS-s[i].fromS < 0.01 {
			return i18n.Say("at %.2f s", s[i].fromS)
		}
		return i18n.Say("at %.2f-%.2f s", s[i].fromS, s[i].toS)
	}
	switch len(s) {
	case 1:
		return at(0)
	case 2:
		return i18n.Say("%s, %s", at(0), at(1))
	case 3:
		return i18n.Say("%s, %s, %s", at(0), at(1), at(2))
	}
	return i18n.Say("%s, %s, %s and %d more times", at(0), at(1), at(2), len(s)-3)
}

const (
	jumpSD     = 6     // standard uncertainties by which a jump must stand out
	jumpLeastS = 0.004 // s
	jumpReach  = 11    // hits before and after that tell how the machine turns
	jumpFew    = 3     // and at least
	jumpDrift  = 4     // degree of the curve that a changing tempo follows over that span
)

// lostBuffer returns the hit before which a regular train jumps ahead, and by how
// much in s; 0 where it does not. The hits round each gap are taken to follow a
// smooth curve with the crank's wow on it, and a step at the gap; the step that
// stands out most is it.
func lostBuffer(hitsS []float64) (at int, byS float64) {
	if len(hitsS) < 2*jumpFew {
		return 0, 0
	}
	crank, most := calib.NewCrank(hitsS), float64(jumpSD)
	var numbers, times []float64
	for _, t := range hitsS {
		if n, ok := crank.Number(t); ok {
			numbers, times = append(numbers, float64(n)), append(times, t)
		}
	}
	for _, run := range unbroken(numbers) {
		for i := run[0] + jumpFew; i+jumpFew <= run[1]; i++ {
			from, to := max(run[0], i-jumpReach), min(run[1], i+jumpReach)
			step, sd := stepAt(times[from:to], numbers[from:to], i-from)
			if -step > jumpLeastS && -step > most*sd {
				at, byS, most = slices.Index(hitsS, times[i]), -step, -step/sd
			}
		}
	}
	return at, byS
}

// unbroken returns the stretches, as first and end, in which no more than one hit is
// missing between two: elsewhere the crank may have stood still.
func unbroken(numbers []float64) (runs [][2]int) {
	for i := range numbers {
		if i == 0 || numbers[i]-numbers[i-1] > 2 {
			runs = append(runs, [2]int{i, i})
		}
		runs[len(runs)-1][1] = i + 1
	}
	return runs
}

// stepAt returns the step before hit k of a train, and its standard uncertainty,
// by least squares.
func stepAt(hitsS, numbers []float64, k int) (step, sd float64) {
	const columns = 1 + jumpDrift + 1 + 3
	n := len(hitsS)
	if n < columns+2 {
		return 0, 1
	}
	a, b := mat.NewDense(n, columns, nil), mat.NewVecDense(n, nil)
	for i, t := range hitsS {
		number := numbers[i] - numbers[0]
		row := a.RawRowView(i)
		if i >= k {
			row[0] = 1
		}
		x := number/float64(n)*2 - 1
		for d := range jumpDrift + 1 {
			row[1+d] = math.Pow(x, float64(d))
		}
		// A crank geared by quarters of a turn: seen at the hits, three quarters
		// look like one.
		row[2+jumpDrift], row[3+jumpDrift] = math.Sincos(math.Pi / 2 * number)
		row[4+jumpDrift] = math.Cos(math.Pi * number)
		b.SetVec(i, t)
	}
	var x, left mat.VecDense
	if err := x.SolveVec(a, b); err != nil {
		return 0, 1
	}
	left.MulVec(a, &x)
	left.SubVec(b, &left)
	var normal, inverse mat.Dense
	normal.Mul(a.T(), a)
	if err := inverse.Inverse(&normal); err != nil {
		return 0, 1
	}
	variance := mat.Dot(&left, &left) / float64(n-columns)
	return x.AtVec(0), math.Sqrt(variance*inverse.At(0, 0)) + 1e-5
}
