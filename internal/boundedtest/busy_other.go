//go:build !unix

package boundedtest

import "time"

var start = time.Now()

// busy returns the time since the program began.
func busy() time.Duration { return time.Since(start) }
