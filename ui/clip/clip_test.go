package clip

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

// screen starts a display that nobody sees.
func screen(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("it needs a screen")
	}
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{write}
	if err := cmd.Start(); err != nil {
		t.Fatalf("this test needs Xvfb: run it with go run ./cmd/dev test ./ui/clip: %v", err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	write.Close()
	number := make([]byte, 16)
	n, err := read.Read(number)
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("DISPLAY", ":"+strings.TrimSpace(string(number[:n])))
	t.Setenv("FYNE_PLATFORM", "x11")
	t.Setenv("XAUTHORITY", filepath.Join(t.TempDir(), "none"))
}

// pasted is what xclip, as another program, finds on the clipboard.
func pasted(t *testing.T, target string) []byte {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 5*time.Minute)
	defer stop()
	out, err := exec.CommandContext(ctx, "xclip", "-selection", "clipboard", "-target", target, "-o").Output()
	if err != nil {
		t.Fatalf("xclip -target %s: %v", target, err)
	}
	return out
}

// What is pasted elsewhere is what was copied, to the byte, whether it fits one
// request of X11 (256 KiB less a little) or comes in parts; the last copy counts.
func TestPictureIsPastedElsewhere(t *testing.T) {
	screen(t)
	luck := rand.NewChaCha8([32]byte{4})
	for _, size := range []int{0x40000 - 300, 1, 1 << 20, 0x3ffbc, 3 << 20, 500} {
		picture := make([]byte, size)
		luck.Read(picture)
		if err := Picture(picture); err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if got := pasted(t, "image/png"); !bytes.Equal(got, picture) {
				t.Errorf("%d bytes copied, %d pasted, or others", size, len(got))
			}
		}
	}
	if got := string(pasted(t, "TARGETS")); !strings.Contains(got, "image/png") || !strings.Contains(got, "TIMESTAMP") {
		t.Errorf("offered: %q", got)
	}
	text := exec.Command("xclip", "-selection", "clipboard", "-target", "UTF8_STRING", "-o")
	if out, err := text.Output(); err == nil {
		t.Errorf("a picture pastes as the text %q", out)
	}
}

// Another program may copy something of its own at any time.
func TestAnotherProgramCopies(t *testing.T) {
	screen(t)
	if err := Picture([]byte("picture")); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("xclip", "-selection", "clipboard", "-in")
	cmd.Stdin = strings.NewReader("words")
	if err := cmd.Run(); err != nil {
		t.Fatal(err)
	}
	if got := string(pasted(t, "STRING")); got != "words" {
		t.Errorf("pasted %q", got)
	}
}

func TestNoDisplay(t *testing.T) {
	t.Setenv("WAYLAND_DISPLAY", "")
	t.Setenv("DISPLAY", ":4711")
	if err := Picture([]byte("picture")); err == nil || !strings.Contains(err.Error(), "display") {
		t.Errorf("without a display: %v", err)
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
	if err := os.WriteFile(filepath.Join(dir, "wl-copy"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := Picture([]byte("picture")); err != nil {
		t.Fatal(err)
	}
	asked, _ := os.ReadFile(filepath.Join(dir, "asked"))
	if got, _ := os.ReadFile(filepath.Join(dir, "got")); string(got) != "picture" || !strings.Contains(string(asked), "image/png") {
		t.Errorf("wl-copy %s got %q", asked, got)
	}
}

// One that dies while it takes a picture in parts is not waited for once another
// program has the clipboard.
func TestOneWhoDiesWhilePasting(t *testing.T) {
	screen(t)
	before := runtime.NumGoroutine()
	if err := Picture(make([]byte, 1<<20)); err != nil {
		t.Fatal(err)
	}
	conn, err := xgb.NewConn()
	if err != nil {
		t.Fatal(err)
	}
	window, err := xproto.NewWindowId(conn)
	if err != nil {
		t.Fatal(err)
	}
	root := xproto.Setup(conn).DefaultScreen(conn).Root
	if err := xproto.CreateWindowChecked(conn, 0, window, root, 0, 0, 1, 1, 0, xproto.WindowClassInputOnly, 0, 0, nil).Check(); err != nil {
		t.Fatal(err)
	}
	atom := func(name string) xproto.Atom {
		reply, err := xproto.InternAtom(conn, false, uint16(len(name)), name).Reply()
		if err != nil {
			t.Fatal(err)
		}
		return reply.Atom
	}
	xproto.ConvertSelection(conn, window, atom("CLIPBOARD"), atom("image/png"), atom("LAGWRIGHT_TEST"), xproto.TimeCurrentTime)
	for {
		event, _ := conn.WaitForEvent()
		if _, ok := event.(xproto.SelectionNotifyEvent); ok {
			break
		}
		if event == nil {
			t.Fatal("the display is gone")
		}
	}
	conn.Close()
	cmd := exec.Command("xclip", "-selection", "clipboard", "-in")
	cmd.Stdin = strings.NewReader("words")
	if err := cmd.Run(); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(5 * time.Minute); runtime.NumGoroutine() > before; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			buf := make([]byte, 1<<16)
			t.Fatalf("%d goroutines, %d before:\n%s", runtime.NumGoroutine(), before, buf[:runtime.Stack(buf, true)])
		}
	}
}
