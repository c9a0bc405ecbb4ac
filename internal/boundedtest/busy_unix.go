//go:build unix

package boundedtest

import (
	"syscall"
	"time"
)

// busy returns how long processors have worked for this program.
func busy() time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		panic(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
