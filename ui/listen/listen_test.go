package listen

import (
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/playback"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
	"lagwright/ui/trace"
)

// idle is an output that asks for sound when it is told to, and ends when told to.
type idle struct {
	capture.Replay
	fill  func([]float32)
	ended func()
}

func (o *idle) OpenOutput(_ capture.Device, _ calib.Format, fill func([]float32), ended func()) (capture.Stream, error) {
	o.fill, o.ended = fill, ended
	return o, nil
}

func (*idle) Format() calib.Format { return calib.Format{RateHz: 48000, Channels: 2} }
func (*idle) Start() error         { return nil }
func (*idle) Stop() error          { return nil }

// The output is given back once nothing sounds, whatever it was opened for, by one watch;
// never from under a take that is listened to.
func TestOutputRests(t *testing.T) {
	watches, sound := 0, soundtest.Of(8000, make([]float32, 8000), make([]float32, 8000))
	out := &idle{Replay: capture.Replay{Source: sound}}
	d := &desk.Desk{Frame: &kit.Frame{Jobs: kit.NewJobs(func(func()) { watches++ }, func(bool) {})}, Prefs: prefs.Of(test.NewApp()), Sound: out, Refresh: func() {}}
	d.Bench = must.Get(bench.Create(t.TempDir()+"/machine", bench.Practice(1, 96)))(t)
	defer d.Bench.Close()
	b := New(d)
	b.Follow(func() (loop.Result, bool) { return loop.Result{}, false }, trace.New())

	if err := b.begin(loop.Result{Take: &machine.Take{ID: 7}}); err == nil {
		t.Fatal("a take that is not there is played")
	}
	s := b.spoken
	silence := make([]float32, 2*48000*(restS+1))
	if out.fill(silence); watches != 1 || b.keeps(s) || b.spoken != nil {
		t.Errorf("%d watches of an output on which nothing was played, kept: %v", watches, b.spoken)
	}

	s = must.Get(b.Speaker())(t)
	out.fill(silence) // it is time to rest, and just then somebody listens
	b.Play = playback.NewListening(s.Rate(), playback.Take{Source: sound, Reference: 1, Voice: 2})
	s.Listen(b.Play, nil)
	out.ended() // the worst that can come
	if !b.keeps(s) {
		t.Error("the output is taken from under a take")
	}
	b.StopClick()
	if b.Hush(); watches != 2 {
		t.Errorf("%d watches of two outputs", watches)
	}
	if b.keeps(s) || b.spoken != nil {
		t.Error("an output that is gone is kept")
	}
}

// What was before is compared with what is now.
func TestEarlier(t *testing.T) {
	at := machine.Target{TempoBPM: 96, Voice: "drum"}
	other := machine.Target{TempoBPM: 120, Voice: "drum"}
	var takes []machine.Take
	for i, target := range []machine.Target{other, at, at, at} {
		takes = append(takes, machine.Take{ID: i + 1, Target: target, Heard: []machine.Heard{{Voice: "bell"}, {Voice: "drum"}}, LeftOut: i == 1})
	}
	v := loop.Look(machine.Machine{Build: machine.Build{Voices: []string{"bell", "drum"}}, Target: at, Takes: takes})
	for take, want := range []int{0, 1, 2, 3} {
		one, _ := v.Result(take+1, "drum")
		got := earlier(&v, one)
		if want == 0 && got.Take != nil || want > 0 && (got.Take == nil || got.Take.ID != want || got.Voice != "drum") {
			t.Errorf("take %d is compared with %+v, want %d", take+1, got.Take, want)
		}
	}
}
