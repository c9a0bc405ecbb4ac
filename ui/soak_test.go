package ui

import (
	"flag"
	"os"
	"os/exec"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/capture"
	"lagwright/calib/practice"
	"lagwright/calib/session"
)

// go run ./cmd/dev soak sets it to 200.
var soakLoops = flag.Int("soak", 12, "how many loops TestSoak plays")

// What may be more at the end than after the first loops.
const (
	soakSettles    = 4 // loops in which everything was shown once
	soakGoroutines = 0
	soakMiB        = 1.0 // beside the drawings that the list of sessions keeps
)

// The toolkit keeps what it has drawn for a while, so the soak has a process of its
// own in which that is a second, and no other test's remains.
const (
	soakKeeps = "FYNE_CACHE"
	soakFor   = time.Second
	soakWaits = 11 * time.Second // it clears up no more often than every 10 s
)

// TestSoak plays loop after loop, each in a session of its own, with dialogs, set
// list and now and then a take that is recorded hands-free, and looks whether
// anything piles up.
func TestSoak(t *testing.T) {
	if os.Getenv(soakKeeps) == soakFor.String() {
		soak(t, *soakLoops)
		return
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, "-test.run=^TestSoak$", "-test.v", "-test.timeout=0", "-soak="+strconv.Itoa(*soakLoops))
	cmd.Env = append(os.Environ(), soakKeeps+"="+soakFor.String())
	out, err := cmd.CombinedOutput()
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, "soak") {
			t.Log(strings.TrimSpace(line))
		}
	}
	if err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

func soak(t *testing.T, loops int) {
	w := testWindow(t)
	rec, _ := practice.Default().Play(practice.Play{TempoBPM: 96, Hits: 30, Seed: 11, LeadS: 2})
	w.sound = &capture.Replay{Source: rec, Speed: 4} // four times as fast as a machine plays
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
	growth := last.mib - first.mib - listMiB(loops-soakSettles)
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

// listMiB is what the list of sessions keeps of so many: their small curves, up to
// a number.
func listMiB(sessions int) float64 {
	return float64(min(max(sessions, 0), mostThumbs)*thumbWide*thumbHigh*4) / (1 << 20)
}

// soaked is what the program holds at one moment.
type soaked struct {
	mib        float64
	goroutines int
}

// soakNow draws until the toolkit has cleared up what is not in sight any more.
func (w *Window) soakNow() soaked {
	for end := time.Now().Add(soakWaits); time.Now().Before(end); time.Sleep(soakFor / 4) {
		w.win.Canvas().Capture()
	}
	var m runtime.MemStats
	runtime.GC()
	runtime.GC() // what had a finalizer goes now
	runtime.ReadMemStats(&m)
	return soaked{float64(m.HeapAlloc) / (1 << 20), runtime.NumGoroutine()}
}

// soakOnce plays one loop to its end and closes the session.
func (w *Window) soakOnce(t *testing.T, live bool) {
	t.Helper()
	w.Practice()
	tune(t, w)
	for _, open := range []func(){w.howSure, w.askPreferences, w.askTarget} {
		open()
		dismissTop(w.win.Canvas())
	}
	w.listSongs()
	w.addSong()
	w.listSongs()
	w.closeSession()
	if w.bench != nil {
		t.Fatal("the session does not close")
	}
	if live {
		w.soakLive(t)
	}
}

// soakLive records a take hands-free.
func (w *Window) soakLive(t *testing.T) {
	t.Helper()
	s := newSession("Test rig", "tub drum", 96, 5, time.Now())
	s.Microphones = &session.Microphones{Device: "Replay", RateHz: 48000, Channels: 2, Reference: 1, Voices: []session.Microphone{{Voice: "tub drum", Channel: 2}}}
	w.create(s)
	w.typed(&fyne.KeyEvent{Name: fyne.KeySpace})
	if got := w.session(); len(got.Takes) != 1 {
		t.Errorf("%d takes of one that was recorded: %s", len(got.Takes), w.notice.text.Text)
	}
	test.Tap(w.loop.understood)
	w.closeSession()
}
