//go:build !unix

package boundedtest

import "time"

var start = time.Now()

// Busy returns the time since the program began.
func Busy() time.Duration { return time.Since(start) }
