package handsfree

import (
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/playback"
)

// Phase is where a take stands.
type Phase string

// The phases.
const (
	Waiting  Phase = "waiting"  // armed; the crank stands still
	Settling Phase = "settling" // the crank turns, and its tempo has not settled near the target yet
	Counting Phase = "counting" // hits count
	Enough   Phase = "enough"   // it stopped by itself: the interval is tight enough
	Stopped  Phase = "stopped"  // it ended otherwise; Reason says why
)

// recording reports whether the machine leads a take.
func (p Phase) recording() bool { return p == Waiting || p == Settling || p == Counting }

// Reason is why a take ended.
type Reason string

// The reasons.
const (
	AsSureAsItGets Reason = "as sure as it gets" // with Enough: hits would not narrow it further
	ByHand         Reason = "by hand"            // the key or foot switch
	CrankStopped   Reason = "crank stopped"      // no reference hit for a few beats: the natural end
	ReferenceLost  Reason = "reference lost"     // the same, but the voice goes on: its cable, or its microphone fell off
	TooLong        Reason = "too long"           // the longest take is over
	NobodyPlayed   Reason = "nobody played"
	CableSpoilt    Reason = "cable" // a cable fault spoils the take, however long it gets
	DeviceLost     Reason = "device lost"
)

// Event is what happened besides sound.
type Event int

// The events.
const (
	Nothing Event = iota
	Pressed       // space, enter or the foot switch: stops
	Lost          // the recording device is gone
	Left          // whoever recorded goes: it stops, however short a while ago it began
)

// Heard is what came in at a tick.
type Heard struct {
	AtS       float64 // since Begin, s, on a clock that never goes back
	Event     Event
	RecordedS float64        // recorded so far, s; of the take, not of the tick
	Levels    []Level        // of every channel since the tick before, channel 1 first
	Reading   *calib.Reading // of the whole recording so far; nil while there is none
	MeasuredS float64        // how much of the recording Reading was made from, s
	Gaps      int            // in the recording so far: buffers lost, overruns
}

// Say is what the machine says at a tick.
type Say struct {
	Phase  Phase
	Reason Reason        // once it has ended
	Big    string        // for three metres: a few words
	Small  string        // a sentence beside them
	Warns  bool          // Big tells of something wrong
	Tone   playback.Tone // to sound now; "" most of the time
	Stop   bool          // stop recording now
	Keep   bool          // with Stop: there is a take worth measuring

	Tempo  Tempo   // against the target, from the last few beats
	BPM    float64 // of the last few beats; 0 = unknown
	Good   int     // hits that count
	Of     int     // hits that it takes, as far as is known
	HalfMS float64 // half the 95 % interval; 0 before the reading would do for a take: hits enough, none in doubt
	NeedMS float64 // half-width that is enough
	FromS  float64 // the take is to be measured from here on: [Part]; s of the recording

	Bands []Band // of a sweep: the tempos that it has to cover, the slowest first

	Troubles []Trouble // that began at this tick
}

// State is where a take stands between ticks. Make it with Begin.
type State struct {
	plan     Plan
	phase    Phase
	reason   Reason
	startedS float64 // of the recording, when the crank began to turn
	ignoreS  float64 // of the recording: hits before belong to a try that broke off
	fromS    float64
	pace     pace
	tempo    Tempo
	told     Tempo   // by a tone
	toldS    float64 // when
	tries    int     // ticks in a row at which it was enough
	progress progress
	bands    []Band // of a sweep
	troubles troubles
}

// Begin arms: it returns the state of a take that is recorded from now on, and what to
// say at it.
func Begin(p Plan) (State, Say) {
	p = p.filled()
	s := State{plan: p, phase: Waiting}
	if p.sweeps() {
		s.bands = p.bands(calib.Reading{})
	}
	s.progress = s.none()
	say := s.say(Heard{}, nil)
	say.Tone = playback.Armed
	return s, say
}

// none is the progress of a take in which nothing counts yet.
func (s State) none() progress {
	if s.plan.sweeps() {
		return progress{of: len(s.bands)}
	}
	return progress{of: s.plan.LeastHits, needMS: s.plan.needMS()}
}

const (
	bounceS   = 0.4 // a press so soon after the one that began is the switch bouncing, or a key held down
	stopBeats = 3   // beats without a reference hit, after which the crank stands still
	lostBeats = 6   // the same, where the voice goes on
	stopS     = 1.5 // s, and at least
	againS    = 4   // s, after which a tempo that is still wrong is told again
	surely    = 2   // ticks in a row that say enough: a reading changes with each hit
)

// Next returns the state after a tick and what to say at it. It changes nothing
// that it is given.
func Next(s State, h Heard) (State, Say) {
	before := s
	var began []Trouble
	switch {
	case !s.phase.recording():
	case h.Event == Left, h.Event == Pressed && h.AtS >= bounceS:
		s = s.ended(Stopped, ByHand)
	case h.Event == Lost:
		s = s.ended(Stopped, DeviceLost)
	default:
		s, began = s.listen(h)
	}
	s, tone := s.tone(before.phase, h, began)
	say := s.say(h, began)
	say.Tone = tone
	say.Stop = before.phase.recording() && !s.phase.recording()
	say.Keep = say.Stop && before.phase != Waiting
	return s, say
}

func (s State) ended(p Phase, r Reason) State {
	s.phase, s.reason = p, r
	return s
}

// listen takes in what was heard while a take is recorded.
func (s State) listen(h Heard) (State, []Trouble) {
	var began []Trouble
	s.troubles, began = s.troubles.watch(h, s)
	if h.Reading != nil {
		s = s.follow(*h.Reading)
		s = s.judge(*h.Reading, h.MeasuredS)
	}
	return s.giveUp(h), began
}

// follow takes the tempo of the last few beats.
func (s State) follow(r calib.Reading) State {
	s.pace = paceOf(since(r.ReferenceHitsS, s.ignoreS), s.plan.PerBeat)
	s.tempo = s.pace.word(s.tempo, s.plan.TargetBPM)
	if s.plan.sweeps() {
		s.tempo = TempoRight
		if band, open := s.next(); open {
			s.tempo = band.word(s.pace.bpm)
		}
	}
	return s
}

// judge moves from phase to phase by what a reading says that was made from the
// first heardS of the recording.
func (s State) judge(r calib.Reading, heardS float64) State {
	if s.stands(r, heardS) {
		if s.phase == Counting {
			return s.ended(Stopped, s.whyNone(r))
		}
		s.phase, s.ignoreS = Waiting, s.pace.lastS+bounceS
		s.pace, s.tempo, s.told = pace{}, TempoUnknown, TempoUnknown
		return s
	}
	if s.phase == Waiting && s.pace.bpm > 0 {
		s.phase, s.startedS = Settling, s.pace.firstS
	}
	near := s.plan.sweeps() || s.pace.near(s.phase == Counting, s.plan.TargetBPM)
	switch {
	case s.phase == Settling && s.plan.sweeps() && s.pace.beatsPlayed >= recentBeats: // at whatever tempo: each tells
		s.phase = Counting
		s.fromS = math.Max(s.startedS-30/s.pace.bpm, s.ignoreS)
	case s.phase == Settling && s.pace.steady && near:
		s.phase = Counting
		s.fromS = math.Max(settled(since(r.ReferenceHitsS, s.ignoreS), s.plan.PerBeat, s.pace), s.ignoreS)
	case s.phase == Counting && s.pace.bpm > 0 && !near:
		s.phase, s.tries = Settling, 0
		s.progress = s.none()
	}
	if s.phase == Counting {
		s = s.count(Part(r, s.fromS, s.plan.PerBeat))
	}
	return s
}

// count judges the part of the reading that counts.
func (s State) count(r calib.Reading) State {
	s.progress = progressOf(r, s.plan)
	if s.plan.sweeps() {
		s.bands = s.plan.bands(r)
		covered := len(slices.DeleteFunc(slices.Clone(s.bands), func(b Band) bool { return !b.Covered() }))
		s.progress.good, s.progress.of, s.progress.tight = covered, len(s.bands), covered == len(s.bands)
	}
	if !s.progress.enough(s.plan) {
		s.tries = 0
		return s
	}
	if s.tries++; s.tries < surely {
		return s
	}
	switch g := s.progress; {
	case g.spoilt:
		return s.ended(Stopped, CableSpoilt)
	case !g.tight:
		return s.ended(Enough, AsSureAsItGets)
	}
	return s.ended(Enough, "")
}

// stands reports whether the crank that turned stands still. While the voice goes
// on, the reference may only be drowned for a while.
func (s State) stands(r calib.Reading, heardS float64) bool {
	if !(s.pace.bpm > 0) {
		return false
	}
	beats := float64(stopBeats)
	if s.goesOn(r, 1.5) {
		beats = lostBeats
	}
	return heardS-s.pace.lastS > math.Max(beats*60/s.pace.bpm, stopS)
}

// goesOn reports whether the voice struck so many beats after the last reference
// hit, or later: by its hits, and by its loudness, since measuring may leave hits
// out that have no reference near them.
func (s State) goesOn(r calib.Reading, beats float64) bool {
	after := s.pace.lastS + beats*60/s.pace.bpm
	return len(since(r.VoiceHitsS, after)) > 0 || s.troubles.ears[1].struckS > after
}

// whyNone tells a crank that stopped from a reference that is not heard any more:
// then the voice still goes on.
func (s State) whyNone(r calib.Reading) Reason {
	if s.goesOn(r, stopBeats+1) {
		return ReferenceLost
	}
	return CrankStopped
}

// giveUp ends a take that nobody plays, or that gets too long.
func (s State) giveUp(h Heard) State {
	switch {
	case s.phase == Waiting && h.AtS > patientS:
		return s.ended(Stopped, NobodyPlayed)
	case (s.phase == Settling || s.phase == Counting) && h.RecordedS-s.startedS > s.plan.longestS():
		return s.ended(Stopped, TooLong)
	}
	return s
}
