package take

import (
	"math"
	"slices"
	"testing"
)

// wide is an extended fmt chunk of 18 bytes, as WAVEFORMATEX has it.
func wide(tag, channels, rate, bits int) []byte {
	return chunk("fmt ", append(fmtBody(le, tag, channels, rate, channels*bits/8, bits), 0, 0))
}

// rifx is a big-endian PCM file.
func rifx(fmtBody []byte, container int, values []int64) []byte {
	body := append([]byte("WAVE"), chunkOf(be, "fmt ", uint32(len(fmtBody)), fmtBody)...)
	data := ints(container, values...)
	for i := 0; i < len(data); i += container {
		slices.Reverse(data[i : i+container])
	}
	body = append(body, chunkOf(be, "data", uint32(len(data)), data)...)
	return chunkOf(be, "RIFX", uint32(len(body)), append(body, make([]byte, len(data)%2)...))
}

// ramp returns n values around zero, step apart.
func ramp(n int, step int64) (v []int64) {
	for i := range int64(n) {
		v = append(v, (i-int64(n)/2)*step)
	}
	return v
}

// scaled returns values of so many bits at full scale ±1.
func scaled(bits int, values ...int64) (out []float32) {
	for _, v := range values {
		out = append(out, float32(float64(v)/math.Ldexp(1, bits-1)))
	}
	return out
}

// unsigned lays 8-bit samples out with their middle at 128.
func unsigned(values []int64) (b []byte) {
	for _, v := range values {
		b = append(b, byte(v+128))
	}
	return b
}

// layout is a file rebuilt in the layout of a published vector of size bytes.
type layout struct {
	name     string
	size     int
	data     []byte
	channels int
	rate     float64
	want     []float32
}

// scipyLayouts has the layouts of scipy/scipy @3dbf660a scipy/io/tests/data at
// the sizes that repository lists. The values are ours.
func scipyLayouts() []layout {
	v12, v32, vf := ramp(36, 1600), ramp(4410, 400_000), ramp(882, 30)
	v5, v8, v24 := ramp(45, 0), ramp(1600, 0), ramp(15, 1<<20)
	for i := range v5 {
		v5[i] = int64(i*8%256) - 128
	}
	for i := range v8 {
		v8[i] = int64(i%256) - 128
	}
	fact, peak := chunk("fact", make([]byte, 4)), chunk("PEAK", make([]byte, 24))
	var f64 []float64
	for _, x := range scaled(16, ramp(960, 30)...) {
		f64 = append(f64, float64(x))
	}
	tail := chunk("LIST", make([]byte, 28))
	return []layout{
		{"1ch 20-bit in 3 bytes", 74, riff(pcm(1, 1234, 20), chunk("data", ints(3, ramp(10, 1<<12)...))), 1, 1234, scaled(24, ramp(10, 1<<12)...)},
		{"2ch 32-bit float", 3586, riff(wide(tagFloat, 2, 44100, 32), fact, chunk("data", floats(scaled(16, vf...)...))), 2, 44100, scaled(16, vf...)},
		{"1ch 32-bit", 17720, riff(pcm(1, 44100, 32), chunk("data", ints(4, v32...)), tail), 1, 44100, scaled(32, v32...)},
		{"1ch 32-bit big-endian, without its tail of 36", 17720 - 36, rifx(fmtBody(be, 1, 1, 44100, 4, 32), 4, v32), 1, 44100, scaled(32, v32...)},
		{"1ch 32-bit early end", 1024, riff(pcm(1, 44100, 32), chunk("data", ints(4, v32...)))[:1024], 1, 44100, scaled(32, v32[:245]...)},
		{"2ch 64-bit float extensible", 7792, riff(extensible(3, 2, 48000, 8, 64, 64), fact, peak, chunk("data", doubles(f64...))), 2, 48000, scaled(16, ramp(960, 30)...)},
		{"3ch 24-bit big-endian", 90, rifx(fmtBody(be, 1, 3, 8000, 9, 24), 3, v24), 3, 8000, scaled(24, v24...)},
		{"2ch 8-bit", 1644, riff(pcm(2, 8000, 8), chunk("data", unsigned(v8))), 2, 8000, scaled(8, v8...)},
		{"3ch 24-bit", 90, riff(pcm(3, 8000, 24), chunk("data", ints(3, v24...))), 3, 8000, scaled(24, v24...)},
		{"3ch 24-bit, mean rate 1", 90, sized(riff(pcm(3, 8000, 24), chunk("data", ints(3, v24...))), 28, 1), 3, 8000, scaled(24, v24...)},
		{"3ch 36-bit", 120, riff(pcm(3, 8000, 36), chunk("data", ints(5, ramp(15, 1<<34)...))), 3, 8000, scaled(40, ramp(15, 1<<34)...)},
		{"3ch 45-bit", 134, riff(pcm(3, 8000, 45), chunk("data", ints(6, ramp(15, 1<<44)...))), 3, 8000, scaled(48, ramp(15, 1<<44)...)},
		{"3ch 53-bit", 150, riff(pcm(3, 8000, 53), chunk("data", ints(7, ramp(15, 1<<52)...))), 3, 8000, scaled(56, ramp(15, 1<<52)...)},
		{"3ch 64-bit", 164, riff(pcm(3, 8000, 64), chunk("data", ints(8, ramp(15, 1<<60)...))), 3, 8000, scaled(64, ramp(15, 1<<60)...)},
		{"4ch 12-bit in 2 bytes", 116, riff(pcm(4, 8000, 12), chunk("data", ints(2, v12...))), 4, 8000, scaled(16, v12...)},
		{"5ch 5-bit, odd size, no pad", 89, cut(riff(pcm(5, 8000, 5), chunk("data", unsigned(v5))), 1), 5, 8000, scaled(8, v5...)},
	}
}

// houndLayouts has layouts of ruuda/hound @bc5bd31e testsamples at their
// published sizes, with the sample values its own tests state for them.
func houndLayouts() []layout {
	v8, v24 := []int64{19, -53, 89, -127}, []int64{-17, 4194319, -6291437, 8355817}
	recorded := []int64{-96, 23052, 8388607, -8360672} // from "arecord -f S24_LE": at the low end
	zeroAbove := []int64{-96 & 0xFFFFFF, 23052, 8388607, -8360672 & 0xFFFFFF}
	v32 := []int64{19, -229373, 33587161, -2147483497}
	vf := []float32{2, 3, -16411, 1019}
	head := chunk("fmt ", fmtBody(le, 1, 2, 48000, 8, 24))
	fact := chunk("fact", make([]byte, 4))
	extra := chunk("LIST", make([]byte, 132))
	return []layout{
		{"8-bit", 48, riff(pcm(1, 44100, 8), chunk("data", unsigned(v8))), 1, 44100, scaled(8, v8...)},
		{"8-bit extended", 50, riff(wide(1, 1, 11025, 8), chunk("data", make([]byte, 4))), 1, 11025, []float32{-1, -1, -1, -1}},
		{"24-bit 4-byte", 60, riff(head, chunk("data", ints(4, recorded...))), 2, 48000, scaled(24, recorded...)},
		{"24-bit 4-byte, zero above", 60, riff(head, chunk("data", ints(4, zeroAbove...))), 2, 48000, scaled(24, recorded...)},
		{"extensible 24-bit", 80, riff(extensible(1, 1, 192000, 3, 24, 24), chunk("data", ints(3, v24...))), 1, 192000, scaled(24, v24...)},
		{"extensible 24-bit 4-byte", 84, riff(extensible(1, 2, 48000, 4, 24, 24), chunk("data", ints(4, recorded...))), 2, 48000, scaled(24, recorded...)},
		{"extensible 32-bit", 84, riff(extensible(1, 2, 48000, 4, 32, 32), chunk("data", ints(4, v32...))), 2, 48000, scaled(32, v32...)},
		{"extensible float", 236, riff(extensible(3, 1, 44100, 4, 32, 32), fact, extra, chunk("data", floats(vf...))), 1, 44100, vf},
	}
}

func TestPublishedLayouts(t *testing.T) {
	for _, test := range append(scipyLayouts(), houndLayouts()...) {
		t.Run(test.name, func(t *testing.T) {
			if test.size != len(test.data) {
				t.Errorf("built %d bytes, the published vector has %d", len(test.data), test.size)
			}
			f := open(t, save(t, test.data))
			if f.Channels() != test.channels || f.Rate() != test.rate {
				t.Errorf("%d channels at %v Hz, want %d at %v", f.Channels(), f.Rate(), test.channels, test.rate)
			}
			if got := interleaved(t, f); !slices.Equal(got, test.want) {
				t.Errorf("got  %v\nwant %v", got[:min(20, len(got))], test.want[:min(20, len(test.want))])
			}
		})
	}
}

// TestRatesAndChannels opens 1 to 64 channels at the ends of the trade's rates.
func TestRatesAndChannels(t *testing.T) {
	for _, rate := range []int{8000, 44100, 384000} {
		for _, channels := range []int{1, 2, 5, 64} {
			values := ramp(3*channels, 1000)
			f := open(t, save(t, riff(pcm(channels, rate, 24), chunk("data", ints(3, values...)))))
			if f.Rate() != float64(rate) || f.Channels() != channels || f.Frames() != 3 {
				t.Errorf("%d frames of %d channels at %v Hz", f.Frames(), f.Channels(), f.Rate())
			}
			if got := interleaved(t, f); !slices.Equal(got, scaled(24, values...)) {
				t.Errorf("%d channels: got %v", channels, got)
			}
		}
	}
}

// TestBigEndianExtensible checks the one GUID whose fields change their order.
func TestBigEndianExtensible(t *testing.T) {
	b := be.AppendUint16(fmtBody(be, tagExtensible, 1, 48000, 2, 16), 22)
	b = be.AppendUint16(b, 16)
	b = be.AppendUint32(b, 0)
	b = append(b, 0, 0, 0, 1, 0, 0, 0, 0x10)
	f := open(t, save(t, rifx(append(b, guidTail...), 2, []int64{16384, -32768})))
	if got := interleaved(t, f); !slices.Equal(got, []float32{0.5, -1}) {
		t.Errorf("got %v", got)
	}
}
