package main

import (
	"image"
	_ "image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// bin returns the built program, which go run ./cmd/dev test makes, along with a
// display of its own.
func bin(t *testing.T) string {
	t.Helper()
	path := os.Getenv("LAGWRIGHT_BIN")
	if path == "" || os.Getenv("DISPLAY") == "" {
		t.Fatal("this test drives the real window: run it with go run ./cmd/dev test ./cmd/lagwright")
	}
	return path
}

// hangs is how long to wait for what another program does: on a busy computer it takes
// its time, and this is for what never comes.
const hangs = 5 * time.Minute

// eventually waits for something that another program does.
func eventually(t *testing.T, what string, done func() bool) {
	t.Helper()
	for deadline := time.Now().Add(hangs); !done(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			shot := filepath.Join(os.TempDir(), "lagwright-window-test.png")
			exec.Command("import", "-window", "root", shot).Run()
			t.Fatalf("%s: it did not happen within %v (the screen as it was: %s)", what, hangs, shot)
		}
	}
}

func xdo(t *testing.T, args ...string) string {
	t.Helper()
	out, err := exec.Command("xdotool", args...).CombinedOutput()
	if err != nil {
		t.Fatalf("xdotool %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return strings.TrimSpace(string(out))
}

// window starts the program and waits until its window is there.
func window(t *testing.T, args ...string) (id string, quit func()) {
	t.Helper()
	return windowOf(t, exec.Command(bin(t), args...))
}

// windowOf is the same for a command that becomes the program.
func windowOf(t *testing.T, cmd *exec.Cmd) (id string, quit func()) {
	t.Helper()
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	quit = func() {
		cmd.Process.Signal(os.Interrupt)
		late := time.AfterFunc(hangs, func() {
			t.Error("the window does not close on an interrupt")
			cmd.Process.Kill()
		})
		cmd.Wait()
		late.Stop()
	}
	t.Cleanup(quit)
	eventually(t, "the window opens", func() bool {
		out, err := exec.Command("xdotool", "search", "--onlyvisible", "--pid", strconv.Itoa(cmd.Process.Pid), "--name", "Lagwright").Output()
		id = strings.TrimSpace(string(out))
		return err == nil && id != "" && !strings.Contains(id, "\n")
	})
	xdo(t, "windowraise", id)
	xdo(t, "mousemove", "--window", id, "400", "60") // without a window manager keys go where the pointer is
	return id, quit
}

// loopByKeys plays and turns in the practice session of the window in sight until
// the voice is tight. It returns the session's folder and what lies in it now.
func loopByKeys(t *testing.T, home string) (dir string, now func() session.Session) {
	t.Helper()
	eventually(t, "the practice session is made", func() bool {
		found, _ := filepath.Glob(filepath.Join(home, "sessions", "*", "session.json"))
		if len(found) == 1 {
			dir = filepath.Dir(found[0])
		}
		return dir != ""
	})
	now = func() session.Session {
		s, err := session.Load(dir)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	tight := false
	for takes := 1; !tight; takes++ {
		if takes > 4 {
			t.Fatal("not tight after four takes")
		}
		eventually(t, "the take is played and kept", func() bool {
			if len(now().Takes) < takes {
				xdo(t, "key", "ctrl+p") // again where the window was not listening yet
				time.Sleep(time.Second)
			}
			return len(now().Takes) >= takes
		})
		v := loop.Look(now())
		if tight = v.Stage == loop.Tight; tight {
			break
		}
		eventually(t, "the move is kept", func() bool {
			xdo(t, "key", "ctrl+Return")
			time.Sleep(200 * time.Millisecond)
			return now().Takes[takes-1].Moved != nil
		})
		if moved := now().Takes[takes-1].Moved.Steps; moved != v.Steps {
			t.Errorf("moved %d steps, asked for were %d", moved, v.Steps)
		}
	}
	return dir, now
}

// lookAt checks that the window shows a picture and not one plain field.
func lookAt(t *testing.T, id string) {
	t.Helper()
	shot := filepath.Join(t.TempDir(), "window.png")
	eventually(t, "the window is drawn", func() bool {
		if out, err := exec.Command("import", "-window", id, shot).CombinedOutput(); err != nil {
			t.Fatalf("import: %v\n%s", err, out)
		}
		f, err := os.Open(shot)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		picture, _, err := image.Decode(f)
		if err != nil {
			t.Fatal(err)
		}
		colours := map[[3]uint32]bool{}
		for y := 0; y < picture.Bounds().Dy(); y += 3 {
			for x := 0; x < picture.Bounds().Dx(); x += 3 {
				r, g, b, _ := picture.At(x, y).RGBA()
				colours[[3]uint32{r, g, b}] = true
			}
		}
		return len(colours) > 200
	})
}

// listSongs opens the set list, adds a song and names and times it, all from the
// keyboard, and looks for it in the session.
func listSongs(t *testing.T, now func() session.Session) {
	t.Helper()
	eventually(t, "a song is added", func() bool {
		xdo(t, "key", "ctrl+l", "ctrl+shift+i") // again where the window was still busy
		for deadline := time.Now().Add(4 * time.Second); len(now().Songs) == 0 && time.Now().Before(deadline); {
			time.Sleep(100 * time.Millisecond)
		}
		return len(now().Songs) > 0
	})
	xdo(t, "key", "ctrl+a")
	xdo(t, "type", "--delay", "50", "Weir Reel")
	xdo(t, "key", "Return")
	eventually(t, "the song has its name", func() bool { return now().Songs[0].Name == "Weir Reel" })
	xdo(t, "key", "Tab")
	xdo(t, "key", "ctrl+a")
	xdo(t, "type", "--delay", "50", "132.5")
	xdo(t, "key", "Return")
	eventually(t, "the song has its tempo", func() bool { return now().Songs[0].TempoBPM == 132.5 })
	if songs := now().Songs; len(songs) != 1 || songs[0].Name != "Weir Reel" || len(songs[0].Voices) != 0 {
		t.Errorf("the session has the songs %+v", songs)
	}
}
