package main

import (
	"bytes"
	bin "encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
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
func someSounds(t *testing.T) *sounds {
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
	return &sounds{[]instrument{made("block", 900), made("bar", 2100), made("drum", 500)}, [][]float64{hiss}, [][]float64{hiss}, [][]float64{hiss}}
}

// TestLaidTakesHaveTheirLag: plain tones laid at a lag are measured at that lag, and
// what becomes of a take is told apart.
func TestLaidTakesHaveTheirLag(t *testing.T) {
	trap := realTraps()[0]
	for seed := range uint64(4) {
		s := measureLaid(t.Context(), trap, someSounds(t), seed)
		if s.err != nil || math.Abs(s.errorMS) > 1.5 || s.who == "" {
			t.Errorf("%v %v", s, s.err)
		}
	}
}

// TestMadeInstruments: a made strike is silent before it begins, and soon after is not.
func TestMadeInstruments(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 20 {
		for _, s := range madeInstrument(r, 0.2).strikes {
			at := int(s.onsetS * layRate)
			if before, after := loudestOf32(s.x[:at]), loudestOf32(s.x[at:at+layRate/100]); before != 0 || after < 0.02 {
				t.Errorf("up to %g before it begins, then %g", before, after)
			}
		}
	}
}

func loudestOf32(x []float32) (most float64) {
	for _, v := range x {
		most = math.Max(most, math.Abs(float64(v)))
	}
	return most
}

func TestRealFigures(t *testing.T) {
	readable, none := realTrap{name: "a"}, realTrap{name: "b", noAnswer: true}
	scores := []realScore{
		{trap: readable, errorMS: 0.5, covered: true},
		{trap: readable, errorMS: -1.5},
		{trap: readable, errorMS: 3, alarmed: true},
		{trap: readable, errorMS: math.Inf(1), doubted: true},
		{trap: none, errorMS: 0, doubted: true},
		{trap: none, errorMS: 0},
	}
	want := map[string]float64{"takes": 6, "error_median": 1.5, "within_1_ms": 25, "within_2_ms_or_doubted": 75, "silently_wrong": 25,
		"interval_covers": 100.0 / 3, "doubted_though_readable": 25, "doubted_where_no_answer": 50, "false_alarms_of_cables": 100.0 / 6}
	for _, f := range realFigures(scores) {
		if w, ok := want[f.Name]; !ok || math.Abs(f.Value-w) > 1e-9 {
			t.Errorf("%s, want %g", f, w)
		}
		delete(want, f.Name)
	}
	if len(want) > 0 {
		t.Errorf("missing figures: %v", want)
	}
}

func TestAccuracyRefusesUnknownRealTraps(t *testing.T) {
	h, _ := bare(debianRelease, "apt-get")
	err := accuracy(t.Context(), h, []string{"-real", "-trap", "moon"})
	if _, ok := errors.AsType[usageError](err); !ok || !strings.Contains(err.Error(), "moon") {
		t.Errorf("%v, want a usage error", err)
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

// TestBanks: what a bank of sounds holds comes out as it went in, and what is none is
// refused.
func TestBanks(t *testing.T) {
	le := func(v ...any) []byte {
		var b bytes.Buffer
		for _, x := range v {
			if err := bin.Write(&b, bin.LittleEndian, x); err != nil {
				t.Fatal(err)
			}
		}
		return b.Bytes()
	}
	data := []byte{1, 0x82, 3, 0x84}
	head := append([]byte("GF1PATCH110\x00"), make([]byte, 239-12)...)
	head[198] = 1
	pat := slices.Concat(head, make([]byte, 8), le(uint32(4)), make([]byte, 8), le(uint16(32000)), make([]byte, 33), []byte{3}, make([]byte, 40), data)
	got, err := patch("block", pat)
	if err != nil || len(got) != 1 || got[0].rate != 32000 || !bytes.Equal(got[0].data, []byte{1, 2, 3, 4}) {
		t.Errorf("patch: %v %v", got, err)
	}
	sample := func(name string, from, to uint32) []byte {
		return slices.Concat([]byte(name), make([]byte, 20-len(name)), le(from, to, uint32(0), uint32(0), uint32(22050)), make([]byte, 6))
	}
	heads := slices.Concat(sample("bar", 1, 2), sample("EOS", 0, 0))
	bank := slices.Concat([]byte("RIFF....sfbksmpl"), le(uint32(4)), data, []byte("shdr"), le(uint32(len(heads))), heads)
	got, err = soundfont(bank)
	if err != nil || len(got) != 1 || got[0].name != "bar" || got[0].rate != 22050 || !bytes.Equal(got[0].data, data[2:]) {
		t.Errorf("bank: %v %v", got, err)
	}
	for _, broken := range [][]byte{nil, []byte("RIFF"), head[:100], bank[:20]} {
		if _, err := patch("", broken); err == nil {
			t.Errorf("%d bytes are a patch", len(broken))
		}
		if _, err := soundfont(broken); err == nil {
			t.Errorf("%d bytes are a bank", len(broken))
		}
	}
}
