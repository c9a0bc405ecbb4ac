package loop

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

var evening = []machine.Song{
	{Name: "Mill Waltz", TempoBPM: 72, Voices: []string{"tub drum"}},
	{Name: "Weir Reel", TempoBPM: 132.5, Voices: []string{"tub drum"}, Importance: 2},
	{Name: "Low Water", TempoBPM: 96, Voices: []string{"tub drum"}},
}

// The takes that the set list asks for lead to settings that the machine's own law
// bears out, in fewer takes than songs would need one by one, wherever the plate
// stood when its place was called setting 0: no take is found bad for that. Settings
// are absolute: where the plate stands later does not shift them.
func TestSetListOnTheSimulatedMachine(t *testing.T) {
	var long []machine.Song
	for _, bpm := range []float64{72, 132, 96, 80, 118, 104, 152, 88} {
		long = append(long, machine.Song{Name: fmt.Sprint("Song at ", bpm), TempoBPM: bpm, Voices: []string{"brass bar"}})
	}
	for _, songs := range [][]machine.Song{long, evening} {
		for _, start := range []int{0, 20, -20} {
			s := open(t, 11, 84, songs...)
			s.stands = start
			v := s.follow(10)
			s.wantTrue(v)
			if len(v.Findings) > 0 {
				t.Errorf("from %+d: found %+v", start, v.Findings)
			}
			for _, take := range s.Takes {
				if take.Target.Voice != songs[0].Voices[0] || take.Target.Song == "" {
					t.Errorf("take %d was aimed at %+v", take.ID, take.Target)
				}
			}
			s.turn(3)
			for i, song := range s.look().Songs {
				if song.Setting != v.Songs[i].Setting {
					t.Errorf("%s: %+d before the plate was turned, %+d after", song.Name, v.Songs[i].Setting, song.Setting)
				}
			}
			if _, _, known := v.Lag("gong", 0, 500); known {
				t.Error("a voice that the machine has not got has a law")
			}
		}
	}
}

// A sweep and a check or two settle the whole list, as the machine's own law bears out:
// with a microphone on each voice that of all voices.
func TestSetListBySweeps(t *testing.T) {
	var mixed []machine.Song
	for i, bpm := range []float64{62, 132, 96, 80, 118, 104, 72, 88} {
		mixed = append(mixed, machine.Song{Name: fmt.Sprint("Song at ", bpm), TempoBPM: bpm, Voices: []string{[]string{"tub drum", "elm block", "brass bar"}[i%3]}})
	}
	for _, songs := range [][]machine.Song{evening, mixed} {
		total := 0
		for seed := range uint64(6) {
			s := open(t, seed, songs[0].TempoBPM, songs...)
			s.sweeps, s.Machine.Build.Steady = true, false
			var voices []string
			if len(songs) == len(mixed) {
				voices = s.Machine.Build.Voices
				s.Microphones = &machine.Microphones{Device: "box", RateHz: 48000, Channels: 4, Reference: 1}
				for i, v := range voices {
					s.Microphones.Voices = append(s.Microphones.Voices, machine.Microphone{Voice: v, Channel: 2 + i})
				}
			}
			v := s.look()
			if v.Next == nil || v.Next.ToBPM != 132.5 && v.Next.ToBPM != 132 || v.Next.Move != 0 {
				t.Fatalf("the first take is %+v", v.Next)
			}
			for v.Next != nil && len(s.Takes) < 8 {
				v = s.goTo(v.Next, voices...)
			}
			s.wantTrue(v)
			total += len(s.Takes)
		}
		if total > 6*3 {
			t.Errorf("%d songs need %d takes on six machines", len(songs), total)
		}
	}
}

// Where the takes show that a move went the other way, settings are counted from where
// the plate really stood, and nothing changes when the builder agrees.
func TestSetListAfterAMoveTheWrongWay(t *testing.T) {
	s := open(t, 4, 84, evening...).truly(take{"tub drum", 84, 0, 10}, take{"tub drum", 120, 10, 12}, take{"tub drum", 96, -2, 0}, take{"tub drum", 72, -2, 0})
	if v := s.look(); v.Setting != -2 {
		t.Errorf("the plate stands at −2, the loop has it at %+d", v.Setting)
	}
	s.wantTrue(s.follow(6))
	if v := s.look(); v.AsEntered() || slices.ContainsFunc(v.Settings, func(one TightSetting) bool { return one.Stands >= Sure }) {
		t.Errorf("before the builder agrees, these settings are sure: %+v", v.Settings)
	}
	if err := s.onlyFinding(plan.WrongWay).Agree(&s.Machine); err != nil || s.Setting() != s.stands {
		t.Errorf("agreed with, the plate stands at %+d, truly at %+d", s.Setting(), s.stands)
	}
	s.wantTrue(s.look())
}

// What the set list asks for next is what the top asks for once it is aimed at, however tight
// the plate already is there.
func TestNextTakeIsWhatTheTopAsksFor(t *testing.T) {
	for seed := range uint64(8) {
		for _, steady := range []bool{true, false} {
			s := open(t, seed, 72, evening...)
			s.sweeps, s.Build.Steady = !steady, steady
			s.aim(72, "tub drum")
			s.tune(72, "tub drum")
			for v := s.look(); v.Next != nil; v = s.look() {
				before := v.Do + v.Why
				s.Target = v.Next.Target
				now := s.look()
				if now.Stage == Tight || now.Do+now.Why == before || now.Sweep.ToBPM != v.Next.ToBPM {
					t.Fatalf("the set list asks for %+v, the top: %s: %s", *v.Next, now.Do, now.Why)
				}
				s.goTo(v.Next)
			}
		}
	}
}

// Where no take that counts has heard a voice, no setting of its songs stands on anything, and
// no move is asked for.
func TestSilenceTellsNoSetting(t *testing.T) {
	songs := []machine.Song{{Name: "Drum", TempoBPM: 72, Voices: []string{"tub drum"}}, {Name: "Bar", TempoBPM: 120, Voices: []string{"brass bar"}}}
	s := open(t, 4, 84, songs...)
	for n, heard := range [][2]bool{{false, false}, {false, false}, {true, false}} {
		for i, song := range s.look().Songs {
			if song.Heard != heard[i] {
				t.Errorf("after %d takes %s is heard: %v", n, song.Name, song.Heard)
			}
			s.Target = machine.Target{Song: song.Name, TempoBPM: song.TempoBPM, Voice: song.Voices[0]}
			if v := s.look(); v.Stage == AwaitMove && !heard[i] || v.Next.Move != 0 && n < 2 {
				t.Errorf("after %d takes, at %s: %s: %s, next %+v", n, song.Name, v.Do, v.Why, v.Next)
			}
		}
		s.aim(84, "tub drum")
		s.play()
		if n == 0 {
			s.Takes[0].Heard[0].Reading = calib.Read(nil, nil, nil, 1)
		}
	}
}

// A take that is left out counts for nothing.
func TestSetListLeavesOut(t *testing.T) {
	s := open(t, 4, 84, evening...)
	none := s.look()
	if none.Next == nil || none.Next.Move != 0 || !strings.Contains(none.Next.Do, "and record the tub drum") {
		t.Errorf("before any take: %+v", none.Next)
	}
	if one := s.play(); one.Songs[0].Parts[0].HalfMS > none.Songs[0].Parts[0].HalfMS/2 {
		t.Error("a take teaches nothing")
	}
	s.Takes[0].LeftOut = true
	out := s.look()
	for i := range out.Songs {
		if out.Songs[i].Parts[0] != none.Songs[i].Parts[0] {
			t.Errorf("left out: %+v, before: %+v", out.Songs[i].Parts, none.Songs[i].Parts)
		}
	}
	s.Songs = nil
	if v := s.look(); len(v.Songs) != 0 || v.Next != nil {
		t.Errorf("no songs: %+v", v.Songs)
	}
}

// A song that names no voice uses all: one setting is a compromise, and what is
// left of each voice's lag is what the machine's own law says. What no setting can
// bring together asks for no more takes.
func TestSongOfAllVoices(t *testing.T) {
	s := open(t, 7, 84, machine.Song{Name: "Mill Waltz", TempoBPM: 84}, machine.Song{Name: "Weir Reel", TempoBPM: 130, Voices: []string{"elm block"}})
	v := s.follow(12)
	song := v.Songs[0]
	if len(song.Parts) != 3 || song.Stands != Hopeless || !strings.HasPrefix(song.Why, "No setting") || v.Songs[1].Stands < Sure {
		t.Fatalf("%+v; %s", song, v.Songs[1].Why)
	}
	for i, r := range song.Parts {
		truth := s.trueLag(r.Voice, 84, song.Setting)
		if r.Voice != s.Build.Voices[i] || math.Abs(truth-r.LagMS) > math.Max(2*r.HalfMS, 1.5) || math.Abs(r.LagMS) > math.Abs(song.Worst().LagMS) {
			t.Errorf("the %s is truly %.1f ms off, expected %.1f ± %.1f", r.Voice, truth, r.LagMS, r.HalfMS)
		}
	}
}

// Takes of all voices at once are asked for again, and far fewer are needed than of
// one voice at a time.
func TestSetListByAllVoices(t *testing.T) {
	count := func(all bool) int {
		s := open(t, 4, 72, machine.Song{Name: "Mill Waltz", TempoBPM: 72}, machine.Song{Name: "Weir", TempoBPM: 96}, machine.Song{Name: "Lock Reel", TempoBPM: 120})
		for len(s.Takes) < 24 {
			next := s.look().Next
			if next == nil {
				break
			}
			if says := strings.Contains(next.Do, "record all voices"); says != (all && len(s.Takes) > 0) {
				t.Errorf("after %d takes it says %q", len(s.Takes), next.Do)
			}
			if all {
				s.goTo(next, s.Build.Voices...)
			} else {
				s.goTo(next)
			}
		}
		return len(s.Takes)
	}
	if one, together := count(false), count(true); together > one/2 || one == 24 {
		t.Errorf("%d takes of all voices, %d of one at a time", together, one)
	}
}

// Right after the first voice is tight at two tempos, a song of all voices stands
// where that one is tight and asks for the others by name, whatever its tempo; the
// takes it asks for hear them, until all were heard.
func TestSongWithVoicesNotHeardYet(t *testing.T) {
	s := open(t, 1, 84)
	s.tune(84, "tub drum")
	s.tune(120, "tub drum")
	for _, one := range s.look().Settings {
		s.Songs = []machine.Song{{Name: "Song 1", TempoBPM: one.Target.TempoBPM}}
		v := s.look()
		song := v.Songs[0]
		if song.Setting != one.Setting || song.Worst().Voice != "tub drum" || math.Abs(song.Worst().LagMS) > song.LimitMS {
			t.Errorf("%g BPM: %+d, %+v; tight at %+d", song.TempoBPM, song.Setting, song.Parts, one.Setting)
		}
		if song.Stands != Open || !strings.HasSuffix(song.Why, "No usable take includes: elm block, brass bar.") ||
			song.Parts[0].Unheard || !song.Parts[1].Unheard || !song.Parts[2].Unheard {
			t.Errorf("%g BPM: %s %+v", song.TempoBPM, song.Why, song.Parts)
		}
		if v.Next == nil || v.Next.Target.Voice == "tub drum" || !strings.Contains(v.Next.Why, "No usable take includes") {
			t.Errorf("%g BPM: next %+v", song.TempoBPM, v.Next)
		}
	}
	for range 2 {
		v := s.look()
		if v.Next == nil || v.heard(v.Next.Target.Voice) {
			t.Fatalf("next %+v", v.Next)
		}
		s.goTo(v.Next)
	}
	if why := s.look().Songs[0].Why; strings.Contains(why, "No usable take") {
		t.Errorf("all heard: %s", why)
	}
}

// Whatever take the set list asks for, the loop's sign asks for the same; and for a
// song of several voices it goes to the setting that suits them all.
func TestLoopSaysWhatTheSetListSays(t *testing.T) {
	s := open(t, 7, 84, machine.Song{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}},
		machine.Song{Name: "Weir Reel", TempoBPM: 130, Voices: []string{"elm block"}}, machine.Song{Name: "Low Water", TempoBPM: 72})
	v := s.play()
	for range 10 {
		s.wantAgreed(v)
		if v.Next == nil {
			break
		}
		v = s.goTo(v.Next)
	}
	// Nothing brings all voices together: the loop says so too, and goes to where they come nearest.
	song := v.Songs[2]
	s.Target = machine.Target{Song: song.Name, TempoBPM: song.TempoBPM, Voice: "elm block"}
	s.turn(song.Setting - v.Setting)
	if v = s.play(); v.Songs[2].Stands != Hopeless || !strings.HasPrefix(v.EnoughWords(), "No more takes needed; no setting fits ") {
		t.Errorf("%s: %s; %s", v.Do, v.Songs[2].Why, v.EnoughWords())
	}
	s.wantAgreed(v)
}

// A song of two voices that are a step and a half apart is tight at the setting
// between, whichever of them the loop aims at, as the set list says.
func TestLoopBringsTwoVoicesTogether(t *testing.T) {
	s := open(t, 3, 84, both)
	s.machine, s.ToleranceMS = mended{pins: 15 / calib.PeriodMS(84)}.machine(), 12
	s.Target.Song = both.Name
	v := s.play(both.Voices...)
	for len(s.Takes) < 4 && v.Stage != Tight {
		if v.Stage == AwaitMove && v.Setting+v.Steps != v.Songs[0].Setting {
			t.Errorf("the loop goes to %+d, the set list to %+d: %s", v.Setting+v.Steps, v.Songs[0].Setting, v.Why)
		}
		s.turn(v.Steps)
		v = s.play(both.Voices...)
	}
	for _, voice := range both.Voices {
		s.Target.Voice = voice
		if v := s.look(); v.Stage != Tight || v.Setting != v.Songs[0].Setting || math.Abs(s.trueLag(voice, 84, v.Setting)) > 12 {
			t.Errorf("%s: stage %d at %+d, truly %.1f ms off: %s; the set list goes to %+d: %s", voice, v.Stage, v.Setting, s.trueLag(voice, 84, v.Setting), v.Why, v.Songs[0].Setting, v.Songs[0].Why)
		}
	}
}

// What a song needs is said once, whichever of its voices the loop aims at: the number,
// the sentence, the sign and the dial follow from what the set list says. The lags of
// the voices apart from the first are what each case sets.
func TestOneDecisionForAllVoicesOfASong(t *testing.T) {
	const apart = 40 // ms
	for _, c := range []struct {
		name   string
		lagsMS []float64 // by which the voices strike later than the first
		stands int       // where the plate is turned to before the last take; -1 = as told
		stage  Stage
		do     string
	}{
		{"one voice, first take", []float64{0}, 0, AwaitMove, "Stop the crank, then turn the plate 26 steps ahead"},
		{"one voice, turned", []float64{0}, -1, Tight, "Tight: leave the plate"},
		{"two voices alike, first take", []float64{0, -3}, 0, AwaitMove, "Stop the crank, then turn the plate 26 steps ahead"},
		{"two voices alike, turned", []float64{0, -3}, -1, Tight, "Tight: leave the plate"},
		{"two voices alike, turned too far", []float64{0, -3}, 31, AwaitMove, "Stop the crank, then turn the plate 5 steps back"},
		{"two voices apart", []float64{0, apart}, 0, AwaitMove, "Stop the crank, then turn the plate 28 steps ahead"},
		{"two voices apart, turned", []float64{0, apart}, 28, AwaitTake, "Bring the voices together"},
		{"three voices alike, first take", []float64{0, -2, -4}, 0, AwaitMove, "Stop the crank, then turn the plate 26 steps ahead"},
		{"three voices alike, turned", []float64{0, -2, -4}, -1, Tight, "Tight: leave the plate"},
		{"three voices, one apart", []float64{0, -3, apart}, 0, AwaitMove, "Stop the crank, then turn the plate 28 steps ahead"},
		{"three voices, one apart, turned", []float64{0, -3, apart}, -1, AwaitTake, "Bring the voices together"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := open(t, 5, 84)
			s.machine.JitterMS = 1
			for i, later := range c.lagsMS {
				name := s.machine.Voices[i].Name
				s.machine.Voices[i] = s.machine.Voices[0]
				s.machine.Voices[i].Name = name
				s.machine.Voices[i].OffsetBeats += later / calib.PeriodMS(84)
			}
			voices := s.Build.Voices[:len(c.lagsMS)]
			s.Songs = []machine.Song{{Name: "Mill Waltz", TempoBPM: 84, Voices: voices}}
			s.Target.Song = "Mill Waltz"
			v := s.play(voices...)
			if c.stands != 0 {
				to := c.stands
				if to < 0 {
					to = v.Steps
				}
				s.turn(to)
				s.play(voices...)
			}
			for _, voice := range voices {
				s.Target.Voice = voice
				s.Takes[len(s.Takes)-1].Target.Voice = voice
				v, song := s.look(), s.look().Songs[0]
				if v.Stage != c.stage || v.Do != c.do || v.Song == nil || v.Song.Setting != song.Setting {
					t.Fatalf("%s: stage %d, %q (%s), want stage %d, %q; the set list: %s", voice, v.Stage, v.Do, v.Why, c.stage, c.do, song.Why)
				}
				n := v.Number
				if n == nil || !strings.Contains(v.Why, calib.LateEarly(n.LagMS)) || len(voices) > 1 && !strings.Contains(v.Why, "the "+n.Voice) {
					t.Errorf("%s: the number is %+v, the sentence %q", voice, n, v.Why)
				}
				if goes := v.Setting + v.Steps; goes != song.Setting || (v.Stage == AwaitMove) != v.Reach && song.Stands != Hopeless {
					t.Errorf("%s: the loop goes to %+d, the set list to %+d; reach %v", voice, goes, song.Setting, v.Reach)
				}
				if worst := song.Worst(); len(voices) > 1 && v.Stage != AwaitMove && (n.Voice != worst.Voice || n.LagMS != worst.LagMS || math.Abs(n.HalfMS-worst.HalfMS) > 1e-9) {
					t.Errorf("%s: the number is %+v, the set list expects %+v", voice, n, worst)
				}
				truth := s.trueLag(n.Voice, 84, v.Setting)
				if math.Abs(n.LagMS-truth) > 2.5*n.HalfMS {
					t.Errorf("%s: the number is %+v, the %s truly %.1f ms off", voice, n, n.Voice, truth)
				}
				if hopeless := c.lagsMS[len(c.lagsMS)-1] == apart; song.Stands == Hopeless != hopeless || hopeless && (!v.Reach || !strings.Contains(v.Why, song.Why) || !slices.ContainsFunc(v.Song.Parts, func(r Residual) bool { return r.Cure() != "" })) {
					t.Errorf("%s: no way to a cure: %+v", voice, v.Song)
				}
			}
		})
	}
}

// wantAgreed checks that the loop, aimed at what the set list speaks of, asks for what
// that says, unless a take has settled that target or was just played there.
func (s *shop) wantAgreed(v View) {
	s.t.Helper()
	settled := map[machine.Target]bool{s.Takes[len(s.Takes)-1].Target: true} // what it says itself stands
	for _, one := range v.Settings {
		settled[one.Target] = true
	}
	aimed := func(target machine.Target) View {
		at := s.Machine
		at.Target = target
		return Look(at)
	}
	if v.Next != nil && !settled[v.Next.Target] {
		if at := aimed(v.Next.Target); at.Steps != v.Next.Move {
			s.t.Errorf("after %d takes the set list says %q, the loop to turn %+d: %s", len(s.Takes), v.Next.Do, at.Steps, at.Why)
		}
	}
	for _, song := range v.Songs {
		for _, r := range song.Parts {
			target := machine.Target{Song: song.Name, TempoBPM: song.TempoBPM, Voice: r.Voice}
			if settled[target] || !v.heard(r.Voice) || v.Next != nil && v.Next.Target == target {
				continue
			}
			at := aimed(target)
			if song.Stands == Hopeless {
				if at.Setting+at.Steps != song.Setting || at.Steps == 0 && at.Do != "Bring the voices together" || !strings.Contains(at.Why, song.Why) || !at.Reach || at.Song.Parts[0].Cure()+at.Song.Parts[1].Cure() == "" {
					s.t.Errorf("after %d takes %s: %s; the loop says %q, %s", len(s.Takes), song.Name, song.Why, at.Do, at.Why)
				}
				continue
			}
			if at.Setting+at.Steps != song.Setting || !strings.Contains(at.Why, calib.SettingWords(song.Setting)) {
				s.t.Errorf("after %d takes %s goes to %+d, the loop to %+d: %s", len(s.Takes), song.Name, song.Setting, at.Setting+at.Steps, at.Why)
			}
		}
	}
}

// With one microphone the loop goes from voice to voice of the song in work, and asks for the take
// that the set list asks for.
func TestEachVoiceOfTheSongInWork(t *testing.T) {
	for seed := range uint64(10) {
		s := open(t, 500+seed, 84, machine.Song{Name: "Mill Waltz", TempoBPM: 84}, machine.Song{Name: "Weir Reel", TempoBPM: 120})
		s.Target.Song = "Mill Waltz"
		s.play()
		for len(s.Takes) < 3 {
			v := s.look()
			if v.Next != nil && v.Stage == AwaitMove && v.Aim == v.Next.Target && !strings.HasPrefix(v.Why, "That is for the take that comes next: "+v.Next.Do+". ") && v.Number == nil {
				t.Errorf("seed %d: a move for the next take says %q", seed, v.Why)
			}
			if v.Stage == AwaitMove {
				s.turn(v.Steps)
			} else if v.Next.Song == 0 && v.Aim != v.Next.Target || !strings.Contains(v.Do, v.Aim.Voice) {
				t.Fatalf("seed %d, take %d: the top asks for %+v: %q; the list for %+v", seed, len(s.Takes), v.Aim, v.Do, v.Next)
			} else {
				s.Target = v.Aim
				s.play()
			}
		}
		if v := s.look(); slices.ContainsFunc(s.Build.Voices, func(voice string) bool { return !v.heard(voice) }) {
			t.Errorf("seed %d: after %d takes not every voice is heard: %q", seed, len(s.Takes), v.Do)
		}
	}
}

// A setting that was found tight is as sure as a song of that voice and tempo is there.
func TestSettingsAreAsSureAsSongs(t *testing.T) {
	for seed := range uint64(60) {
		s := open(t, 300+seed, 84)
		s.tune(84, "tub drum")
		s.Songs = []machine.Song{{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum"}}}
		v := s.look()
		for _, one := range v.Settings {
			if song := v.Songs[0]; one.Setting == song.Setting && one.Stands != song.Stands {
				t.Errorf("seed %d: %+v, but %+v", seed, one, song)
			}
		}
	}
}

// What is only foretold is sure, however surely; a song is verified once a take has found it
// tight at its own tempo.
func TestVerifiedIsWhatWasPlayed(t *testing.T) {
	drum := []string{"tub drum"}
	s := open(t, 4, 84, machine.Song{Name: "Mill Waltz", TempoBPM: 84, Voices: drum}, machine.Song{Name: "Weir Reel", TempoBPM: 96, Voices: drum}, machine.Song{Name: "Lock Reel", TempoBPM: 120, Voices: drum})
	s.tune(84, "tub drum")
	s.tune(120, "tub drum")
	songs := s.follow(6).Songs
	if foretold := songs[1]; foretold.Stands != Sure || songs[2].Stands != Verified {
		t.Fatalf("of %s nothing was played: %+v; %s was tight: %+v", foretold.Name, foretold, songs[2].Name, songs[2])
	}
	s.Target = machine.Target{Song: "Weir Reel", TempoBPM: 96, Voice: "tub drum"}
	s.turn(s.look().Steps)
	if v := s.look(); v.Stage != Foretold || v.Do != "Should be tight: play to check" || v.Songs[1].Stands != Sure || v.Next != nil {
		t.Errorf("turned to where it should be tight, and not played: stage %d, %q; %+v", v.Stage, v.Do, v.Songs[1])
	}
	if v := s.play(); v.Stage != Tight || v.Songs[1].Stands != Verified {
		t.Errorf("played and tight: %+v, %s", v.Songs[1], v.Why)
	}
}
