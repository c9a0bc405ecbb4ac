package trace

import (
	"io"
	"math"
	"math/rand/v2"

	"lagwright/calib"
)

// memory is a Source held in memory.
type memory struct {
	rate     float64
	channels [][]float32
	reads    int
	fail     error
	short    int64 // frames it claims but does not have
}

func (m *memory) Rate() float64 { return m.rate }
func (m *memory) Channels() int { return len(m.channels) }
func (m *memory) Frames() int64 { return int64(len(m.channels[0])) + m.short }

func (m *memory) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	m.reads++
	if m.fail != nil {
		return 0, m.fail
	}
	all := m.channels[channel-1]
	if frame >= int64(len(all)) {
		return 0, io.EOF
	}
	n := copy(dst, all[frame:])
	if n < len(dst) {
		return n, io.EOF
	}
	return n, nil
}

// strike adds a decaying sine at the given moment.
func strike(dst []float32, rate, at, hz, decay, height float64) {
	first := int(math.Ceil(at * rate))
	for i := first; i < len(dst) && i < first+int(decay*8*rate); i++ {
		s := float64(i)/rate - at
		dst[i] += float32(height * math.Exp(-s/decay) * math.Sin(2*math.Pi*hz*s))
	}
}

// play returns a take of the given length at 92 BPM whose voice is late by about
// lagMS, with every ninth pair left out.
func play(seconds, lagMS float64) (*memory, calib.Reading) {
	const rate = 8000
	rng := rand.New(rand.NewPCG(3, 9))
	src := &memory{rate: rate, channels: [][]float32{
		make([]float32, int(seconds*rate)), make([]float32, int(seconds*rate)),
	}}
	for i := range src.channels[0] {
		src.channels[0][i] = float32(rng.NormFloat64() * 0.002)
		src.channels[1][i] = float32(rng.NormFloat64() * 0.0015)
	}
	var r calib.Reading
	r.TempoBPM, r.ReferencePeriodMS, r.LagMS = 92, 60000.0/92, lagMS
	r.LagCI95MS, r.JitterMS = [2]float64{lagMS - 1.4, lagMS + 1.4}, 4
	for at := 0.4; at < seconds-0.3; at += 60.0 / 92 {
		lag := lagMS + rng.NormFloat64()*4
		voice := at + lag/1000
		strike(src.channels[0], rate, at, 180, 0.02, 0.5+0.2*rng.Float64())
		strike(src.channels[1], rate, voice, 410, 0.05, 0.06+0.03*rng.Float64())
		p := calib.Pair{ReferenceS: at, VoiceS: voice, LagMS: lag, Used: len(r.Pairs)%9 != 4}
		if !p.Used {
			p.Reason = "the voice sounded twice within 40 ms"
		}
		r.Pairs = append(r.Pairs, p)
		r.ReferenceHitsS = append(r.ReferenceHitsS, at)
		r.VoiceHitsS = append(r.VoiceHitsS, voice)
	}
	return src, r
}
