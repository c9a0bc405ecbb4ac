package main

import (
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// A builder's first evening in the real window, from the keyboard: a new session,
// three recordings, turns as advised, tight at two tempos, the curve saved, the
// window closed and opened again. The recordings are those of the demo, which lie
// on disk before the window opens. What the window says is read off its title.
func TestWindowFromNewSessionToReopened(t *testing.T) {
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(home, "config"))
	t.Setenv("LAGWRIGHT_HOME", filepath.Join(home, "sessions"))
	t.Setenv("LAGWRIGHT_CONFIG", filepath.Join(home, "config"))
	recorded := demoSession(t)
	preferences := filepath.Join(home, "config", "fyne", appID, "preferences.json")
	if err := os.MkdirAll(filepath.Dir(preferences), 0o755); err != nil {
		t.Fatal(err)
	}
	inbox := filepath.Join(home, "inbox") // a recorder's card with one recording on it at a time
	if err := os.WriteFile(preferences, []byte(`{"recordings":"`+inbox+`"}`), 0o644); err != nil {
		t.Fatal(err)
	}
	played, err := session.Load(recorded)
	if err != nil {
		t.Fatal(err)
	}

	id, quit := window(t)
	dir := beginSession(t, home, played)
	now := func() session.Session {
		s, err := session.Load(dir)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	says := func(words string) {
		t.Helper()
		eventually(t, "the window says "+words, func() bool { return strings.Contains(xdo(t, "getwindowname", id), words) })
	}
	says("Play a take")

	for i, take := range played.Takes[:3] {
		if want := take.Target.TempoBPM; now().Target.TempoBPM != want {
			aimAt(t, want, now)
		}
		if i > 0 {
			turned(t, now, played.Takes[i-1].Moved.Steps)
		}
		put(t, filepath.Join(recorded, take.File), inbox)
		eventually(t, "the recording is opened and kept", func() bool {
			xdo(t, "key", "ctrl+o")
			time.Sleep(time.Second)
			xdo(t, "key", "--delay", "150", "Right", "Return") // past the folder above
			for wait := 0; wait < 80 && len(now().Takes) == i; wait++ {
				time.Sleep(100 * time.Millisecond)
			}
			if len(now().Takes) == i {
				xdo(t, "key", "Escape") // the dialog came too late for what was typed
			}
			return len(now().Takes) > i
		})
		says(loop.Look(now()).Do)
	}
	if v := loop.Look(now()); v.Stage != loop.Tight {
		t.Fatalf("after three takes: %s", v.Do)
	}

	curve := saveCurve(t, dir)
	lookAt(t, id)
	before := now()
	quit()

	id, _ = window(t, dir)
	says(before.Name)
	says(loop.Look(before).Do)
	if after := now(); len(after.Takes) != 3 || after.Setting() != before.Setting() || after.Target != before.Target {
		t.Errorf("opened again the session has %d takes at %d, aimed at %+v", len(after.Takes), after.Setting(), after.Target)
	}
	if again, err := os.ReadFile(curve); err != nil || len(again) == 0 {
		t.Errorf("the curve is gone: %v", err)
	}
}

// put leaves one file alone in a folder, under the one name.
func put(t *testing.T, file, folder string) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "recording.wav"), data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// beginSession fills in the form of a new session and returns the session's folder.
func beginSession(t *testing.T, home string, like session.Session) (dir string) {
	t.Helper()
	eventually(t, "the session is begun", func() bool {
		xdo(t, "key", "ctrl+n")
		time.Sleep(time.Second)
		for _, text := range []string{"Mill Street No. 5", like.Machine.Voices[0], "120", "0.6", "1"} {
			xdo(t, "key", "ctrl+a")
			xdo(t, "type", "--delay", "30", text)
			xdo(t, "key", "Tab")
		}
		xdo(t, "type", "--delay", "30", "72")
		xdo(t, "key", "Return")
		for wait := 0; wait < 50; wait++ {
			if found, _ := filepath.Glob(filepath.Join(home, "sessions", "*", "session.json")); len(found) == 1 {
				dir = filepath.Dir(found[0])
				return true
			}
			time.Sleep(100 * time.Millisecond)
		}
		xdo(t, "key", "Escape") // a form that came too late for what was typed
		return false
	})
	s, err := session.Load(dir)
	if err != nil {
		t.Fatal(err)
	}
	if s.Machine.Plate != like.Machine.Plate || s.Target.TempoBPM != 72 || s.Target.Voice != like.Machine.Voices[0] {
		t.Fatalf("the session begun has the plate %+v and aims at %+v", s.Machine.Plate, s.Target)
	}
	return dir
}

// aimAt chooses the next tempo.
func aimAt(t *testing.T, bpm float64, now func() session.Session) {
	t.Helper()
	eventually(t, "the next tempo is chosen", func() bool {
		xdo(t, "key", "ctrl+t")
		time.Sleep(time.Second)
		xdo(t, "key", "ctrl+a")
		xdo(t, "type", "--delay", "50", strconv.FormatFloat(bpm, 'g', -1, 64))
		xdo(t, "key", "Return")
		for wait := 0; wait < 30 && now().Target.TempoBPM != bpm; wait++ {
			time.Sleep(100 * time.Millisecond)
		}
		if now().Target.TempoBPM == bpm {
			return true
		}
		xdo(t, "key", "Escape")
		return false
	})
}

// turned tells that the plate was turned as advised, which has to be by so many
// steps.
func turned(t *testing.T, now func() session.Session, steps int) {
	t.Helper()
	from := now().Setting()
	eventually(t, "the move is kept", func() bool {
		xdo(t, "key", "ctrl+Return") // agrees to the caution first, then tells the move
		time.Sleep(500 * time.Millisecond)
		return now().Setting() != from
	})
	if got := now().Setting() - from; got != steps {
		t.Fatalf("the plate was turned by %d, want %d", got, steps)
	}
}

// saveCurve saves the curve beside the session, as a picture.
func saveCurve(t *testing.T, dir string) (path string) {
	t.Helper()
	eventually(t, "the curve is saved", func() bool {
		xdo(t, "key", "ctrl+e")
		time.Sleep(time.Second)
		xdo(t, "key", "Return")
		for wait := 0; wait < 30; wait++ {
			found, _ := filepath.Glob(filepath.Join(dir, "*.png"))
			if len(found) == 1 {
				path = found[0]
				return true
			}
			time.Sleep(100 * time.Millisecond)
		}
		xdo(t, "key", "Escape")
		return false
	})
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if picture, err := png.Decode(f); err != nil || picture.Bounds().Dx() < 400 {
		t.Fatalf("%s is no picture of a curve: %v", path, err)
	}
	return path
}
