package bench

import (
	"os"
	"runtime/debug"
	"testing"

	"lagwright/internal/diskfault"
)

// QuickRate is the sample rate of most takes that tests play, in Hz: hits are found
// as well at it, in a fifth of the time.
const QuickRate = 8000

func TestMain(m *testing.M) {
	Simulated.Rate = QuickRate
	diskfault.WithoutSync() // waiting for the disk shows nothing here
	debug.SetGCPercent(400) // takes are large and soon gone
	os.Exit(m.Run())
}
