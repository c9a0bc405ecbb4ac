package bench

import (
	"os"
	"runtime/debug"
	"testing"
)

// QuickRate is the sample rate of most takes that tests play, in Hz: hits are found
// as well at it, in a fifth of the time. Those of TestRecord… keep the usual rate.
const QuickRate = 8000

func TestMain(m *testing.M) {
	simulated.Rate = QuickRate
	debug.SetGCPercent(400) // takes are large and soon gone
	os.Exit(m.Run())
}
