//go:build unix

package boundedtest

import (
	"syscall"
	"time"
)

// Busy returns how long processors have worked for this program.
func Busy() time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		panic(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
