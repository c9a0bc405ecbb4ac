package practice

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// addHarmonics adds the harmonics of the mains that transformers and motors
// make, at phases of the take's own.
func (st *stage) addHarmonics(buf []float32) {
	const last = 9
	peak := st.peak * gain(st.d.HarmonicsDB)
	if peak == 0 {
		return
	}
	r := luck(st.seed, luckHarmonics)
	for n := 2; n <= last; n++ {
		share := 1 - 0.5*float64(1-n%2) // even harmonics have half
		start := cmplx.Rect(share*peak, 2*math.Pi*r.Float64())
		ringOut(buf, start, cmplx.Pow(st.hum, complex(float64(n), 0)))
	}
}

// meshTeeth are gear teeth that mesh in a turn of the crank (invented).
var meshTeeth = []float64{61, 183}

// addMesh adds the tones of the gears. Their pitch and the beating of an
// eccentric wheel follow the crank, wow and drift included.
func (st *stage) addMesh(buf []float32) {
	const (
		block  = 64  // samples over which the pitch is taken as steady
		uneven = 0.5 // by how much a tone swells in a turn, invented
	)
	peak := st.peak * gain(st.d.MeshDB)
	if peak == 0 {
		return
	}
	turns := func(i int) float64 { return st.m.CrankTurnsPerBeat * st.beat(float64(i)/st.rate) }
	from := turns(0)
	for i := 0; i < len(buf); i += block {
		to := turns(i + block)
		swell := (1 + uneven*math.Cos(2*math.Pi*from)) / (1 + uneven)
		for _, teeth := range meshTeeth {
			start := cmplx.Rect(peak*swell, 2*math.Pi*teeth*from)
			ringOut(buf[i:min(i+block, len(buf))], start, cmplx.Rect(1, 2*math.Pi*teeth*(to-from)/block))
		}
		from = to
	}
}

// addSwells adds, before each hit, the noise of the shot that rolls towards it:
// it grows as the shot comes near and ends with the strike.
func (st *stage) addSwells(buf []float32, ch int) {
	const (
		lengthS  = 0.3 // how long the shot is heard coming, invented
		cornerHz = 900 // of its noise, invented
	)
	k := 1 - math.Exp(-2*math.Pi*cornerHz/st.rate)
	full := st.peak * gain(st.d.SwellDB) / math.Sqrt(k/(2-k)) // a one-pole low-pass, see addNoise
	if full == 0 {
		return
	}
	src := rand.NewPCG(st.seed, stream(luckSwell, ch-1)) // the reference has none
	n := int(lengthS * st.rate)
	for _, dr := range st.parts[ch-1].drops {
		low, end := 0.0, int(math.Ceil(dr.hitS*st.rate))
		for i := max(end-n, 0); i < min(end, len(buf)) && !dr.missed; i++ {
			low += k * (bell(src.Uint64()) - low)
			near := 1 - float64(end-i)/float64(n)
			buf[i] += float32(full * near * near * low)
		}
	}
}

// setKnocks sets knocks at random times and places of the frame. One in the
// middle reaches all microphones much alike, one at an end reaches the near one
// sooner and louder.
func (st *stage) setKnocks() {
	const (
		softestDB = 12 // below the loudest, invented
		farDB     = 6  // what is lost from end to end, invented
	)
	perS, loudest := level(st.d.KnocksPerS), st.peak*gain(st.d.KnockDB)
	if perS == 0 || loudest == 0 {
		return
	}
	r, on := luck(st.seed, luckKnocks), knock.prepare(st.rate)
	for at := r.ExpFloat64() / perS; at < float64(st.frames)/st.rate; at += r.ExpFloat64() / perS {
		place, peak := r.Float64(), loudest*gain(-softestDB*r.Float64())
		for ch := range st.blows {
			way := math.Abs(place - float64(ch)/float64(len(st.blows)-1))
			st.set(ch, on, at+way*st.m.FrameMS/1000, peak*gain(-farDB*way))
		}
	}
}
