package bench

import (
	"os"
	"runtime/debug"
	"testing"
)

// QuickRate is the sample rate of most takes that tests play, in Hz: hits are found
// as well at it, in a third of the time. Those of TestRecord… keep the usual rate.
const QuickRate = 16000

func TestMain(m *testing.M) {
	Simulated.Rate = QuickRate
	debug.SetGCPercent(400) // takes are large and soon gone
	os.Exit(m.Run())
}
