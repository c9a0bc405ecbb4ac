package main

import (
	"context"
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
	"lagwright/calib/machine"
	"lagwright/internal/must"
	"lagwright/internal/testscreen"
)

// bin returns the built program, which go run ./cmd/dev test makes.
func bin(t *testing.T) string {
	t.Helper()
	path := os.Getenv("LAGWRIGHT_BIN")
	if path == "" {
		t.Fatal("this test tries the built program: run it with go run ./cmd/dev test ./cmd/lagwright")
	}
	return path
}

// desk is a screen and a home of one test's own, so that windows are driven side by
// side: without a window manager keys go where the pointer is.
type desk struct {
	*testing.T
	home string
	env  []string // of what is started there
	edge string   // colour at the window's edge where no dialog lies over it
}

func newDesk(t *testing.T) *desk {
	t.Helper()
	home := t.TempDir()
	display, stop, err := testscreen.Start(context.WithoutCancel(t.Context()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(stop)
	return &desk{t, home, append(os.Environ(), "DISPLAY="+display, "FYNE_PLATFORM=x11", "FYNE_SCALE=1", "PULSE_SERVER=unix:"+filepath.Join(home, "no-sound"), "HOME="+home, "XDG_CONFIG_HOME="+filepath.Join(home, "config"),
		"LAGWRIGHT_HOME="+filepath.Join(home, "machines"), "LAGWRIGHT_STATE="+filepath.Join(home, "state")), ""}
}

// on has a command run there.
func (d *desk) on(cmd *exec.Cmd) *exec.Cmd {
	cmd.Env = d.env
	return cmd
}

// hangs is how long to wait for what another program does: on a busy computer it takes
// its time, and this is for what never comes.
const hangs = 5 * time.Minute

// eventually waits for something that another program does. atLast is done where it
// does not happen.
func eventually(t *testing.T, what string, done func() bool, atLast ...func()) {
	t.Helper()
	for deadline := time.Now().Add(hangs); !done(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			for _, do := range atLast {
				do()
			}
			t.Fatalf("%s: it did not happen within %v", what, hangs)
		}
	}
}

// eventually waits for what a window does, and keeps a picture of it where it does not.
func (d *desk) eventually(what string, done func() bool) {
	d.Helper()
	eventually(d.T, what, done, func() {
		shot := filepath.Join(os.TempDir(), d.Name()+".png")
		d.on(exec.Command("import", "-window", "root", shot)).Run()
		d.Logf("the screen as it was: %s", shot)
	})
}

func (d *desk) xdo(args ...string) string {
	d.Helper()
	out, err := d.on(exec.Command("xdotool", args...)).CombinedOutput()
	if err != nil {
		d.Fatalf("xdotool %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return strings.TrimSpace(string(out))
}

// dialog presses the key of a dialog until one lies over the window: what is typed before
// would be meant for the window.
func (d *desk) dialog(key string) {
	d.Helper()
	edge := func() string {
		return string(must.Get(d.on(exec.Command("import", "-window", "root", "-crop", "1x1+2+500", "-depth", "8", "rgb:-")).Output())(d))
	}
	d.eventually("the window is drawn, and the dialog before is gone", func() bool {
		now := edge()
		if d.edge == "" && now != "\x00\x00\x00" {
			d.edge = now
		}
		return now == d.edge
	})
	d.eventually("a dialog comes for "+key, func() bool {
		d.xdo("key", key)
		return soon(30, func() bool { return edge() != d.edge })
	})
}

// soon reports whether something is so within some tenths of a second.
func soon(tenths int, so func() bool) bool {
	for ; tenths > 0 && !so(); tenths-- {
		time.Sleep(100 * time.Millisecond)
	}
	return so()
}

// took reports whether what was typed into a dialog is so within some tenths of a second. One
// that came too late for it is closed.
func (d *desk) took(tenths int, so func() bool) bool {
	d.Helper()
	is := soon(tenths, so)
	if !is {
		d.xdo("key", "Escape")
	}
	return is
}

// window starts the program and waits until its window is there.
func (d *desk) window(args ...string) (id string, quit func()) {
	d.Helper()
	return d.windowOf(exec.Command(bin(d.T), args...))
}

// windowOf is the same for a command that becomes the program.
func (d *desk) windowOf(cmd *exec.Cmd) (id string, quit func()) {
	d.Helper()
	cmd.Stderr = os.Stderr
	must.Do(d, d.on(cmd).Start())
	quit = func() {
		cmd.Process.Signal(os.Interrupt)
		late := time.AfterFunc(hangs, func() {
			d.Error("the window does not close on an interrupt")
			cmd.Process.Kill()
		})
		cmd.Wait()
		late.Stop()
	}
	d.Cleanup(quit)
	d.eventually("the window opens", func() bool {
		out, err := d.on(exec.Command("xdotool", "search", "--onlyvisible", "--pid", strconv.Itoa(cmd.Process.Pid), "--name", "Lagwright")).Output()
		id = strings.TrimSpace(string(out))
		return err == nil && id != "" && !strings.Contains(id, "\n")
	})
	d.xdo("windowraise", id)
	d.xdo("mousemove", "--window", id, "400", "60") // without a window manager keys go where the pointer is
	return id, quit
}

// loopByKeys plays and turns in the practice machine of the window in sight until
// the voice is tight. It returns the machine's folder and what lies in it now.
func (d *desk) loopByKeys() (dir string, now func() machine.Machine) {
	d.Helper()
	d.eventually("the practice machine is made", func() bool {
		found, _ := filepath.Glob(filepath.Join(d.home, "machines", "*", "machine.json"))
		if len(found) == 1 {
			dir = filepath.Dir(found[0])
		}
		return dir != ""
	})
	now = func() machine.Machine {
		return must.Get(machine.Load(dir))(d)
	}
	tight := false
	for takes := 1; !tight; takes++ {
		if takes > 4 {
			d.Fatal("not tight after four takes")
		}
		d.eventually("the take is played and kept", func() bool {
			if len(now().Takes) < takes {
				d.xdo("key", "ctrl+p") // again where the window was not listening yet
				time.Sleep(time.Second)
			}
			return len(now().Takes) >= takes
		})
		if tight = loop.Look(now()).Stage == loop.Tight; !tight {
			d.turned(now)
		}
	}
	return dir, now
}

// turned tells that the plate was turned, and checks that it is told as advised.
func (d *desk) turned(now func() machine.Machine) {
	d.Helper()
	told := now()
	d.eventually("the move is kept", func() bool {
		d.xdo("key", "Escape")                                                    // a key for a take that a busy computer brings late asks whether the plate was turned
		d.xdo("key", "ctrl+shift+a")                                              // agrees to the caution
		d.xdo("key", []string{"ctrl+Return", "ctrl+KP_Enter"}[len(told.Takes)%2]) // which tells nothing in the first second after that
		time.Sleep(200 * time.Millisecond)
		told = now()
		return told.Takes[len(told.Takes)-1].Moved != nil
	})
	last := &told.Takes[len(told.Takes)-1]
	steps := last.Moved.Steps
	if last.Moved = nil; loop.Look(told).Steps != steps {
		d.Errorf("moved %d steps, asked for were %d", steps, loop.Look(told).Steps)
	}
}

// lookAt checks that the window shows a picture and not one plain field.
func (d *desk) lookAt(id string) {
	d.Helper()
	shot := filepath.Join(d.TempDir(), "window.png")
	d.eventually("the window is drawn", func() bool {
		if out, err := d.on(exec.Command("import", "-window", id, shot)).CombinedOutput(); err != nil {
			d.Fatalf("import: %v\n%s", err, out)
		}
		f := must.Get(os.Open(shot))(d)
		defer f.Close()
		picture, _, err := image.Decode(f)
		if err != nil {
			d.Fatal(err)
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
// keyboard, and looks for it in the machine.
func (d *desk) listSongs(now func() machine.Machine) {
	d.Helper()
	d.eventually("a song is added", func() bool {
		d.xdo("key", "ctrl+l", "ctrl+shift+i") // again where the window was still busy
		for deadline := time.Now().Add(4 * time.Second); len(now().Songs) == 0 && time.Now().Before(deadline); {
			time.Sleep(100 * time.Millisecond)
		}
		return len(now().Songs) > 0
	})
	d.xdo("key", "ctrl+a")
	d.xdo("type", "--delay", "50", "Weir Reel")
	d.xdo("key", "Return")
	d.eventually("the song has its name", func() bool { return now().Songs[0].Name == "Weir Reel" })
	d.xdo("key", "Tab")
	d.xdo("key", "ctrl+a")
	d.xdo("type", "--delay", "50", "132.5")
	d.xdo("key", "Return")
	d.eventually("the song has its tempo", func() bool { return now().Songs[0].TempoBPM == 132.5 })
	if songs := now().Songs; len(songs) != 1 || songs[0].Name != "Weir Reel" || len(songs[0].Voices) != 0 {
		d.Errorf("the machine has the songs %+v", songs)
	}
}
