package testscreen

import (
	"os"
	"strings"
	"testing"
)

func TestScreen(t *testing.T) {
	if testing.Short() {
		t.Skip("it needs Xvfb")
	}
	display, stop, err := Start(t.Context())
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
	if _, _, err := Start(t.Context()); err == nil {
		t.Error("no error without Xvfb on the path")
	}
}
