package ui

import (
	"flag"
	"log/slog"
	"runtime"
	"testing"
	"time"
	"weak"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/machine"
	"lagwright/calib/practice"
	"lagwright/ui/kit"
	"lagwright/ui/shelf"
)

// go run ./cmd/dev soak sets it to 200, and FYNE_CACHE to a second, for which the
// toolkit then keeps what it has drawn.
var soakLoops = flag.Int("soak", 0, "how many loops TestSoak plays; 0 = a few, of which only what is left is counted")

// What may be more at the end than after the first loops.
const (
	soakSettles    = 4 // loops in which everything was shown once
	soakGoroutines = 0
	soakMiB        = 1.0              // beside the drawings that the list of machines keeps
	soakWaits      = 11 * time.Second // the toolkit clears up no more often than every 10 s
)

// TestSoak plays loop after loop, each in a machine of its own, with dialogs, set
// list and now and then a take that is recorded hands-free, and looks whether
// anything piles up.
func TestSoak(t *testing.T) {
	if testing.Short() {
		t.Skip("plays loop after loop")
	}
	slog.SetDefault(slog.New(slog.DiscardHandler)) // 200 loops fill a screen
	w := testWindow(t)
	rec, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Hits: 30, Seed: 11, LeadS: 2, Rate: quickRate})
	w.desk.Sound = &capture.Replay{Source: rec, Speed: 4} // four times as fast as a machine plays
	if *soakLoops > 0 {
		w.soak(t, *soakLoops)
		return
	}
	const first = 1
	var benches []weak.Pointer[bench.Bench]
	var goroutines int
	for loop := 1; loop <= 4*first; loop++ {
		benches = append(benches, w.soakOnce(t, loop == 1))
		if loop == first {
			goroutines = runtime.NumGoroutine()
		}
	}
	left := func() (n int) {
		runtime.GC()
		for _, b := range benches {
			if b.Value() != nil {
				n++
			}
		}
		return n
	}
	for end := time.Now().Add(5 * time.Minute); (left() > first || runtime.NumGoroutine() > goroutines) && time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
	}
	if left() > first || runtime.NumGoroutine() > goroutines {
		t.Errorf("of %d machines that were closed %d are kept; %d goroutines became %d", len(benches), left(), goroutines, runtime.NumGoroutine())
	}
}

func (w *Window) soak(t *testing.T, loops int) {
	t.Helper()
	var first soaked
	for loop := 1; loop <= loops; loop++ {
		w.soakOnce(t, loop%10 == 1)
		if loop == soakSettles {
			first = w.soakNow()
		}
		if loop%20 == 0 {
			now := w.soakNow()
			t.Logf("after %d loops: %.1f MiB, %d goroutines", loop, now.mib, now.goroutines)
		}
	}
	last := w.soakNow()
	growth := last.mib - first.mib
	t.Logf("soak_loops %d loops -", loops)
	t.Logf("soak_memory %.1f MiB -", last.mib)
	t.Logf("soak_memory_growth %.2f MiB <=%g", growth, soakMiB)
	t.Logf("soak_goroutines %d goroutines -", last.goroutines)
	t.Logf("soak_goroutine_growth %d goroutines <=%d", last.goroutines-first.goroutines, soakGoroutines)
	if growth > soakMiB {
		t.Errorf("memory grew from %.1f to %.1f MiB", first.mib, last.mib)
	}
	if last.goroutines-first.goroutines > soakGoroutines {
		t.Errorf("%d goroutines became %d", first.goroutines, last.goroutines)
	}
}

// soaked is what the program holds at one moment.
type soaked struct {
	mib        float64
	goroutines int
}

// soakNow draws until the toolkit has cleared up what is not in sight any more.
func (w *Window) soakNow() soaked {
	for end := time.Now().Add(soakWaits); time.Now().Before(end); time.Sleep(time.Second / 4) {
		w.desk.Win.Canvas().Capture()
	}
	var m runtime.MemStats
	runtime.GC()
	runtime.GC() // what had a finalizer goes now
	runtime.ReadMemStats(&m)
	return soaked{float64(m.HeapAlloc) / (1 << 20), runtime.NumGoroutine()}
}

// soakOnce plays one loop to its end and closes the machine, which it returns.
func (w *Window) soakOnce(t *testing.T, live bool) (closed weak.Pointer[bench.Bench]) {
	t.Helper()
	w.Practice()
	closed = weak.Make(w.desk.Bench)
	tuneVoice(t, w)
	for _, open := range []func(){w.take.HowSure, w.askPreferences, w.loop.AskTarget} {
		open()
		kit.DismissTop(w.desk.Win.Canvas())
	}
	w.listSongs()
	w.songs.AddSong()
	w.listSongs()
	w.closeMachine()
	if w.desk.Bench != nil {
		t.Fatal("the machine does not close")
	}
	if live {
		w.soakLive(t)
	}
	return closed
}

// soakLive records a take hands-free.
func (w *Window) soakLive(t *testing.T) {
	t.Helper()
	m := shelf.NewMachine("Test rig", "tub drum", 96, 5)
	m.Microphones = &machine.Microphones{Device: "Replay", RateHz: quickRate, Channels: 2, Reference: 1, Voices: []machine.Microphone{{Voice: "tub drum", Channel: 2}}}
	w.welcome.Create(m)
	w.typed(&fyne.KeyEvent{Name: fyne.KeySpace})
	if got := w.desk.Machine(); len(got.Takes) != 1 {
		t.Errorf("%d takes of one that was recorded: %s", len(got.Takes), w.desk.Notice.Text.Text)
	}
	test.Tap(w.loop.Understood)
	w.closeMachine()
}
