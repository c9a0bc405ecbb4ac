package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime"
)

// version and released are set by go run ./cmd/dev release: the release's number
// and the day of its last commit, such as 2026-11-26.
var version, released string

// sayVersion writes which program this is.
func sayVersion(_ context.Context, _ line, out io.Writer) error {
	fmt.Fprintf(out, "Lagwright %s (%s/%s, %s)\n", cmp.Or(version, "built by hand"), runtime.GOOS, runtime.GOARCH, runtime.Version())
	return nil
}
