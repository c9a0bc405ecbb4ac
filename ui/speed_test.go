package ui

import (
	"os"
	"reflect"
	"runtime/debug"
	"slices"
	"syscall"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
	"lagwright/internal/diskfault"
)

// quickRate is the sample rate in Hz of recordings whose sound is not the point.
const quickRate = 16000

// cacheFor says how long the toolkit keeps what belongs to a window that is gone. It
// reads the variable as the program begins, so the tests begin again with it.
const cacheFor = "FYNE_CACHE"

func TestMain(m *testing.M) {
	if os.Getenv(cacheFor) == "" {
		os.Setenv(cacheFor, "1s")
		if self, err := os.Executable(); err == nil {
			syscall.Exec(self, os.Args, os.Environ()) // where a system cannot, the tests take more memory
		}
	}
	bench.Simulated.Rate = quickRate
	diskfault.WithoutSync() // waiting for the disk shows nothing here
	debug.SetGCPercent(300) // takes and pictures are large and soon gone
	os.Exit(m.Run())
}

// sharedApp is the application of all tests but for its preferences. The toolkit
// forgets fonts and the widths of words whenever an app is made or a theme set, and
// to read them again takes longer than most tests.
type sharedApp struct {
	fyne.App
	prefs fyne.Preferences
}

var (
	theApp fyne.App
	spare  []fyne.Preferences // the toolkit makes them only along with an app
)

// testApp returns the application with no preference set and no window but one of
// the toolkit's own.
func testApp(t *testing.T) fyne.App {
	t.Helper()
	if len(spare) == 0 {
		for range 200 {
			spare = append(spare, test.NewApp().Preferences())
		}
		theApp = test.NewApp()
	}
	app := &sharedApp{theApp, spare[0]}
	spare = spare[1:]
	fyne.SetCurrentApp(app)
	t.Cleanup(func() {
		for _, w := range slices.Clone(app.Driver().AllWindows())[1:] {
			w.Close()
		}
		app.Driver().AllWindows()[0].Canvas().Capture() // upon which the toolkit clears up, every 10 s at most
	})
	return app
}

func (a *sharedApp) Preferences() fyne.Preferences { return a.prefs }
func (a *sharedApp) Settings() fyne.Settings       { return unchanged{a.App.Settings()} }

// unchanged leaves a theme that is set again as it is.
type unchanged struct{ fyne.Settings }

func (s unchanged) SetTheme(th fyne.Theme) {
	if !reflect.DeepEqual(th, s.Settings.Theme()) {
		s.Settings.SetTheme(th)
	}
}
