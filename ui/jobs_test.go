package ui

import (
	"context"
	"testing"

	"lagwright/ui/kit"
)

// What ends as the window closes is not handed to it any more: the toolkit, once it has
// ended, would do so on the job's own goroutine and panic.
func TestJobsEndWithTheWindow(t *testing.T) {
	w := testWindow(t)
	var left func()
	w.desk.Jobs.Spawn = func(f func()) { left = f }
	handed := false
	job := func() {
		kit.Start(w.desk.Jobs, "something", func(ctx context.Context, _ func(float64)) (bool, error) { return true, ctx.Err() },
			func(bool, error) { handed = true })
	}
	job()
	if left(); !handed {
		t.Fatal("a job's result was not handed over")
	}
	handed = false
	job()
	w.quit()
	if left(); handed {
		t.Error("a job's result was handed to a window that is closed")
	}
}
