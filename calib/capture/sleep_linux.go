package capture

import (
	"time"

	"golang.org/x/sys/unix"
)

// asleep returns how long the computer has been suspended since it was started:
// one of its clocks counts that time and the other does not (clock_gettime(2)).
func asleep() time.Duration {
	var with, without unix.Timespec
	if unix.ClockGettime(unix.CLOCK_BOOTTIME, &with) != nil || unix.ClockGettime(unix.CLOCK_MONOTONIC, &without) != nil {
		return 0
	}
	return time.Duration(with.Nano() - without.Nano())
}
