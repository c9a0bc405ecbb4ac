//go:build !linux

package capture

import "time"

// asleep is not known here. A device that stops with the computer is told of all
// the same.
func asleep() time.Duration { return 0 }
