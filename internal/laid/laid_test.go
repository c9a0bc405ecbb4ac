package laid

import (
	"bytes"
	bin "encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/calib/signal"
)

// tap is a strike of a tone that begins at a time: abruptly, or in two stages.
func tap(hz, beginsS float64, firstStage float64, stageS float64) []float64 {
	x := make([]float64, layRate/2)
	for i := range x {
		if t := float64(i)/layRate - beginsS; t >= 0 {
			x[i] = firstStage * math.Exp(-60*t) * math.Sin(2*math.Pi*hz*t)
			if t >= stageS {
				x[i] += (1 - firstStage) * math.Exp(-30*(t-stageS)) * math.Sin(2*math.Pi*hz*(t-stageS))
			}
		}
	}
	return x
}

// TestStrokeBeginsWhereTwoWaysAgree: an abrupt sound begins where it was put, and one
// whose upper band comes later than the rest is left out.
func TestStrokeBeginsWhereTwoWaysAgree(t *testing.T) {
	for _, hz := range []float64{400, 2500} {
		s, ok := newStroke(tap(hz, 0.013, 0, 0))
		if want := leadS + 0.013; !ok || math.Abs(s.onsetS-want) > 0.0002 {
			t.Errorf("%g Hz: begins at %.5f s, clear %v; want %.5f", hz, s.onsetS, ok, want)
		}
	}
	low, high := tap(25, 0.010, 0, 0), tap(3000, 0.016, 0, 0)
	for i := range low {
		low[i] += high[i]
	}
	if _, ok := newStroke(low); ok {
		t.Error("a low sound 6 ms before a high one begins clearly")
	}
	if _, ok := newStroke(make([]float64, 100)); ok {
		t.Error("silence begins")
	}
}

// someSounds is what takes can be laid from without any package.
func someSounds(t *testing.T) *Sounds {
	t.Helper()
	made := func(name string, hz float64) instrument {
		s, ok := newStroke(tap(hz, 0, 0, 0))
		if !ok {
			t.Fatalf("%s has no clear beginning", name)
		}
		return instrument{name, []stroke{s, s, s}, s.ring()}
	}
	r := rand.New(rand.NewPCG(1, 1))
	hiss := make([]float64, layRate)
	for i := range hiss {
		hiss[i] = r.NormFloat64()
	}
	return &Sounds{[]instrument{made("block", 900), made("bar", 2100), made("drum", 500)}, [][]float64{hiss}, [][]float64{hiss}, [][]float64{hiss}}
}

// TestLaidTakesHaveTheirLag: plain tones laid at a lag are measured at that lag, and
// what becomes of a take is told apart.
func TestLaidTakesHaveTheirLag(t *testing.T) {
	for seed := range uint64(4) {
		take := Kinds[0].Lay(someSounds(t), seed)
		r, err := signal.Measure(t.Context(), take, signal.Options{})
		if err != nil || math.Abs(r.LagMS-take.LagMS) > 1.5 || !strings.Contains(take.About, " after ") {
			t.Errorf("%s: %g ms for %g, %v", take.About, r.LagMS, take.LagMS, err)
		}
	}
}

// TestMadeInstruments: a made strike is silent before it begins, and soon after is not.
func TestMadeInstruments(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 20 {
		for _, s := range madeInstrument(r, 0.2).strikes {
			at := int(s.onsetS * layRate)
			if before, after := loudest(s.x[:at]), loudest(s.x[at:at+layRate/100]); before != 0 || after < 0.02 {
				t.Errorf("up to %g before it begins, then %g", before, after)
			}
		}
	}
}

// TestLayersOfOneInstrument: names that differ in the force alone are one instrument's.
func TestLayersOfOneInstrument(t *testing.T) {
	for name, want := range map[string]string{"tabla_ghe4": "tabla_ghe", "rim-3": "rim", "drum_snare_hard": "drum_snare", "drum_cowbell": "drum_cowbell"} {
		if got := layer.ReplaceAllString(name, ""); got != want {
			t.Errorf("%q is of %q, want %q", name, got, want)
		}
	}
}

// TestPatches: the strikes that a patch file holds reach sox as they are in it, and what
// is none is refused.
func TestPatches(t *testing.T) {
	if testing.Short() {
		t.Skip("it needs sox")
	}
	le := func(v ...any) []byte {
		var b bytes.Buffer
		for _, x := range v {
			if err := bin.Write(&b, bin.LittleEndian, x); err != nil {
				t.Fatal(err)
			}
		}
		return b.Bytes()
	}
	head := append([]byte("GF1PATCH110\x00"), make([]byte, 239-12)...)
	head[198] = 1
	pat := slices.Concat(head, make([]byte, 8), le(uint32(4)), make([]byte, 8), le(uint16(32000)), make([]byte, 33), []byte{3}, make([]byte, 40), []byte{0, 0x80, 0, 0xc0})
	dir := t.TempDir()
	for name, data := range map[string][]byte{"block.pat": pat, "broken.pat": head[:100]} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	got, err := recordingsIn(t.Context(), filepath.Join(dir, "block.pat"))
	if err != nil || len(got) != 1 || got[0].name != "block a" || len(got[0].x) < 2 {
		t.Errorf("%v %v", got, err)
	}
	if _, err := recordingsIn(t.Context(), filepath.Join(dir, "broken.pat")); err == nil || !strings.Contains(err.Error(), "broken.pat") {
		t.Errorf("%v, of what is no patch", err)
	}
}
