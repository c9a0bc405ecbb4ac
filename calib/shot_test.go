package calib

import (
	"testing"

	"pgregory.net/rapid"

	"lagwright/internal/deeptest"
)

// A published calculator's figures for standard gravity: in 5 s a body falls
// 122.583125 m without drag, 109.125139 m with drag that holds it at 55 m/s
// (keisoku.magicgifted.com, free fall with air resistance, speed and distance from time).
func TestFallAgainstACalculator(t *testing.T) {
	near(t, "free fall", FallMS(122583.125), 5000, 0.0001)
	body := Shot{1000 * 55 * 55 * publishedDrag / (4 * 9.80665 * 1000), 1000}
	near(t, "height with drag", body.HeightMM(5000), 109125.139, 0.001)
	near(t, "time with drag", body.FallMS(109125.139), 5000, 0.0001)
}

// publishedDrag is 3·C·ρ of a ball in air in kg/m³: C = 0.44 (Schiller and Naumann 1933,
// as quoted in OpenFOAM's sources), ρ = 1.225 kg/m³ (US Standard Atmosphere 1976).
const publishedDrag = 3 * 0.44 * 1.225

// Falls of balls in air with a drag coefficient of 0.44, in ms, worked out apart from
// this code by the closed form for air of 1.225 kg/m³ and standard gravity; no
// measured table was found.
func TestShotFalls(t *testing.T) {
	steel11, glass16 := Shot{11, 7800}, Shot{16, 2500}
	steel4, water3 := Shot{4, 7800}, Shot{3, 998}
	for _, c := range []struct {
		shot         Shot
		heightMM, ms float64
	}{
		{Shot{}, 300, 247.3519}, {Shot{}, 1000, 451.6008},
		{steel11, 100, 142.8199}, {steel11, 300, 247.4102}, {steel11, 1000, 451.9555}, {steel11, 2000, 639.6634},
		{glass16, 300, 247.4769}, {glass16, 1000, 452.3618},
		{steel4, 500, 319.6749}, {steel4, 1000, 452.5766},
		{water3, 100, 143.1303}, {water3, 500, 322.9348}, {water3, 1000, 461.8286}, {water3, 2000, 667.7541},
	} {
		near(t, "fall", c.shot.FallMS(c.heightMM), c.ms, 0.00011)
		near(t, "height", c.shot.HeightMM(c.ms), c.heightMM, 0.002)
	}
}

// A body of 72 kg and a drag of 0.24 kg/m, a published worked example: it falls at
// most 54.23 to 54.24 m/s, and 1961.7 m in 40 s (calculatorlib.com). The ball here
// has that terminal speed.
func TestShotAtTerminalSpeed(t *testing.T) {
	const density = 1000
	v2 := 72 * StandardGravity / 0.24
	body := Shot{DiameterMM: 1000 * v2 * publishedDrag / (4 * StandardGravity * density), KGPerM3: density}
	near(t, "terminal speed", body.terminal(), 54.235, 0.01)
	near(t, "height", body.HeightMM(40000)/1000, 1961.7, 0.05)
}

// A drop of water of 3 mm, nearly a ball, falls at most at 8.06 m/s (Gunn and Kinzer
// 1949, J. Meteorol. 6:243, measured; from memory).
func TestTerminalSpeedOfADrop(t *testing.T) {
	near(t, "a drop of 3 mm", Shot{3, 998}.terminal(), 8.06, 0.08*8.06)
}

func TestShotHeightIsTheInverse(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		s := Shot{rapid.Float64Range(2, 20).Draw(t, "mm"), rapid.Float64Range(500, 8000).Draw(t, "density")}
		h := rapid.Float64Range(10, 1500).Draw(t, "height")
		if got := s.HeightMM(s.FallMS(h)); got < h-1e-3 || got > h+1e-3 {
			t.Fatalf("%g mm come back as %g", h, got)
		}
	})
}

func TestDrift(t *testing.T) {
	const (
		delayMS, angle = 200, -0.3 // beats
		period         = 600.0
	)
	when := func(drift, beat float64) float64 { return period * (beat + drift*beat*beat/2) }
	for _, drift := range []float64{0, 0.01, -0.006} {
		var reference, voice []float64
		var pairs []Pair
		for beat := range 16 {
			reference = append(reference, when(drift, float64(beat))/1000)
			if beat > 0 && beat%2 == 0 {
				v := (when(drift, float64(beat)+angle) + delayMS) / 1000
				voice = append(voice, v)
				pairs = append(pairs, Pair{ReferenceS: reference[beat], VoiceS: v, LagMS: 1000 * (v - reference[beat]), Used: true})
			}
		}
		r := Read(pairs, reference, voice, 1)
		d := r.Law
		growthSD, _ := d.Growth()
		if drift == 0 {
			near(t, "period of a steady take", d.PeriodMS, period, 1e-6)
			if growthSD != 0 {
				t.Errorf("a steady take shows a slope: %+v", d)
			}
			continue
		}
		near(t, "mean period at the hits", d.PeriodMS, period*(1+8*drift), 1)
		if !(growthSD > 0) {
			t.Fatalf("a drifting take shows no slope: %+v", d)
		}
		near(t, "growth", r.onPairs().OffsetBeats, angle, 2*growthSD)
	}
}
