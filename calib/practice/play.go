package practice

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat"

	"lagwright/calib"
)

// Play is one take to be played. Its zero value plays the first voice at 96 BPM.
type Play struct {
	Voice    string   // empty = the machine's first voice
	Others   []string // further voices that play and have a microphone, on channels 3, 4 and so on
	TempoBPM float64  // what the hand aims at; 0 = 96
	Sweep    Sweep    // on from there; its length says how many drops there are
	Setting  int      // steps, positive = voice earlier
	Hits     int      // drops of the voice in the programme, missed ones counted; 0 = 12
	Every    int      // beats from one drop to the next; 0 = 1
	PerBeat  int      // reference hits in a beat; 0 = 1
	AccentDB float64  // how far reference hits between beats lie below those on a beat, dB
	Rate     float64  // sample rate in Hz; 0 = 48000
	Seed     uint64   // of jitter, loudness, mishaps and noise: the same seed makes the same take
	Disturb  Disturb  // knobs left at zero are the machine's own habit
	PeakDBFS float64  // peak of an average hit, dB below full scale; 0 = −8
	LeadS    float64  // silence before the first hit, s; 0 = 0.5
	TailS    float64  // what follows the last hit, s; 0 = 0.6
}

// Truth is what really happened in a take, whatever the recording caught of it.
type Truth struct {
	ReferenceHitsS []float64 // s from the start of the take
	VoiceHitsS     []float64 // one for each drop that was not missed
	LagsMS         []float64 // of VoiceHitsS, each to the reference hit on its own beat; may exceed a beat
	PeriodsMS      []float64 // the beat period by which each lag follows the law, but for jitter
	DoubleHitsS    []float64 // second hits of drops that let two shot go; in no other list
	Missed         int       // drops without a hit
	MeanLagMS      float64   // mean of LagsMS; NaN when every drop was missed
	TempoBPM       float64   // as played, over all reference hits
	Faults         []Fault   // of cables and recorder, in order of time
	Others         []Truth   // of Play.Others: as above, but for ReferenceHitsS, TempoBPM and Faults, which are the take's
}

// Play plays a take. It panics on a voice the machine has not got or that is asked
// for twice, a rate below 8000 Hz, or a negative tempo or number. A take with lost samples is shorter,
// and times in its truth are those on the recording; lags and tempo stay those
// of the machine, and a hit that fell into the gap is in no list.
func (m Machine) Play(p Play) (calib.Recording, Truth) {
	p = p.filled()
	d := p.Disturb.or(m.Habit)
	take := schedule(m, p, d)
	rec := calib.Recording{RateHz: p.Rate, Samples: make([][]float32, 1+len(take.parts))}
	st := newStage(m, p, d, take)
	for ch := range rec.Samples {
		rec.Samples[ch] = st.render(ch)
	}
	take.truth.Faults = st.faults
	if d.LostFrames > 0 {
		lose(rec, &take.truth, d.LostFrames, p.Seed)
	}
	if d.Swapped {
		rec.Samples[0], rec.Samples[1] = rec.Samples[1], rec.Samples[0]
	}
	return rec, take.truth
}

// Hits returns what happens in a take that Play plays, without its sound and without
// what cables and recorder do to it. It panics where Play does.
func (m Machine) Hits(p Play) Truth {
	p = p.filled()
	return schedule(m, p, p.Disturb.or(m.Habit)).truth
}

func (p Play) filled() Play {
	p.TempoBPM = cmp.Or(p.TempoBPM, 96)
	p.Hits = cmp.Or(p.Hits, 12)
	p.Every = cmp.Or(p.Every, 1)
	p.PerBeat = cmp.Or(p.PerBeat, 1)
	p.Rate = cmp.Or(p.Rate, 48000)
	p.PeakDBFS = cmp.Or(p.PeakDBFS, -8)
	p.LeadS = cmp.Or(p.LeadS, 0.5)
	p.TailS = cmp.Or(p.TailS, 0.6)
	if !(p.TempoBPM > 0) || p.Sweep.ToBPM < 0 || !(p.Rate >= 8000) || p.Hits < 0 || p.Every < 0 || p.PerBeat < 0 {
		panic(fmt.Sprintf("practice: cannot play %d hits every %d, %d a beat, at %g BPM and %g Hz", p.Hits, p.Every, p.PerBeat, p.TempoBPM, p.Rate))
	}
	return p
}

// Streams of luck, so that one knob does not change another's numbers.
const (
	luckCrank = iota + 1
	luckDrops
	luckLoudness
	luckNoise // and the next two numbers: the second channel, broken cables
	_
	_
	luckHarmonics
	luckKnocks
	luckSwell // from the second channel on
	_
	luckCable // and the next number, for the second channel
	_
	luckLost
)

// luckChannel lies between the streams of one channel and the next, from the
// third on.
const luckChannel = 100

// stream returns the stream of luck of a channel, from 0.
func stream(first uint64, ch int) uint64 {
	if ch < 2 {
		return first + uint64(ch)
	}
	return first + luckChannel*uint64(ch)
}

func luck(seed, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }

// drop is what becomes of one drop of the voice.
type drop struct {
	hitS    float64
	missed  bool
	doubleS float64 // when a second shot hits; 0 = there is none
	trayS   float64 // when spent shot lands in the tray
}

// score is everything that sounds in a take, and the truth about it.
type score struct {
	parts []part
	truth Truth
	endS  float64                   // length of the take
	beat  func(atS float64) float64 // where the crank stands at a time in the take, in beats
}

// part is what one voice plays in a take.
type part struct {
	voice Voice
	drops []drop
}

// voices returns the voices that play: the one asked for, then the others.
func (m Machine) voices(p Play) []Voice {
	all := []Voice{m.mustVoice(p.Voice)}
	for _, name := range p.Others {
		v := m.mustVoice(name)
		for _, w := range all {
			if w.Name == v.Name {
				panic("practice: a voice is asked for twice") // not which: a crash is reported without names
			}
		}
		all = append(all, v)
	}
	return all
}

// schedule decides when everything in a take happens.
func schedule(m Machine, p Play, d Disturb) score {
	voices := m.voices(p)
	c := newCrank(p, m.CrankTurnsPerBeat, d, luck(p.Seed, luckCrank))
	if c.sweep != nil {
		p.Hits = c.sweep.drops(p.Every)
	}

	// The reference is heard from a beat before the first drop or its release
	// to a beat after the last drop or its hit.
	last := float64((p.Hits - 1) * p.Every)
	from, to := 0.0, last
	for _, v := range voices {
		angle := m.angle(v, p.Setting)
		from, to = min(from, angle), max(to, last+angle+v.DelayMS()/1000/c.periodS)
	}
	from, to = math.Floor(from)-1, math.Ceil(to)+1
	r := luck(p.Seed, luckDrops)
	startS := c.at(from) - p.LeadS - r.Float64()/1000 // so that hits lie between samples

	var s score
	for k := range int(to-from)*p.PerBeat + 1 {
		beat := from + float64(k)/float64(p.PerBeat)
		s.truth.ReferenceHitsS = append(s.truth.ReferenceHitsS, c.at(beat)-startS)
	}
	s.beat = func(atS float64) float64 { return c.beat(startS + atS) }
	s.endS = s.truth.ReferenceHitsS[len(s.truth.ReferenceHitsS)-1]
	for i, v := range voices {
		truth := &s.truth
		if i > 0 {
			r = luck(p.Seed, stream(luckDrops, i+1))
			s.truth.Others = append(s.truth.Others, Truth{})
			truth = &s.truth.Others[i-1]
		}
		drops := m.drop(v, p, d, c, startS, r, truth)
		s.parts = append(s.parts, part{v, drops})
		s.endS = max(s.endS, drops[len(drops)-1].hitS)
	}
	s.truth.sum(p.PerBeat)
	s.endS += p.TailS
	return s
}

// drop lets a voice's drops fall and notes what becomes of them.
func (m Machine) drop(v Voice, p Play, d Disturb, c crank, startS float64, r *rand.Rand, truth *Truth) (drops []drop) {
	angle, delayS := m.angle(v, p.Setting), v.DelayMS()/1000
	for n := range p.Hits {
		beat := float64(n * p.Every)
		dr := newDrop(c.at(beat+angle)-startS+delayS+m.JitterMS/1000*r.NormFloat64(), d, r)
		drops = append(drops, dr)
		truth.note(dr, c.at(beat)-startS, c.periodMS(beat, angle))
	}
	truth.MeanLagMS = stat.Mean(truth.LagsMS, nil)
	return drops
}

// newDrop draws the mishaps of one drop; the spans of time are invented.
func newDrop(hitS float64, d Disturb, r *rand.Rand) drop {
	missed, double := r.Float64() < d.MissedShare, r.Float64() < d.DoubleShare
	secondS, trayS := 0.025+0.04*r.Float64(), 0.2+0.25*r.Float64()
	dr := drop{hitS: hitS, missed: missed, trayS: hitS + trayS}
	if double && !missed {
		dr.doubleS = hitS + secondS
	}
	return dr
}

func (t *Truth) note(dr drop, referenceS, periodMS float64) {
	if dr.missed {
		t.Missed++
		return
	}
	t.VoiceHitsS = append(t.VoiceHitsS, dr.hitS)
	t.LagsMS = append(t.LagsMS, 1000*(dr.hitS-referenceS))
	t.PeriodsMS = append(t.PeriodsMS, periodMS)
	if dr.doubleS != 0 {
		t.DoubleHitsS = append(t.DoubleHitsS, dr.doubleS)
	}
}

func (t *Truth) sum(perBeat int) {
	n := len(t.ReferenceHitsS) - 1
	beats := float64(n) / float64(perBeat)
	t.TempoBPM = 60 * beats / (t.ReferenceHitsS[n] - t.ReferenceHitsS[0])
}
