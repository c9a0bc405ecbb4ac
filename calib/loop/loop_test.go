package loop

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/internal/i18ntest"
)

// Every voice lands where the machine's own law puts it, and after the first tempo two
// takes a tempo are enough; fast tempos first too, where the first lag passes half a
// beat. No move that was made as told is doubted on the way.
func TestLoopOnTheSimulatedMachine(t *testing.T) {
	for _, voice := range open(t, 1, 84).Build.Voices {
		for _, tempos := range [][]float64{{72, 96, 120}, {150, 72}, {130, 60, 100}} {
			s := open(t, 1, tempos[0])
			for n, bpm := range tempos {
				if takes := s.tune(bpm, voice); n > 0 && takes > 2 {
					t.Errorf("%s at %g BPM: %d takes, want 2 at most", voice, bpm, takes)
				}
				s.wantTight(voice, bpm, s.Setting())
			}
			if v := s.look(); len(v.Settings) != len(tempos) || len(v.Findings) != 0 {
				t.Errorf("%s %v: settled %+v, found %+v", voice, tempos, v.Settings, v.Findings)
			}
		}
	}
}

// After a single take that was tight where the plate stood, which way another tempo needs it
// turned is not known: the next take comes first. After two tempos it is.
func TestNoMoveTheWrongWay(t *testing.T) {
	s, stands := open(t, 2, 120), 0
	for s.machine.LagMS("tub drum", calib.PeriodMS(120), stands) > 2 {
		stands++
	}
	s.truly(take{"tub drum", 120, stands, 0}).aim(72, "tub drum")
	if v := s.look(); v.Stage != AwaitTake || v.Steps != 0 {
		t.Errorf("after one take it asks for %d steps: %s", v.Steps, v.Why)
	}
	s = open(t, 2, 120).truly(take{"tub drum", 120, stands, 0}, take{"tub drum", 96, stands, 0})
	s.aim(72, "tub drum")
	if v := s.look(); v.Stage != AwaitMove {
		t.Errorf("after two tempos it says %s: %s", v.Do, v.Why)
	}
}

// The builder changes tempo without playing, turns something else, thinks again:
// the loop always knows where the plate stands and asks for the right move.
func TestLoopFollowsTheBuilder(t *testing.T) {
	s := open(t, 2, 72)
	want := func(what string, stage Stage, steps int, why string) {
		t.Helper()
		v := s.look()
		if v.Stage != stage || v.Setting != s.Setting() || v.Steps != steps || !strings.Contains(v.Why, why) {
			t.Errorf("%s: stage %d at %+d, %+d steps, %q; want stage %d, %+d steps, saying %q", what, v.Stage, v.Setting, v.Steps, v.Why, stage, steps, why)
		}
	}
	s.tune(72, "tub drum")
	settled := s.Setting()
	want("tight", Tight, 0, "ms")

	to := func(bpm float64) int { // where the law that the takes tell puts it
		return int(math.Round(s.look().fit.machine.Law(0).Setting(calib.PeriodMS(bpm))))
	}
	s.aim(110, "tub drum")
	want("a new tempo", AwaitMove, to(110)-settled, "the tub drum should strike together")
	s.turn(0)
	want("left alone", AwaitTake, 0, "Play the tub drum at 110 BPM")
	s.aim(130, "tub drum")
	want("another tempo", AwaitMove, to(130)-settled, "130 BPM")
	s.turn(to(130) - settled)
	want("turned there", AwaitTake, 0, "Play the tub drum at 130 BPM")
	s.turn(-2)
	want("moves add up", AwaitTake, 0, "Play the tub drum at 130 BPM")

	// Back at the first tempo its own setting is known, and is asked for.
	s.aim(72, "tub drum")
	want("back at a settled tempo", AwaitMove, settled-s.Setting(), "was tight at")
	s.turn(settled - s.Setting())
	want("at its setting again", Tight, 0, "ms")
	s.aim(110, "tub drum")
	s.turn(s.look().Steps)
	s.play()
	s.aim(72, "tub drum")
	s.turn(s.look().Steps)
	want("turned there after a take elsewhere", Foretold, 0, "ms")
	s.play()
	want("and played there", Tight, 0, "ms")
}

// The loop goes by what the last take says of any voice it heard, and asks for no
// take in between.
func TestLoopTakesUpAnotherVoice(t *testing.T) {
	s := open(t, 3, 84)
	trio := s.Build.Voices
	s.play(trio...)
	step := s.machine.Plate.StepBeats() * calib.PeriodMS(84)
	for _, voice := range trio {
		s.aim(84, voice)
		v := s.look()
		steps := s.machine.LagMS(voice, calib.PeriodMS(84), 0) / step
		if v.Stage != AwaitMove || math.Abs(float64(v.Steps)-steps) > 1 || v.Last == nil || v.Last.Voice != voice || !strings.Contains(v.Last.Why(), calib.LateEarly(v.Last.LagMS)) {
			t.Errorf("%s: stage %d, %d steps, want a move of %.1f: %s", voice, v.Stage, v.Steps, steps, v.Why)
		}
	}
	s.aim(96, trio[1]) // at another tempo only the law speaks
	if v := s.look(); v.Last != nil {
		t.Errorf("at another tempo the loop speaks of take %d", v.Last.Take.ID)
	}
	s.aim(84, trio[2])
	s.turn(s.look().Steps)
	if v := s.play(trio...); v.Stage != Tight {
		t.Errorf("after the move: %s", v.Why)
	}
	s.wantTight(trio[2], 84, s.Setting())
	s.aim(84, trio[0])
	if v := s.look(); v.Stage == AwaitTake || v.Last == nil || v.Last.Take.ID != 2 {
		t.Errorf("the drum's reading in the last take is not gone by: %s", v.Why)
	}
}

// Where the hits find the plate holds for every voice of the take; and a voice that
// alone contradicts the others has moved itself: nothing is built on it.
func TestOnePlateForAllVoices(t *testing.T) {
	s := open(t, 5, 84)
	trio := s.Build.Voices
	told := s.play(trio...).Steps
	s.tell(told) // and the plate did not move
	v := s.play(trio...)
	for _, voice := range trio {
		if r, _ := v.Result(2, voice); r.Outcome == Disagrees || r.Setting != 0 || v.Results[0][0].Setting != 0 {
			t.Errorf("%s: %s at %+d: %s", voice, r.Outcome, r.Setting, r.Why())
		}
	}
	if v.Steps != told || len(v.Findings) != 1 || v.Findings[0].Yes != "The plate was not turned" {
		t.Errorf("%d steps, found %+v", v.Steps, v.Findings)
	}

	s = open(t, 8, 84)
	s.play(trio...)
	s.turn(8)
	s.machine.Voices[1].OffsetBeats += 8 * s.machine.Plate.StepBeats() // its pins went back by as much
	v = s.play(trio...)
	for i, voice := range trio {
		if r, _ := v.Result(2, voice); r.Setting != 8 || (r.Outcome == Disagrees) != (i == 1) {
			t.Errorf("%s: %s at %+d: %s", voice, r.Outcome, r.Setting, r.Why())
		}
	}
}

// The number is of the target's tempo and says what was played where that is far from it; of a
// take too far off to turn by it is as played.
func TestNumberSaysWhatWasPlayed(t *testing.T) {
	s := open(t, 3, 84)
	s.tune(84, "tub drum")
	s.tune(120, "tub drum")
	s.turn(-8)
	s.aim(88, "tub drum")
	s.play()
	last := &s.Takes[len(s.Takes)-1]
	at := func(bpm float64) (*Number, calib.Reading) {
		last.Target.TempoBPM, s.Target.TempoBPM = bpm, bpm
		return s.look().Number, last.Heard[0].Reading
	}
	if n, r := at(104); n == nil || n.BPM != 104 || math.Abs(n.FromBPM-r.TempoBPM) > 1 || math.Abs(n.LagMS-r.LagMS) < 5 {
		t.Errorf("at 104 BPM, played at %.1f: %+v", r.TempoBPM, n)
	}
	if n, r := at(88); n == nil || n.BPM != 88 || n.FromBPM != 0 {
		t.Errorf("at 88 BPM, played at %.1f: %+v", r.TempoBPM, n)
	}
	if n, r := at(124); n == nil || n.BPM != r.TempoBPM || n.LagMS != r.LagMS || n.FromBPM != 0 {
		t.Errorf("at 124 BPM, played at %.1f: %+v", r.TempoBPM, n)
	}
}

// At a tempo that no song names, the takes of all voices count: a voice heard at
// one tempo only is known better at another once a second voice has shown where the
// plate stood at first.
func TestLoopLearnsFromAllVoices(t *testing.T) {
	s := open(t, 3, 84)
	s.stands = 20
	half := func() float64 {
		s.aim(120, "brass bar")
		s.Songs = []machine.Song{{Name: "x", TempoBPM: 120, Voices: []string{"brass bar"}}}
		song := s.look().Songs[0]
		s.Songs = nil
		v := s.look()
		if say := fmt.Sprintf("known to ± %.1f ms", song.Parts[0].HalfMS); v.Setting+v.Steps != song.Setting || !strings.Contains(v.Why, say) {
			t.Errorf("the loop goes to %+d: %s; want %+d, %s", v.Setting+v.Steps, v.Why, song.Setting, say)
		}
		return song.Parts[0].HalfMS
	}
	play := func(bpm float64, voice string) {
		s.aim(bpm, voice)
		s.play()
	}
	play(84, "brass bar")
	play(84, "tub drum")
	before := half()
	play(140, "tub drum")
	play(130, "tub drum") // and no take of its was a bad one
	if after := half(); after > before/2 {
		t.Errorf("the other voice at a second tempo leaves the first at ± %.1f ms, ± %.1f before", after, before)
	}
}

// All that a view says is said in the language in use: of a long evening with two
// voices, every kind of mistake and outcome, a song that no setting suits, and what
// the loop says at each take and at other targets.
func TestViewsAreToldInAnyLanguage(t *testing.T) {
	i18ntest.Use(t)
	var texts []string
	names := append(open(t, 1, 84).Build.Voices, "Mill Waltz", "Weir Reel", "Low Water")
	for _, s := range evenings(t) {
		for n := range len(s.Takes) + 1 {
			part := s.Machine
			part.Takes = s.Takes[:n]
			for _, bpm := range []float64{0, 60, 84, 133} {
				if bpm > 0 {
					part.Target.TempoBPM = bpm
				} else if n > 0 {
					part.Target = part.Takes[n-1].Target
				}
				texts = append(texts, wordsOf(Look(part))...)
			}
		}
		err := Finding{Do: s.look().Do}.Agree(&s.Machine)
		texts = append(texts, err.Error())
	}
	i18ntest.All(t, texts, names...)
}

// evenings are machines in which much happens.
func evenings(t *testing.T) []*shop {
	tub := func(bpm float64, stands, told int) take { return take{"tub drum", bpm, stands, told} }
	long := open(t, 3, 84, append([]machine.Song{both}, evening...)...).truly(tub(84, 0, 10), tub(120, 10, 6), tub(96, 15, 2), tub(72, 17, -4), tub(108, 13, 0),
		take{"elm block", 84, 13, 0}, take{"elm block", 140, 13, 0})
	for _, code := range []string{calib.WarnDeadChannel, calib.WarnDoubtful} {
		long.play()
		h := &long.Takes[len(long.Takes)-1].Heard[0]
		h.Reading = with(h.Reading, code)
	}
	long.play()
	long.Takes[len(long.Takes)-1].Heard[0].Reading = calib.Read(nil, nil, nil, 1)
	var all []*shop
	for _, takes := range [][]take{
		{tub(84, 0, 10), tub(120, 10, 6), tub(96, 10, 8), tub(72, 18, -4)},
		{tub(84, 0, 0), tub(84, 26, 0)},
		{tub(84, 0, 10), tub(120, 10, 6), tub(96, 4, 12), tub(72, 16, -4)},
		{tub(84, 0, 10), tub(120, -10, 6), tub(96, -16, -30), tub(72, 14, -4), tub(108, 18, 0)},
		{tub(84, 0, 10), tub(120, 10, 6), tub(96, 19, 2), tub(72, 18, -4), tub(108, 14, 0)},
	} {
		all = append(all, open(t, 3, 84, evening...).truly(takes...))
	}
	unknown := open(t, 3, 84, evening...)
	unknown.Build.Plate = calib.Plate{}
	return append(all, long, unknown.truly(tub(84, 0, 10), tub(84, 10, 0)), mended{heightMM: longer}.heard(t, 66, 84, 108, 150))
}

// wordsOf are all the words of a view.
func wordsOf(v View) (texts []string) {
	add := func(words ...string) {
		for _, w := range words {
			if w != "" {
				texts = append(texts, w)
			}
		}
	}
	texts = append(texts, v.Do, v.Why)
	for _, results := range v.Results {
		for _, r := range results {
			texts = append(texts, r.Do(), r.Why())
		}
	}
	for _, f := range v.Findings {
		texts = append(texts, f.Words, f.Do, f.Odds)
		add(f.Yes)
	}
	for _, song := range v.Songs {
		texts = append(texts, song.Why)
		for _, part := range song.Parts {
			add(part.Cure())
		}
	}
	if v.Next != nil {
		texts = append(texts, v.Next.Do, v.Next.Why)
	}
	add(v.CureOpen())
	return texts
}

// BenchmarkLook is the view of an evening of 100 takes that hear one voice or three.
func BenchmarkLook(b *testing.B) {
	for _, all := range []bool{false, true} {
		for _, plate := range []bool{true, false} {
			b.Run(fmt.Sprintf("all voices %v, plate known %v", all, plate), func(b *testing.B) {
				s := open(b, 3, 84, evening...)
				voices := s.Build.Voices[:1]
				if all {
					voices = s.Build.Voices
				}
				for i := range 100 {
					s.aim(60+float64(i*7%80), "tub drum")
					s.play(voices...)
					s.turn(i*5%40 - s.Setting())
				}
				if !plate {
					s.Build.Plate = calib.Plate{}
				}
				for b.Loop() {
					Look(s.Machine)
				}
			})
		}
	}
}
