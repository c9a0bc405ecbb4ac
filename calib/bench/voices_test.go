package bench_test

import (
	"context"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/signal"
	wav "lagwright/calib/take"
	"lagwright/internal/deeptest"
)

var (
	trio     = []string{"tub drum", "elm block", "brass bar"}
	trioMics = bench.Channels{Reference: 1, Voice: 2, Others: map[string]int{"elm block": 3, "brass bar": 4}}
)

// shop is a session on a real machine with the simulated one's voices.
func shop(t *testing.T, tempo float64) *bench.Bench {
	t.Helper()
	s := bench.Practice(1, tempo)
	s.Machine.PracticeSeed = 0
	b, err := bench.Create(filepath.Join(t.TempDir(), "session"), s)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// recordTrio writes a recording of all voices, and one more channel.
func recordTrio(t *testing.T, play practice.Play) (path string, truths []practice.Truth) {
	t.Helper()
	play.Voice, play.Others, play.Rate = trio[0], trio[1:], bench.QuickRate
	recording, truth := practice.Default().Play(play)
	path = filepath.Join(t.TempDir(), "trio.wav")
	ok(t, wav.Write(context.Background(), path, recording, nil))
	return path, append([]practice.Truth{truth}, truth.Others...)
}

// two is two channels of a recording.
type two struct {
	signal.Source
	channels [2]int
}

func (two) Channels() int { return 2 }

func (s two) ReadAt(dst []float32, channel int, frame int64) (int, error) {
	return s.Source.ReadAt(dst, s.channels[channel-1], frame)
}

// Each voice of a take with four channels is read as from a recording of its own,
// and as it was played.
func TestEveryVoiceIsReadAsAlone(t *testing.T) {
	for seed := range uint64(deeptest.Of(1, 3)) {
		b := shop(t, 84)
		path, truths := recordTrio(t, practice.Play{TempoBPM: 84, Seed: seed + 1})
		take, err := b.Add(context.Background(), path, trioMics, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(take.Voices(), trio) || take.Channels != 4 || !reflect.DeepEqual(take.OtherVoices, last(b).OtherVoices) {
			t.Fatalf("heard %q on %d channels", take.Voices(), take.Channels)
		}
		f, err := wav.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		for i, voice := range trio {
			alone := filepath.Join(t.TempDir(), "alone.wav")
			ok(t, wav.Write(context.Background(), alone, two{f, [2]int{1, 2 + i}}, nil))
			g, err := wav.Open(alone)
			if err != nil {
				t.Fatal(err)
			}
			defer g.Close()
			want, err := bench.Measure(context.Background(), g, signal.Options{})
			if err != nil {
				t.Fatal(err)
			}
			as, _ := take.As(voice)
			got := as.Reading
			if math.Abs(got.LagMS-want.LagMS) > 0.05 || got.Used() != want.Used() {
				t.Errorf("seed %d, %s: %.3f ms by %d pairs among all, %.3f by %d alone", seed, voice, got.LagMS, got.Used(), want.LagMS, want.Used())
			}
			if off := got.LagMS - truths[i].MeanLagMS; math.Abs(off) > 0.5 || got.Used() < 10 {
				t.Errorf("seed %d, %s: read %.3f ms by %d pairs, played %.3f", seed, voice, got.LagMS, got.Used(), truths[i].MeanLagMS)
			}
			if points := b.Session().Points(voice); len(points) != 1 {
				t.Errorf("seed %d, %s: points %+v", seed, voice, points)
			}
		}
	}
}

// A dead microphone is that voice's trouble only.
func TestDeadMicrophoneLeavesTheOthers(t *testing.T) {
	for dead, voice := range trio {
		b := shop(t, 84)
		path, truths := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 4, Disturb: practice.Disturb{DeadChannel: 2 + dead}})
		take, err := b.Add(context.Background(), path, trioMics, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range trio {
			as, _ := take.As(v)
			if v == voice {
				if !as.Reading.Has(calib.WarnDeadChannel) || as.Advice.Outcome != calib.CableSuspect {
					t.Errorf("dead %s: warnings %v, %s", v, as.Reading.Warnings, as.Advice.Outcome)
				}
				continue
			}
			if as.Reading.Has(calib.WarnDeadChannel) || !as.Advice.Outcome.Moves() || math.Abs(as.Reading.LagMS-truths[i].MeanLagMS) > 0.5 {
				t.Errorf("with a dead %s the %s says %s: %.2f ms, played %.2f, warnings %v", voice, v, as.Advice.Outcome, as.Reading.LagMS, truths[i].MeanLagMS, as.Reading.Warnings)
			}
		}
	}
}

// The loop goes by what the last take says of any voice it heard, and asks for no
// take in between.
func TestLoopTakesUpAnotherVoice(t *testing.T) {
	b := open(t, 3, 84)
	take, err := b.PlayAll(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, voice := range trio {
		ok(t, b.Aim(session.Target{TempoBPM: 84, Voice: voice}))
		as, _ := take.As(voice)
		at := b.Standing()
		want := math.Round(practice.Default().LagMS(voice, calib.PeriodMS(84), 0) / (practice.Default().Plate.StepBeats() * calib.PeriodMS(84)))
		if at.Stage != bench.AwaitMove || at.Steps != as.Advice.Steps || math.Abs(float64(at.Steps)-want) > 1 || at.Last == nil || at.Last.Target.Voice != voice {
			t.Errorf("%s: %+v, want a move of %g steps", voice, at, want)
		}
		if !strings.Contains(as.Advice.Why, calib.LateEarly(as.Advice.LagMS)) {
			t.Errorf("%s: says %q", voice, as.Advice.Why)
		}
	}
	ok(t, b.Aim(session.Target{TempoBPM: 96, Voice: trio[1]})) // at another tempo only the law speaks
	if at := b.Standing(); at.Last != nil {
		t.Errorf("at another tempo the loop speaks of take %d", at.Last.ID)
	}
	ok(t, b.Aim(session.Target{TempoBPM: 84, Voice: trio[2]}))
	moved(t, b, b.Standing().Steps, "")
	if _, err := b.PlayAll(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	wantTrulyTight(t, b, trio[2], 84)
	if at := b.Standing(); at.Stage != bench.Tight {
		t.Errorf("after the move: %+v", at)
	}
	ok(t, b.Aim(session.Target{TempoBPM: 84, Voice: trio[0]}))
	if at := b.Standing(); at.Stage == bench.AwaitTake || at.Last == nil || at.Last.ID != 2 {
		t.Errorf("the drum's reading in the last take is not gone by: %+v", at)
	}
}

// Where the hits find the plate holds for every voice of the take.
func TestOnePlateForAllVoices(t *testing.T) {
	b := open(t, 5, 84)
	if _, err := b.PlayAll(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	told := b.Standing().Steps
	moved(t, b, told, "")
	path, _ := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 77}) // the plate did not move
	take, err := b.Add(context.Background(), path, trioMics, nil)
	if err != nil {
		t.Fatal(err)
	}
	if take.Setting != told || take.Advice.Outcome != calib.NoChange || b.Session().Setting() != 0 {
		t.Fatalf("said to stand at %+d: %s, the plate at %+d", take.Setting, take.Advice.Outcome, b.Session().Setting())
	}
	for _, voice := range trio {
		as, _ := take.As(voice)
		if points := b.Session().Points(voice); as.Advice.At != 0 || len(points) != 2 || points[1].Setting != 0 {
			t.Errorf("%s: found at %+d, points %+v", voice, as.Advice.At, points)
		}
	}
}

// A voice whose lag contradicts the plate's place in the same take has moved
// itself: nothing is built on it, and the others stand.
func TestVoiceThatContradictsTheOthers(t *testing.T) {
	b := shop(t, 84)
	path, _ := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 8})
	if _, err := b.Add(context.Background(), path, trioMics, nil); err != nil {
		t.Fatal(err)
	}
	moved(t, b, 8, "")
	m := practice.Default()
	m.Voices[1].OffsetBeats += 8 * m.Plate.StepBeats() // its pins went back by as much
	recording, _ := m.Play(practice.Play{Voice: trio[0], Others: trio[1:], TempoBPM: 84, Seed: 9, Setting: 8, Rate: bench.QuickRate})
	path = filepath.Join(t.TempDir(), "moved.wav")
	ok(t, wav.Write(context.Background(), path, recording, nil))
	take, err := b.Add(context.Background(), path, trioMics, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, voice := range trio {
		as, _ := take.As(voice)
		if as.Advice.At != 8 || (as.Advice.Outcome == calib.Doubtful) != (i == 1) {
			t.Errorf("%s: %s at %+d: %s", voice, as.Advice.Outcome, as.Advice.At, as.Advice.Why)
		}
	}
	if as, _ := take.As(trio[1]); !strings.Contains(as.Advice.Why, "where the tub drum shows it") {
		t.Errorf("it says %q", as.Advice.Why)
	}
	if points := b.Session().Points(trio[1]); len(points) != 1 {
		t.Errorf("%d points of the block", len(points))
	}
}

// With the reference's plug on a voice's channel nothing is built on the voices
// that were measured against that voice.
func TestReferencePluggedIntoAVoice(t *testing.T) {
	b := shop(t, 84)
	path, _ := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 2, Disturb: practice.Disturb{MissedShare: 0.2}})
	take, err := b.Add(context.Background(), path, bench.Channels{Reference: 3, Voice: 2, Others: map[string]int{"elm block": 1, "brass bar": 4}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	block, _ := take.As("elm block")
	if !block.Reading.Has(calib.WarnSwapped) {
		t.Fatalf("the block's warnings: %v", block.Reading.Warnings)
	}
	for _, voice := range []string{"tub drum", "brass bar"} {
		as, _ := take.As(voice)
		if as.Advice.Outcome != calib.Doubtful || !as.Reading.Has(calib.WarnDoubtful) {
			t.Errorf("%s: %s, warnings %v", voice, as.Advice.Outcome, as.Reading.Warnings)
		}
	}
}

// The channels of the last recording with as many are remembered, whatever was
// recorded in between.
func TestChannelsAreRemembered(t *testing.T) {
	b := shop(t, 84)
	if got := b.Channels(4); !reflect.DeepEqual(got, trioMics) {
		t.Errorf("at first %+v", got)
	}
	if got := b.Channels(3); !reflect.DeepEqual(got, bench.Channels{Reference: 1, Voice: 2, Others: map[string]int{"elm block": 3}}) {
		t.Errorf("at first, of three: %+v", got)
	}
	path, _ := recordTrio(t, practice.Play{TempoBPM: 84, Seed: 2, Hits: 4})
	mics := bench.Channels{Reference: 1, Voice: 2, Others: map[string]int{"brass bar": 4}}
	if _, err := b.Add(context.Background(), path, mics, nil); err != nil {
		t.Fatal(err)
	}
	pair := filepath.Join(t.TempDir(), "pair.wav")
	record(t, pair)
	if _, err := b.Add(context.Background(), pair, bench.Channels{Reference: 2, Voice: 1}, nil); err != nil {
		t.Fatal(err)
	}
	if got := b.Channels(4); !reflect.DeepEqual(got, mics) {
		t.Errorf("of four: %+v", got)
	}
	if got := b.Channels(2); !reflect.DeepEqual(got, bench.Channels{Reference: 2, Voice: 1}) {
		t.Errorf("of two: %+v", got)
	}
	ok(t, b.Aim(session.Target{TempoBPM: 84, Voice: "brass bar"}))
	if got := b.Channels(4); !reflect.DeepEqual(got, bench.Channels{Reference: 1, Voice: 4, Others: map[string]int{"tub drum": 2}}) {
		t.Errorf("for the bar: %+v", got)
	}
	ok(t, b.Aim(session.Target{TempoBPM: 84, Voice: "elm block"}))
	if got := b.Channels(4); got.Voice != 0 || len(got.Others) != 2 {
		t.Errorf("for the block, which had none: %+v", got)
	}
	for says, ch := range map[string]bench.Channels{
		"on no channel":                  {Reference: 1, Others: map[string]int{"tub drum": 2}},
		"both the reference and the elm": {Reference: 1, Voice: 1},
		"both the elm block and the tub": {Reference: 1, Voice: 2, Others: map[string]int{"tub drum": 2}},
		"channel 9 is not in":            {Reference: 1, Voice: 2, Others: map[string]int{"tub drum": 9}},
		"channel 8 is not in":            {Reference: 8, Voice: 2},
	} {
		if _, err := b.Add(context.Background(), path, ch, nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%+v: error %v, want one that says %q", ch, err, says)
		}
	}
	if got := len(b.Session().Takes); got != 2 {
		t.Errorf("%d takes", got)
	}
}

// Hits of any voice of a take are changed by hand once it is the take's own; the
// other voices keep what they say, and so does the session when it is opened again.
func TestHitsOfAnotherVoiceByHand(t *testing.T) {
	b := open(t, 6, 84)
	if _, err := b.PlayAll(context.Background(), nil); err != nil {
		t.Fatal(err)
	}
	take := last(b)
	id := take.ID
	ok(t, b.Own(id, "brass bar"))
	before := last(b)
	if want, _ := take.As("brass bar"); !reflect.DeepEqual(before, want) {
		t.Fatalf("own: %+v", before)
	}
	strike := before.Reading.Pairs[slices.IndexFunc(before.Reading.Pairs, func(p calib.Pair) bool { return p.Used })]
	ok(t, b.Edit(id, session.StrikeOut(session.VoiceChannel, strike.VoiceS)))
	changed := last(b)
	if changed.Reading.Used() != before.Reading.Used()-1 || changed.Changed() != 1 {
		t.Errorf("%d pairs used, %d before; %d changed", changed.Reading.Used(), before.Reading.Used(), changed.Changed())
	}
	if !reflect.DeepEqual(changed.OtherVoices, before.OtherVoices) {
		t.Error("the other voices changed")
	}
	ok(t, b.Own(id, "tub drum"))
	if got := last(b); got.ByHand != nil || b.CanRedo(id) {
		t.Errorf("the drum has %+v", got.ByHand)
	}
	ok(t, b.Own(id, "brass bar"))
	ok(t, b.Undo(id))
	if got := last(b); !reflect.DeepEqual(got, before) {
		t.Errorf("undone: %+v\nbefore: %+v", got, before)
	}
	if !b.CanRedo(id) {
		t.Fatal("what was undone cannot be made again")
	}
	ok(t, b.Own(id, "brass bar")) // it is already
	if !b.CanRedo(id) {
		t.Error("owning what is own forgets what was undone")
	}
	if err := b.Own(id, "bell"); err == nil || !strings.Contains(err.Error(), "no microphone") {
		t.Errorf("a voice that was not heard: %v", err)
	}
}

// A plan counts every voice of a take, asks for all of them again, and needs far
// fewer takes than one voice at a time.
func TestPlanByAllVoices(t *testing.T) {
	songs := []session.Song{{Name: "Mill Waltz", TempoBPM: 72}, {Name: "Weir", TempoBPM: 96}, {Name: "Lock Reel", TempoBPM: 120}}
	count := func(all bool) int {
		b := open(t, 4, 72)
		ok(t, b.EditSongs(session.ReplaceSongs(songs)))
		for takes := 0; takes < 24; takes++ {
			p, err := b.Plan()
			if err != nil {
				t.Fatal(err)
			}
			if p.Next == nil {
				return takes
			}
			if says := strings.Contains(p.Next.Do, "record all voices"); says != (all && takes > 0) {
				t.Errorf("after %d takes it says %q", takes, p.Next.Do)
			}
			ok(t, b.Aim(p.Next.Target))
			if p.Next.Move != 0 {
				moved(t, b, p.Next.Move, "")
			}
			play := b.Play
			if all {
				play = b.PlayAll
			}
			if _, err := play(context.Background(), nil); err != nil {
				t.Fatal(err)
			}
		}
		t.Fatal("24 takes were not enough")
		return 0
	}
	one, together := count(false), count(true)
	t.Logf("%d takes of one voice, %d of all", one, together)
	if together > one/2 {
		t.Errorf("%d takes of all voices, %d of one at a time", together, one)
	}
}
