package clip

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"lagwright/internal/must"
	"lagwright/internal/testscreen"
)

// screen starts a display that nobody sees.
func screen(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("it needs a screen")
	}
	display, stop, err := testscreen.Start(t.Context())
	must.Do(t, err)
	t.Cleanup(stop)
	t.Setenv("DISPLAY", display)
	t.Setenv("FYNE_PLATFORM", "x11")
	t.Setenv("XAUTHORITY", filepath.Join(t.TempDir(), "none"))
}

// pasted waits until xclip, as another program, finds want on the clipboard: the xclip
// that copies returns before the X server has heard of it.
func pasted(t *testing.T, target string, want []byte) {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 2*time.Minute)
	defer stop()
	for {
		got, err := exec.CommandContext(ctx, "xclip", "-selection", "clipboard", "-target", target, "-o").Output()
		if err == nil && bytes.Equal(got, want) {
			return
		}
		if ctx.Err() != nil {
			t.Fatalf("%d bytes copied as %s, others pasted: %v", len(want), target, err)
		}
	}
}

// What is pasted elsewhere is what was copied, to the byte; the last copy counts, also
// where it is another program's.
func TestPictureIsPastedElsewhere(t *testing.T) {
	screen(t)
	luck := rand.NewChaCha8([32]byte{4})
	for _, size := range []int{500, 3 << 20} { // in one part, and in several
		picture := make([]byte, size)
		luck.Read(picture)
		must.Do(t, Picture(picture))
		for range 2 {
			pasted(t, "image/png", picture)
		}
	}
	cmd := exec.Command("xclip", "-selection", "clipboard", "-in")
	cmd.Stdin = strings.NewReader("words")
	must.Do(t, cmd.Run())
	pasted(t, "STRING", []byte("words"))
}

func TestNoDisplay(t *testing.T) {
	t.Setenv("WAYLAND_DISPLAY", "")
	t.Setenv("DISPLAY", ":4711")
	if err := Picture([]byte("picture")); err == nil || !strings.Contains(err.Error(), "xclip failed") {
		t.Errorf("without a display: %v", err)
	}
	t.Setenv("PATH", t.TempDir())
	if err := Picture([]byte("picture")); err == nil || !strings.Contains(err.Error(), "the program xclip") {
		t.Errorf("without xclip: %v", err)
	}
}

// Under Wayland the picture goes to wl-copy; here a script stands in for it.
func TestWayland(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("WAYLAND_DISPLAY", "wayland-0")
	t.Setenv("FYNE_PLATFORM", "")
	t.Setenv("PATH", dir)
	if err := Picture([]byte("picture")); err == nil || !strings.Contains(err.Error(), "wl-clipboard") {
		t.Errorf("without wl-copy: %v", err)
	}
	script := "#!/bin/sh\necho \"$@\" > " + dir + "/asked\n/bin/cat > " + dir + "/got\n"
	must.Do(t, os.WriteFile(filepath.Join(dir, "wl-copy"), []byte(script), 0o755))
	must.Do(t, Picture([]byte("picture")))
	asked, _ := os.ReadFile(filepath.Join(dir, "asked"))
	if got, _ := os.ReadFile(filepath.Join(dir, "got")); string(got) != "picture" || !strings.Contains(string(asked), "image/png") {
		t.Errorf("wl-copy %s got %q", asked, got)
	}
}
