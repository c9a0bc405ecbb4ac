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
	"lagwright/internal/must"
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
	twice, later := tap(900, 0, 0, 0), tap(900, 0.02, 0, 0)
	for i, v := range later {
		twice[i] = 0.3*twice[i] + v
	}
	if _, ok := newStroke(twice); ok {
		t.Error("a sound 20 ms before one three times as loud is a strike")
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
	return &Sounds{[][]instrument{{made("block", 900)}, {made("bar", 2100)}, {made("drum", 500)}}, [][]float64{hiss}, [][]float64{hiss}, [][]float64{hiss}}
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
	for name, want := range map[string]string{"tabla_ghe4": "tabla_ghe", "rim-3": "rim", "Snr 1-2(L)": "Snr 1", "Kick 2(L)": "Kick 2(L)", "Glocken C8 (M)": "Glocken C8 (M)", "drum_snare_hard": "drum_snare", "drum_cowbell": "drum_cowbell"} {
		if got := layer.ReplaceAllString(name, ""); got != want {
			t.Errorf("%q is of %q, want %q", name, got, want)
		}
	}
}

// bytesOf are those of some values, lowest first.
func bytesOf(t *testing.T, v ...any) []byte {
	t.Helper()
	var b bytes.Buffer
	for _, x := range v {
		must.Do(t, bin.Write(&b, bin.LittleEndian, x))
	}
	return b.Bytes()
}

// TestPitchesOfOneInstrument: names that differ in the pitch alone are one instrument's.
func TestPitchesOfOneInstrument(t *testing.T) {
	for name, want := range map[string]string{"009_Glockenspiel d": "009_Glockenspiel", "Glocken D#8 (M)": "Glocken", "dulci_c6(L)": "dulci", "Steel Drum F# 6(L)": "Steel Drum", "Kick 2(L)": "Kick 2(L)", "drum_tom_hi": "drum_tom_hi"} {
		if got := pitch.ReplaceAllString(name, ""); got != want {
			t.Errorf("%q is of %q, want %q", name, got, want)
		}
	}
}

// TestBanks: the strikes that a bank of sounds holds reach sox as they are in it, of a pair
// the left one, and what is no bank is refused.
func TestBanks(t *testing.T) {
	if testing.Short() {
		t.Skip("it needs sox")
	}
	patch := append([]byte("GF1PATCH110\x00"), make([]byte, 239-12)...)
	patch[198] = 1
	patch = slices.Concat(patch, make([]byte, 8), bytesOf(t, uint32(4)), make([]byte, 8), bytesOf(t, uint16(layRate)), make([]byte, 33), []byte{3}, make([]byte, 40), []byte{0, 0x80, 0, 0xc0})
	chunk := func(id string, data []byte) []byte {
		return slices.Concat([]byte(id), bytesOf(t, uint32(len(data))), data, make([]byte, len(data)%2))
	}
	head := func(name string, start, end uint32, kind uint16) []byte {
		return slices.Concat([]byte(name), make([]byte, 20-len(name)), bytesOf(t, start, end, start, end, uint32(layRate), uint16(0), uint16(0), kind))
	}
	font := chunk("RIFF", slices.Concat([]byte("sfbk"),
		chunk("LIST", slices.Concat([]byte("INFO"), chunk("INAM", []byte("odd")))),
		chunk("LIST", slices.Concat([]byte("sdta"), chunk("smpl", bytesOf(t, int16(0), int16(1<<14), int16(99))))),
		chunk("LIST", slices.Concat([]byte("pdta"), chunk("shdr", slices.Concat(head("block", 0, 2, 4), head("block", 2, 3, 2), head("bar", 2, 3, 1), head("EOS", 0, 0, 0)))))))
	dir := t.TempDir()
	for name, data := range map[string][]byte{"block.pat": patch, "blocks.sf2": font, "broken.pat": patch[:100], "broken.sf2": font[:30]} {
		must.Do(t, os.WriteFile(filepath.Join(dir, name), data, 0o600))
	}
	for _, bank := range []struct {
		file  string
		names []string
	}{{"block.pat", []string{"block a"}}, {"blocks.sf2", []string{"block", "bar (M)"}}} {
		var names []string
		var heard []float64
		if err := read(t.Context(), []from{{filepath.Join(dir, bank.file), ""}}, func(name string, x []float64) {
			names, heard = append(names, name), append(heard, x...)
		}); err != nil || !slices.Equal(names, bank.names) || heard[0] != 0 || heard[1] != 0.5 {
			t.Errorf("%s: %v %v %v", bank.file, names, heard, err)
		}
	}
	for _, broken := range []string{"broken.pat", "broken.sf2"} {
		if err := read(t.Context(), []from{{filepath.Join(dir, broken), ""}}, nil); err == nil || !strings.Contains(err.Error(), broken) {
			t.Errorf("%v, of what is no bank", err)
		}
	}
}
