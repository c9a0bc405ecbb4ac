package handsfree

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/playback"
	"lagwright/internal/deeptest"
)

const tickS = 0.3

// player is somebody at the crank: when the reference struck, when the voice did.
type player struct{ reference, voice []float64 }

// crank adds beats at a tempo that goes evenly from one to another, after a rest
// in s. Every beat has a voice hit, late by a lag in ms that scatters by jitter.
func (p *player) crank(r *rand.Rand, restS float64, beats int, fromBPM, toBPM, lagMS, jitterMS float64) {
	at := restS
	if n := len(p.reference); n > 0 {
		at += p.reference[n-1]
	}
	for i := range beats {
		p.reference = append(p.reference, at)
		p.voice = append(p.voice, at+(lagMS+jitterMS*r.NormFloat64())/1000)
		at += 60 / (fromBPM + (toBPM-fromBPM)*float64(i)/float64(max(beats-1, 1)))
	}
}

// reading returns what measuring would make of the first s seconds.
func (p *player) reading(untilS float64) *calib.Reading {
	before := func(t float64) bool { return t < untilS }
	var reference, voice []float64
	var pairs []calib.Pair
	for _, t := range p.reference {
		if before(t) {
			reference = append(reference, t)
		}
	}
	for i, t := range p.voice {
		if before(t) && !math.IsNaN(t) {
			voice = append(voice, t)
			pairs = append(pairs, calib.Pair{ReferenceS: p.reference[i], VoiceS: t, LagMS: 1000 * (t - p.reference[i]), Used: true})
		}
	}
	r := calib.Read(pairs, reference, voice, 1).Widen(0.2, 48000)
	return &r
}

// run arms and ticks until the take ends or a time in s is over; change may alter
// what is heard at a tick. It returns all that was said.
func (p *player) run(plan Plan, untilS float64, change func(*Heard)) []Say {
	s, began := Begin(plan)
	said := []Say{began}
	var heard calib.Reading // measured anew after a hit only: that is what costs time
	for at := tickS; at <= untilS; at += tickS {
		fell := func(t float64) bool { return t >= at-tickS && t < at }
		if at == tickS || slices.ContainsFunc(p.reference, fell) || slices.ContainsFunc(p.voice, fell) {
			heard = *p.reading(at)
		}
		now := heard
		h := Heard{AtS: at, RecordedS: at, MeasuredS: at, Reading: &now, Levels: []Level{level(p.reference, at), level(p.voice, at)}}
		if change != nil {
			change(&h)
		}
		var say Say
		s, say = Next(s, h)
		said = append(said, say)
		if say.Stop {
			break
		}
	}
	return said
}

// level is that of a channel with hits in a little noise and hum, over the tick that
// ends at a time.
func level(hitsS []float64, at float64) Level {
	if slices.ContainsFunc(hitsS, func(t float64) bool { return t > at-tickS && t <= at }) {
		return Level{Peak: 0.2, RMS: 0.02}
	}
	return Level{Peak: 0.008, RMS: 0.002}
}

func last(said []Say) Say { return said[len(said)-1] }

func tones(said []Say) []playback.Tone {
	var c []playback.Tone
	for _, s := range said {
		if s.Tone != "" {
			c = append(c, s.Tone)
		}
	}
	return c
}

func random(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 5)) }

// A steady player is counted up and stopped within a second of the last hit that
// was needed.
func TestSteadyTakeStopsByItself(t *testing.T) {
	var p player
	p.crank(random(1), 2, 40, 84, 84, 12, 1.2)
	said := p.run(Plan{TargetBPM: 84}, 60, nil)
	end := last(said)
	if end.Phase != Enough || !end.Stop || !end.Keep || end.Good < 8 || end.HalfMS > 2.5 || end.HalfMS <= 0 {
		t.Fatalf("%+v", end)
	}
	if said[0].Phase != Waiting || said[0].Big != "Play" || !strings.Contains(end.Small, "everything is at rest") {
		t.Errorf("began with %+v, ended with %q", said[0], end.Small)
	}
	eighth, ended := p.voice[7], float64(len(said)-1)*tickS
	if ended-eighth > 1 {
		t.Errorf("stopped at %.1f s, the eighth hit was at %.1f s", ended, eighth)
	}
	if want := []playback.Tone{playback.Armed, playback.InTempo, playback.Stopped}; !slices.Equal(tones(said), want) {
		t.Errorf("sounded %v, want %v", tones(said), want)
	}
	for i := 1; i < len(said); i++ {
		if said[i].Good < said[i-1].Good {
			t.Errorf("the count went back from %d to %d", said[i-1].Good, said[i].Good)
		}
	}
}

// Beats from before the tempo had settled do not count, and the machine tells
// which way to go, once, not at every beat.
func TestCountsFromWhereItSettled(t *testing.T) {
	var p player
	r := random(2)
	p.crank(r, 2, 8, 60, 70, 5, 1)
	p.crank(r, 0.84, 6, 72, 83, 6, 1)
	p.crank(r, 0.714, 40, 84, 84, 12, 1)
	said := p.run(Plan{TargetBPM: 84}, 90, nil)
	end := last(said)
	if end.Phase != Enough {
		t.Fatalf("%+v", end)
	}
	if steady := p.reference[14]; end.FromS < p.reference[9] || end.FromS > steady+0.1 {
		t.Errorf("counts from %.2f s; the tempo was there at %.2f s", end.FromS, steady)
	}
	c := tones(said)
	if c[0] != playback.Armed || c[1] != playback.TempoLow || c[len(c)-2] != playback.InTempo || c[len(c)-1] != playback.Stopped {
		t.Errorf("sounded %v", c)
	}
	if n := slices.Index(c, playback.InTempo); slices.Contains(c[n:len(c)-1], playback.TempoLow) || len(c) > 8 {
		t.Errorf("flickers: %v", c)
	}
}

// A crank that stops ends the take; one that was only tried goes back to waiting.
func TestCrankStops(t *testing.T) {
	var p player
	p.crank(random(3), 2, 3, 84, 84, 12, 1)
	p.crank(random(3), 8, 9, 84, 84, 12, 1)
	end := last(p.run(Plan{TargetBPM: 84, LeastHits: 20}, 60, nil))
	if end.Phase != Stopped || end.Reason != CrankStopped || !end.Keep || end.Good != 9 {
		t.Fatalf("%+v", end)
	}
	if !strings.Contains(end.Small, "9 of 20") || end.FromS < p.reference[2] {
		t.Errorf("%q from %.1f s", end.Small, end.FromS)
	}
}

func TestReferenceLost(t *testing.T) {
	var p player
	p.crank(random(4), 2, 30, 84, 84, 12, 1)
	voice := p.voice
	p.reference, p.voice = p.reference[:7], p.voice[:7]
	for what, change := range map[string]func(*Heard){
		"by its hits": func(h *Heard) {
			for _, v := range voice[7:] {
				if v < h.RecordedS {
					h.Reading.VoiceHitsS = append(h.Reading.VoiceHitsS, v)
				}
			}
		},
		"by its loudness": func(h *Heard) { h.Levels[1] = level(voice, h.RecordedS) },
	} {
		if end := last(p.run(Plan{TargetBPM: 84}, 60, change)); end.Reason != ReferenceLost || end.Big != "Stop the crank, then check the cables" {
			t.Errorf("%s: %+v", what, end)
		}
	}
}

// The key stops; a bouncing switch does not; without a player it gives up; a take
// never gets longer than the longest.
func TestEndsOtherwise(t *testing.T) {
	var p player
	p.crank(random(5), 2, 200, 84, 84, 12, 1)
	press := func(at float64) func(*Heard) {
		return func(h *Heard) {
			if math.Abs(h.RecordedS-at) < tickS/2 {
				h.Event = Pressed
			}
		}
	}
	if end := last(p.run(Plan{TargetBPM: 84}, 60, press(6))); end.Reason != ByHand || !end.Keep {
		t.Errorf("the key: %+v", end)
	}
	if end := last(p.run(Plan{TargetBPM: 84}, 60, press(0.3))); end.Phase != Enough {
		t.Errorf("a bouncing switch: %+v", end)
	}
	if end := last((&player{}).run(Plan{TargetBPM: 84}, 320, nil)); end.Reason != NobodyPlayed || end.Keep {
		t.Errorf("nobody: %+v", end)
	}
	if end := last(p.run(Plan{TargetBPM: 120}, 130, nil)); end.Reason != TooLong || end.Good != 0 {
		t.Errorf("at the wrong tempo for ever: %+v", end)
	}
	lost := func(h *Heard) {
		if h.RecordedS > 5 {
			h.Event = Lost
		}
	}
	if end := last(p.run(Plan{TargetBPM: 84}, 60, lost)); end.Reason != DeviceLost || !end.Keep {
		t.Errorf("the device: %+v", end)
	}
}

// Hits that scatter ask for more of them, and say how many; what hits cannot
// narrow ends the take and says what it is.
func TestSaysWhyNotYet(t *testing.T) {
	var p player
	p.crank(random(6), 2, 200, 84, 84, 12, 8)
	said := p.run(Plan{TargetBPM: 84}, 200, nil)
	i := slices.IndexFunc(said, func(s Say) bool { return s.Good >= 8 && s.Of > s.Good })
	if i < 0 || !strings.Contains(said[i].Small, "scatter from hit to hit") {
		t.Fatalf("never said why")
	}
	if end := last(said); end.Phase != Enough || end.Good < 20 || end.HalfMS > end.NeedMS {
		t.Errorf("%+v", end)
	}
	blunt := func(h *Heard) { *h.Reading = h.Reading.Widen(3, 48000) }
	if end := last(p.run(Plan{TargetBPM: 84}, 60, blunt)); end.Reason != AsSureAsItGets || !strings.Contains(end.Small, "where the strike begins") {
		t.Errorf("%+v", end)
	}
}

// Part forgets what came before, as if it had not been played, and keeps the
// allowances.
func TestPart(t *testing.T) {
	var p player
	r := random(7)
	p.crank(r, 1, 6, 60, 60, 40, 1)
	p.crank(r, 1, 12, 84, 84, 12, 1)
	whole := p.reading(1000)
	got := Part(*whole, p.reference[6]-0.3, 1)
	q := player{p.reference[6:], p.voice[6:]}
	want := *q.reading(1000)
	if got.Used() != 12 || math.Abs(got.LagMS-want.LagMS) > 1e-9 || math.Abs(got.HalfWidthMS()-want.HalfWidthMS()) > 1e-9 || got.TempoBPM != want.TempoBPM {
		t.Errorf("%+v, want %+v", got.Budget, want.Budget)
	}
}

// Looking at an interval again and again and stopping when it is narrow makes it
// too narrow; two looks and eight hits keep it honest (Chow and Robbins 1965, from memory:
// the coverage tends to the stated one as the interval narrows).
func TestStoppingKeepsCoverage(t *testing.T) {
	covered, takes, all := 0, 0, deeptest.Of(40, 200)
	for seed := range uint64(all) {
		var p player
		p.crank(random(1000+seed), 1, 120, 84, 84, 12, 5)
		end := last(p.run(Plan{TargetBPM: 84}, 100, nil))
		if end.Phase != Enough {
			continue
		}
		takes++
		r := Part(*p.reading(float64(100)), end.FromS, 1)
		n := 0
		for i := range r.Pairs { // as many as the take had
			if r.Pairs[i].Used {
				if n++; n > end.Good {
					r.Pairs[i].Used = false
				}
			}
		}
		part := calib.Read(slices.DeleteFunc(r.Pairs, func(p calib.Pair) bool { return !p.Used }), r.ReferenceHitsS, r.VoiceHitsS, 1).Widen(0.2, 48000)
		if math.Abs(part.LagMS-12) <= part.HalfWidthMS() {
			covered++
		}
	}
	share := float64(covered) / float64(takes)
	t.Logf("%d takes, %.1f %% covered", takes, 100*share)
	if takes < all*39/40 || share < 0.95-2*math.Sqrt(0.95*0.05/float64(all)) { // two standard deviations of a binomial share
		t.Errorf("%d takes, of which %.1f %% cover the lag", takes, 100*share)
	}
}
