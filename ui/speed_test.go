package ui

import (
	"os"
	"runtime/debug"
	"testing"
)

// quickRate is the sample rate in Hz of recordings whose sound is not the point.
const quickRate = 16000

func TestMain(m *testing.M) {
	debug.SetGCPercent(400) // takes and pictures are large and soon gone
	os.Exit(m.Run())
}
