package practice

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
)

// Fault is a stretch of a take that a cable or the recorder spoilt.
type Fault struct {
	Code       string  // of the warning that names it, such as calib.WarnDropOut
	Channel    int     // from 1, before cables are swapped; 0 = all
	FromS, ToS float64 // s from the start of the take; equal where a recorder lost samples
}

// deafens reports whether the channel carries nothing of the machine meanwhile.
func (f Fault) deafens() bool {
	return f.Code == calib.WarnDeadChannel || f.Code == calib.WarnDropOut || f.Code == calib.WarnCrackle
}

// Unheard reports whether a channel, counted before cables are swapped, heard
// nothing of the machine at a time in s.
func (t Truth) Unheard(channel int, atS float64) bool {
	return slices.ContainsFunc(t.Faults, func(f Fault) bool {
		return f.deafens() && f.Channel == channel && f.FromS <= atS && atS <= f.ToS
	})
}

// Heard returns the truth about what the recording caught: without the hits, and
// the lags of pairs, that fell while their channel was deaf.
func (t Truth) Heard() Truth {
	h := t.heard(2, t)
	h.Others = nil
	for i, o := range t.Others {
		h.Others = append(h.Others, o.heard(3+i, t))
	}
	h.ReferenceHitsS = slices.DeleteFunc(slices.Clone(t.ReferenceHitsS), func(s float64) bool { return t.Unheard(1, s) })
	return h
}

// heard leaves of a voice what its channel of the take caught.
func (t Truth) heard(channel int, take Truth) Truth {
	t.keep(func(i int) bool {
		return !take.Unheard(channel, t.VoiceHitsS[i]) && !take.Unheard(1, t.VoiceHitsS[i]-t.LagsMS[i]/1000)
	})
	return t
}

// keep leaves of a voice's hits those that are wanted.
func (t *Truth) keep(wanted func(i int) bool) {
	var hitsS, lagsMS, periodsMS []float64
	for i, s := range t.VoiceHitsS {
		if wanted(i) {
			hitsS, lagsMS, periodsMS = append(hitsS, s), append(lagsMS, t.LagsMS[i]), append(periodsMS, t.PeriodsMS[i])
		}
	}
	t.VoiceHitsS, t.LagsMS, t.PeriodsMS, t.MeanLagMS = hitsS, lagsMS, periodsMS, stat.Mean(lagsMS, nil)
}

// disconnect does to what is recorded of a channel what a broken wire does.
func (st *stage) disconnect(buf []float32, ch int) {
	n := len(buf)
	switch ch + 1 {
	case st.d.DeadChannel:
		st.cut(buf)
		st.note(calib.WarnDeadChannel, ch, 0, n)
	case st.d.DropOut:
		st.cut(buf[2*n/5 : 3*n/5])
		st.note(calib.WarnDropOut, ch, 2*n/5, 3*n/5)
	case st.d.DropOuts:
		st.bursts(buf, ch, calib.WarnDropOut, 0.15, 0.3, 0.9, func(part []float32, _ *rand.Rand) { st.cut(part) })
	case st.d.Crackle:
		st.bursts(buf, ch, calib.WarnCrackle, 1, 0.01, 0.08, st.crackle)
	}
}

func (st *stage) note(code string, ch, from, to int) {
	st.faults = append(st.faults, Fault{code, ch + 1, float64(from) / st.rate, float64(to) / st.rate})
}

// bursts spoils stretches of a channel: perS in a second on average, at least
// one, each lasting between two times in s.
func (st *stage) bursts(buf []float32, ch int, code string, perS, shortS, longS float64, spoil func([]float32, *rand.Rand)) {
	r := luck(st.seed, stream(luckCable, ch))
	seconds := float64(len(buf)) / st.rate
	count := max(int(math.Round(perS*seconds)), 1)
	for k := range count {
		at := seconds * (float64(k) + 0.8*r.Float64()) / float64(count)
		from := int(at * st.rate)
		to := min(from+int((shortS+(longS-shortS)*r.Float64())*st.rate), len(buf))
		spoil(buf[from:to], r)
		st.note(code, ch, from, to)
	}
}

// humBurst adds the mains at up to twice an average hit's peak.
func (st *stage) humBurst(buf []float32, r *rand.Rand) {
	const fifth = 0.3 // of the fundamental, invented
	start := cmplx.Rect(st.peak*(1+r.Float64()), 2*math.Pi*r.Float64())
	ringOut(buf, start, st.hum)
	ringOut(buf, start*fifth, cmplx.Pow(st.hum, 5))
}

// crackle opens and closes a contact: while it is open the input hears its own
// charge run off.
func (st *stage) crackle(buf []float32, r *rand.Rand) {
	const (
		flickersPerS = 900  // invented
		runOffS      = 0.01 // invented
	)
	open, charge, keep := true, st.charge(r), math.Exp(-1/(runOffS*st.rate))
	for i := range buf {
		if r.Float64() < flickersPerS/st.rate {
			open, charge = !open, st.charge(r)
		}
		if open {
			buf[i] = float32(charge)
			charge *= keep
		}
	}
}

// charge is what an input jumps to when its contact opens: up to a hit's peak.
func (st *stage) charge(r *rand.Rand) float64 { return st.peak * (2*r.Float64() - 1) }

// cut leaves of the samples what a recorder hears with nothing plugged in.
func (st *stage) cut(buf []float32) {
	const inputNoise = 3e-5 // −90 dBFS r.m.s., invented
	src := rand.NewPCG(st.seed, luckNoise+2)
	for i := range buf {
		buf[i] = inputNoise * float32(bell(src.Uint64()))
	}
}

// lose takes samples out of the middle third of all channels, and moves the
// truth to the shorter recording.
func lose(rec calib.Recording, t *Truth, frames int, seed uint64) {
	n := len(rec.Samples[0])
	from := n/3 + int(luck(seed, luckLost).Float64()*float64(n)/3)
	to := min(from+frames, n)
	for ch := range rec.Samples {
		rec.Samples[ch] = slices.Delete(rec.Samples[ch], from, to)
	}
	fromS, toS := float64(from)/rec.RateHz, float64(to)/rec.RateHz
	t.shorten(fromS, toS)
	for i := range t.Others {
		t.Others[i].shorten(fromS, toS)
	}
	t.Faults = append(t.Faults, Fault{calib.WarnLostBuffer, 0, fromS, fromS})
}

// shorten takes a stretch of time out of the hits.
func (t *Truth) shorten(fromS, toS float64) {
	t.keep(func(i int) bool { return t.VoiceHitsS[i] < fromS || t.VoiceHitsS[i] > toS })
	for _, hits := range []*[]float64{&t.ReferenceHitsS, &t.VoiceHitsS, &t.DoubleHitsS} {
		*hits = shortened(*hits, fromS, toS)
	}
	for i := range t.Faults {
		t.Faults[i].FromS = moved(t.Faults[i].FromS, fromS, toS)
		t.Faults[i].ToS = moved(t.Faults[i].ToS, fromS, toS)
	}
}

func shortened(hitsS []float64, fromS, toS float64) []float64 {
	var kept []float64
	for _, s := range hitsS {
		if s < fromS || s > toS {
			kept = append(kept, moved(s, fromS, toS))
		}
	}
	return kept
}

// moved returns where a time lies once a stretch is gone.
func moved(s, fromS, toS float64) float64 {
	return s - min(max(s-fromS, 0), toS-fromS)
}
