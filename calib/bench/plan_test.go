package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
)

// follow plays the takes that the plan asks for until it asks for no more.
func follow(t *testing.T, b *bench.Bench, most int) (p bench.Plan, takes int) {
	t.Helper()
	for ; takes <= most; takes++ {
		var err error
		if p, err = b.Plan(); err != nil {
			t.Fatal(err)
		}
		if p.Next == nil {
			return p, takes
		}
		if song := p.Songs[p.Next.Song].Song; song.Name != p.Next.Target.Song || song.TempoBPM != p.Next.Target.TempoBPM {
			t.Fatalf("the next take is at %+v, for the song %+v", p.Next.Target, song)
		}
		ok(t, b.Aim(p.Next.Target))
		if p.Next.Move != 0 {
			ok(t, b.Moved(p.Next.Move, ""))
		}
		if _, err := b.Play(context.Background(), nil); err != nil {
			t.Fatal(err)
		}
	}
	t.Fatalf("not verified after %d takes: %+v", most, p)
	return p, takes
}

// wantTrue checks a plan against the machine's own law.
func wantTrue(t *testing.T, p bench.Plan) {
	t.Helper()
	machine := practice.Default()
	for i, song := range p.Songs {
		if !song.Verified || !strings.HasPrefix(song.Why, "Verified") {
			t.Errorf("%s: verified %v: %s", song.Song.Name, song.Verified, song.Why)
		}
		for _, r := range song.Parts {
			lag := func(bpm float64) float64 { return machine.LagMS(r.Voice, calib.PeriodMS(bpm), song.Setting) }
			if left := lag(song.Song.TempoBPM); math.Abs(left) > song.LimitMS+1 || math.Abs(left-r.LagMS) > math.Max(2*r.HalfMS, 1.5) {
				t.Errorf("%s: %s is truly %.1f ms off, expected %.1f ± %.1f", song.Song.Name, r.Voice, left, r.LagMS, r.HalfMS)
			}
		}
		worst := song.Worst()
		edges := []float64{song.LowBPM, song.HighBPM}
		for _, bpm := range edges {
			if left := math.Abs(machine.LagMS(worst.Voice, calib.PeriodMS(bpm), song.Setting)); len(song.Parts) == 1 && math.Abs(left-song.LimitMS) > 1.5 {
				t.Errorf("%s: at %.1f BPM, the edge of its window, the lag is %.1f ms of %.1f", song.Song.Name, bpm, left, song.LimitMS)
			}
		}
		if song.LowBPM > song.Song.TempoBPM || song.HighBPM < song.Song.TempoBPM {
			t.Errorf("%s: %g BPM is not inside %v", song.Song.Name, song.Song.TempoBPM, edges)
		}
		if i > 0 && song.Move != song.Setting-p.Songs[i-1].Setting || i == 0 && song.Move != 0 {
			t.Errorf("%s: move %+d to %+d", song.Song.Name, song.Move, song.Setting)
		}
	}
}

// The takes that the plan asks for lead to settings that the machine's own law
// bears out, in fewer takes than songs would need one by one.
func TestPlanOnTheSimulatedMachine(t *testing.T) {
	b := open(t, 11, 84)
	var songs []session.Song
	for _, bpm := range []float64{72, 132, 96, 80, 118, 104, 152, 88} {
		songs = append(songs, session.Song{Name: calib.SettingWords(int(bpm)), TempoBPM: bpm, Voices: []string{"brass bar"}})
	}
	ok(t, b.EditSongs(session.ReplaceSongs(songs)))
	p, takes := follow(t, b, 8)
	t.Logf("%d takes", takes)
	wantTrue(t, p)
	for _, take := range b.Session().Takes {
		if take.Target.Voice != "brass bar" || !strings.HasPrefix(take.Target.Song, "+") {
			t.Errorf("take %d was aimed at %+v", take.ID, take.Target)
		}
	}
}

// Settings are absolute: where the plate stands does not shift them.
func TestPlanStaysWhenThePlateMoves(t *testing.T) {
	b := open(t, 4, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(evening)))
	before, _ := follow(t, b, 8)
	wantTrue(t, before)
	ok(t, b.Moved(3, ""))
	after, err := b.Plan()
	ok(t, err)
	for i, song := range after.Songs {
		if song.Setting != before.Songs[i].Setting {
			t.Errorf("%s: %+d before the plate was moved, %+d after", song.Song.Name, before.Songs[i].Setting, song.Setting)
		}
	}
}

// Where the loop found that a move went the other way, the plan's settings are
// counted from where the plate really stands, as the loop's are.
func TestPlanAfterAMoveTheWrongWay(t *testing.T) {
	b := open(t, 4, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(evening)))
	for i, take := range []struct {
		bpm             float64
		stands, toldNow int // where the plate stands, and what is told to be turned after
	}{{84, 0, 10}, {120, 10, 12}, {96, -2, 0}, {72, -2, 0}} {
		ok(t, b.Aim(session.Target{TempoBPM: take.bpm, Voice: "tub drum"}))
		path := filepath.Join(t.TempDir(), "crank.wav")
		recording, _ := practice.Default().Play(practice.Play{Voice: "tub drum", TempoBPM: take.bpm, Setting: take.stands, Seed: uint64(i + 1), Rate: bench.QuickRate})
		ok(t, wav.Write(context.Background(), path, recording, nil))
		_, err := b.Add(context.Background(), path, b.Channels(2), nil)
		ok(t, err)
		ok(t, b.Moved(take.toldNow, ""))
	}
	if got := b.Session().Setting(); got != -2 {
		t.Fatalf("the loop has the plate at %+d, it stands at -2", got)
	}
	p, err := b.Plan()
	ok(t, err)
	wantTrue(t, p)
	wantLaw(t, p)
}

// A take that is left out counts for nothing.
func TestPlanLeavesOut(t *testing.T) {
	b := open(t, 4, 84)
	ok(t, b.EditSongs(session.ReplaceSongs(evening)))
	none, err := b.Plan()
	ok(t, err)
	if none.Next == nil || none.Next.Move != 0 || !strings.Contains(none.Next.Do, "and record the tub drum") {
		t.Errorf("before any take: %+v", none.Next)
	}
	playOne(t, b)
	one, err := b.Plan()
	ok(t, err)
	if slices.EqualFunc(one.Songs, none.Songs, func(a, b bench.Planned) bool { return a.Setting == b.Setting }) {
		t.Error("a take teaches nothing")
	}
	ok(t, b.LeaveOut(1, true))
	out, err := b.Plan()
	ok(t, err)
	for i := range out.Songs {
		if out.Songs[i].Parts[0] != none.Songs[i].Parts[0] {
			t.Errorf("left out: %+v, before: %+v", out.Songs[i].Parts, none.Songs[i].Parts)
		}
	}
}

// Takes of an earlier Lagwright, which kept no budget, are as unsure as their
// interval says.
func TestPlanWithoutBudgets(t *testing.T) {
	b := open(t, 4, 84)
	playOne(t, b)
	s := b.Session()
	for len(s.Takes) < 20 {
		s.Takes = append(s.Takes, s.Takes[0])
	}
	s.Songs = []session.Song{{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum"}}}
	with, err := bench.PlanOf(s)
	ok(t, err)
	for i := range s.Takes {
		s.Takes[i].Reading.Budget = calib.Budget{}
	}
	without, err := bench.PlanOf(s)
	ok(t, err)
	if got, want := without.Songs[0].Worst().HalfMS, with.Songs[0].Worst().HalfMS; got < 0.8*want || got > 2*want {
		t.Errorf("± %.3f ms without budgets, ± %.2f with", got, want)
	}
}

func TestPlanOfNothing(t *testing.T) {
	s := bench.Practice(1, 84)
	if p, err := bench.PlanOf(s); err != nil || len(p.Songs) != 0 || p.Next != nil {
		t.Errorf("no songs: %+v, %v", p, err)
	}
	for says, change := range map[string]func(*session.Session){
		"bell":         func(s *session.Session) { s.Songs[0].Voices = []string{"bell"} },
		"0 BPM":        func(s *session.Session) { s.Songs[0].TempoBPM = 0 },
		"has no voice": func(s *session.Session) { s.Machine.Voices = nil },
	} {
		s.Songs = slices.Clone(evening)
		bad := s
		change(&bad)
		if _, err := bench.PlanOf(bad); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
	}
}

// A song that names no voice uses all: one setting is a compromise, and what is
// left of each voice's lag is what the machine's own law says. What no setting can
// bring together asks for no more takes.
func TestPlanOfAllVoices(t *testing.T) {
	b := open(t, 7, 84)
	ok(t, b.EditSongs(
		session.AddSong(0, session.Song{Name: "Mill Waltz", TempoBPM: 84}),
		session.AddSong(1, session.Song{Name: "Weir Reel", TempoBPM: 130, Voices: []string{"elm block"}}),
	))
	p, _ := follow(t, b, 12)
	song, machine := p.Songs[0], practice.Default()
	if len(song.Parts) != len(machine.Voices) {
		t.Fatalf("parts %+v", song.Parts)
	}
	for i, r := range song.Parts {
		truth := machine.LagMS(r.Voice, calib.PeriodMS(84), song.Setting)
		if r.Voice != machine.Voices[i].Name || math.Abs(truth-r.LagMS) > math.Max(2*r.HalfMS, 1.5) || math.Abs(r.LagMS) > math.Abs(song.Worst().LagMS) {
			t.Errorf("%s is truly %.1f ms off, expected %.1f ± %.1f", r.Voice, truth, r.LagMS, r.HalfMS)
		}
	}
	if !p.Songs[1].Verified {
		t.Errorf("%s: %s", p.Songs[1].Song.Name, p.Songs[1].Why)
	}
	if song.Verified || !strings.HasPrefix(song.Why, "No setting") {
		t.Errorf("verified %v: %s", song.Verified, song.Why)
	}
}

// A plan is there before a person notices: 30 takes, 12 songs.
func BenchmarkPlan(bm *testing.B) {
	b, err := bench.Create(bm.TempDir()+"/session", bench.Practice(6, 84))
	if err != nil {
		bm.Fatal(err)
	}
	defer b.Close()
	if _, err := b.Play(context.Background(), nil); err != nil {
		bm.Fatal(err)
	}
	s := b.Session()
	for i := range 12 {
		s.Songs = append(s.Songs, session.Song{Name: "x", TempoBPM: 72 + 7*float64(i), Voices: s.Machine.Voices[:1+i%3]})
	}
	for len(s.Takes) < 30 {
		s.Takes = append(s.Takes, s.Takes[0])
	}
	for bm.Loop() {
		if _, err := bench.PlanOf(s); err != nil {
			bm.Fatal(err)
		}
	}
}
