package main

import (
	"os"
	"strings"
	"testing"
)

// TestScreen starts a real X server. Xvfb is one of the things that go run
// ./cmd/dev test installs.
func TestScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("it needs Xvfb")
	}
	display, stop, err := startScreen(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	socket := "/tmp/.X11-unix/X" + strings.TrimPrefix(display, ":")
	_, err = os.Stat(socket)
	stop()
	if err != nil {
		t.Errorf("display %s: %v", display, err)
	}
	if _, err := os.Stat(socket); err == nil {
		t.Errorf("%s is still there after the screen was stopped", socket)
	}
}

func TestScreenThatCannotStart(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	if _, _, err := startScreen(t.Context()); err == nil {
		t.Error("no error without Xvfb on the path")
	}
}
