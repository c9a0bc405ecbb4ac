package loop

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
)

// shop is a machine that is played without sound: hits lie where the law of the
// simulated machine puts them, with its scatter and an uneven crank.
type shop struct {
	machine.Machine
	t       testing.TB
	machine practice.Machine
	stands  int // where the plate truly stands
	luck    *rand.Rand
	first   int // where it stood at the first take
	sweeps  bool
}

func open(t testing.TB, seed uint64, bpm float64, songs ...machine.Song) *shop {
	m := practice.Default()
	s := &shop{t: t, machine: m, luck: rand.New(rand.NewPCG(seed, 3)), Machine: machine.Machine{
		Build: machine.Build{Name: m.Name, Plate: m.Plate, Steady: true}, ToleranceMS: 5, Songs: songs,
	}}
	for _, v := range m.Voices {
		s.Build.Voices = append(s.Build.Voices, v.Name)
	}
	s.aim(bpm, s.Build.Voices[0])
	return s
}

func (s *shop) aim(bpm float64, voice string) {
	s.Target = machine.Target{TempoBPM: bpm, Voice: voice}
}

// turn tells a move and makes it.
func (s *shop) turn(steps int) { s.tell(steps); s.stands += steps }

// tell says that a move was made, as the bench keeps it.
func (s *shop) tell(steps int) {
	asked := 0
	if v := Look(s.Machine); v.Stage == AwaitMove {
		asked = v.Steps
	}
	if err := s.AddMove(steps, asked, ""); err != nil {
		s.t.Fatal(err)
	}
}

// play adds a take at the target: of its voice, or of the voices given.
func (s *shop) play(voices ...string) View {
	if len(voices) == 0 {
		voices = []string{s.Target.Voice}
	}
	if len(s.Takes) == 0 {
		s.first = s.stands
	}
	t := machine.Take{ID: len(s.Takes) + 1, Origin: machine.Simulated, Target: s.Target, Reference: 1, Channels: 1 + len(voices)}
	if v := Look(s.Machine); v.Stage == AwaitMove {
		t.Asked = v.Steps
	}
	readings := s.strikes(voices)
	if v := Look(s.Machine); s.sweeps && v.Next != nil && v.Next.ToBPM > 0 {
		readings = s.sweep(voices, v.Next.Target.TempoBPM, v.Next.ToBPM)
	}
	for i, r := range readings {
		t.Heard = append(t.Heard, machine.Heard{Voice: voices[i], Channel: 2 + i, Reading: r})
	}
	s.Takes = append(s.Takes, t)
	return s.look()
}

// strikes returns what twelve strikes of some voices read.
func (s *shop) strikes(voices []string) (readings []calib.Reading) {
	period := calib.PeriodMS(s.Target.TempoBPM) * (1 + 0.007*s.luck.NormFloat64())
	drift := 0.009 * s.luck.NormFloat64()
	own := make([]float64, len(voices)) // what the voice's lag differs by from take to take
	for i := range own {
		own[i] = calib.TakeToTakeMS * s.luck.NormFloat64()
	}
	pairs, voiceS := make([][]calib.Pair, len(voices)), make([][]float64, len(voices))
	var referenceS []float64
	at := 1.0
	for n := range 12 {
		here := period * (1 + drift*(float64(n)/11-0.5))
		referenceS = append(referenceS, at)
		for i, v := range voices {
			lag := s.machine.LagMS(v, here, s.stands) + own[i] + s.machine.JitterMS*s.luck.NormFloat64()
			lag = math.Remainder(lag, here) // it is paired with the nearest
			pairs[i] = append(pairs[i], calib.Pair{ReferenceS: at, VoiceS: at + lag/1000, LagMS: lag, Used: true})
			voiceS[i] = append(voiceS[i], at+lag/1000)
		}
		at += here / 1000
	}
	for i := range voices {
		readings = append(readings, calib.Read(pairs[i], referenceS, voiceS[i], 1).Widen(0.2, 48000))
	}
	return readings
}

// sweep returns what some voices read in a sweep of a minute.
func (s *shop) sweep(voices []string, fromBPM, toBPM float64) (readings []calib.Reading) {
	truth := s.machine.Hits(practice.Play{Voice: voices[0], Others: voices[1:], TempoBPM: fromBPM, Setting: s.stands, Seed: s.luck.Uint64(),
		Sweep: practice.Sweep{ToBPM: toBPM, Uneven: 0.4}})
	for _, one := range append([]practice.Truth{truth}, truth.Others...) {
		var pairs []calib.Pair
		for i, at := range one.VoiceHitsS {
			ref := at - one.LagsMS[i]/1000
			n, _ := slices.BinarySearchFunc(truth.ReferenceHitsS, ref-1e-6, cmp.Compare[float64])
			if n < len(truth.ReferenceHitsS) && math.Abs(truth.ReferenceHitsS[n]-ref) < 1e-3 {
				pairs = append(pairs, calib.Pair{ReferenceS: truth.ReferenceHitsS[n], VoiceS: at, LagMS: one.LagsMS[i], Used: true})
			}
		}
		readings = append(readings, calib.Read(pairs, truth.ReferenceHitsS, one.VoiceHitsS, 1).Widen(0.2, 48000))
	}
	return readings
}

func (s *shop) look() View {
	s.t.Helper()
	v := Look(s.Machine)
	if v.Err != nil {
		s.t.Fatal(v.Err)
	}
	return v
}

// take is a take as it truly was: told counts only in what the machine hears.
type take struct {
	voice  string
	bpm    float64
	stands int // where the plate truly stands
	told   int // to be turned after it
}

// truly plays takes.
func (s *shop) truly(takes ...take) *shop {
	for _, one := range takes {
		s.aim(one.bpm, one.voice)
		s.stands = one.stands
		s.play()
		if one.told != 0 {
			s.tell(one.told)
		}
	}
	return s
}

// tune plays and moves as told until the voice is tight, and returns how many takes
// that took.
func (s *shop) tune(bpm float64, voice string) (takes int) {
	s.t.Helper()
	s.aim(bpm, voice)
	for takes < 8 {
		switch v := s.look(); v.Stage {
		case Tight:
			return takes
		case AwaitMove:
			s.turn(v.Steps)
		case AwaitTake, Foretold:
			takes++
			s.play()
		}
	}
	s.t.Fatalf("the %s is not tight at %g BPM after %d takes: %s", voice, bpm, takes, s.look().Why)
	return 0
}

// goTo does what the set list's next take asks for, all voices heard or its own.
func (s *shop) goTo(next *NextTake, voices ...string) View {
	s.t.Helper()
	s.Target = next.Target
	if next.Move != 0 {
		s.turn(next.Move)
	}
	return s.play(voices...)
}

// follow plays the takes that the set list asks for until it asks for no more.
func (s *shop) follow(most int) (v View) {
	s.t.Helper()
	for range most + 1 {
		if v = s.look(); v.Next == nil {
			return v
		}
		if song := v.Songs[v.Next.Song].Song; song.Name != v.Next.Target.Song || song.TempoBPM != v.Next.Target.TempoBPM {
			s.t.Fatalf("the next take is at %+v, for the song %+v", v.Next.Target, song)
		}
		s.goTo(v.Next)
	}
	s.t.Fatalf("not verified after %d takes: %+v", most, v.Songs)
	return v
}

// trueLag is by the machine's own law, the whole beats between where the plate stood at
// the first take and where the pins belong taken off.
func (s *shop) trueLag(voice string, bpm float64, setting int) float64 {
	period := calib.PeriodMS(bpm)
	return math.Remainder(s.machine.LagMS(voice, period, s.first+setting), period)
}

// wantTight checks a setting against the machine's own law; the limit is that of a
// move worth making.
func (s *shop) wantTight(voice string, bpm float64, setting int) {
	s.t.Helper()
	step := s.machine.Plate.StepBeats() * calib.PeriodMS(bpm)
	if left := s.trueLag(voice, bpm, setting); math.Abs(left) > math.Max(s.ToleranceMS, 0.6*step)+1 {
		s.t.Errorf("the %s at %g BPM: at %+d its true lag is %.1f ms", voice, bpm, setting, left)
	}
}

// wantTrue checks the set list of a view, and the law behind it, against the machine's
// own law.
func (s *shop) wantTrue(v View) {
	s.t.Helper()
	for i, song := range v.Songs {
		if song.Stands.Enough() != v.AsEntered() {
			s.t.Errorf("%s stands at %v, the moves are as entered: %v: %s", song.Name, song.Stands, v.AsEntered(), song.Why)
		}
		for _, r := range song.Parts {
			left := s.trueLag(r.Voice, song.TempoBPM, song.Setting)
			if math.Abs(left) > song.LimitMS+1 || math.Abs(left-r.LagMS) > math.Max(2*r.HalfMS, 1.5) {
				s.t.Errorf("%s: the %s is truly %.1f ms off, expected %.1f ± %.1f", song.Name, r.Voice, left, r.LagMS, r.HalfMS)
			}
			lag, sd, known := v.Lag(r.Voice, song.Setting, calib.PeriodMS(song.TempoBPM))
			if !known || math.Abs(lag-r.LagMS) > 0.5 || !(sd > 0 && sd < 10) {
				s.t.Errorf("%s: the law says %.2f ms (sd %.2f, %v), the set list expects %.2f", song.Name, lag, sd, known, r.LagMS)
			}
			for _, bpm := range []float64{song.LowBPM, song.HighBPM} {
				if edge := math.Abs(s.trueLag(r.Voice, bpm, song.Setting)); len(song.Parts) == 1 && math.Abs(edge-song.LimitMS) > 1.5 {
					s.t.Errorf("%s: at %.1f BPM, the edge of its window, the lag is %.1f ms of %.1f", song.Name, bpm, edge, song.LimitMS)
				}
			}
		}
		if song.LowBPM > song.TempoBPM || song.HighBPM < song.TempoBPM {
			s.t.Errorf("%s: %g BPM is not between %g and %g", song.Name, song.TempoBPM, song.LowBPM, song.HighBPM)
		}
		if i > 0 && song.Move != song.Setting-v.Songs[i-1].Setting || i == 0 && song.Move != 0 {
			s.t.Errorf("%s: move %+d to %+d", song.Name, song.Move, song.Setting)
		}
	}
}
