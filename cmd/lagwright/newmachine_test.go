package main

import (
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/internal/must"
)

// A builder's first evening in the real window, from the keyboard: a new machine,
// three recordings, turns as advised, tight at two tempos, the curve saved, the
// window closed and opened again. The recordings are those of the demo, which lie
// on disk before the window opens. What the window says is read off its title.
func TestWindowFromNewMachineToReopened(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	recorded := demoMachine(t)
	inbox := d.inbox()
	played := must.Get(machine.Load(recorded))(t)

	id, quit := d.window()
	dir := d.beginMachine(played)
	now := func() machine.Machine {
		return must.Get(machine.Load(dir))(t)
	}
	says := func(words string) {
		t.Helper()
		d.eventually("the window says "+words, func() bool { return strings.Contains(d.xdo("getwindowname", id), words) })
	}
	says("Play a take")

	for i, take := range played.Takes[:3] {
		if want := take.Target.TempoBPM; now().Target.TempoBPM != want {
			d.aimAt(want, now)
		}
		if i > 0 {
			d.turned(now)
		}
		put(t, filepath.Join(recorded, take.File), inbox)
		d.openTheOne(i, now)
		says(loop.Look(now()).Do)
	}
	if v := loop.Look(now()); v.Stage != loop.Tight {
		t.Fatalf("after three takes: %s", v.Do)
	}

	curve := d.saveCurve(dir)
	d.lookAt(id)
	before := now()
	quit()

	id, _ = d.window(dir)
	says(before.Build.Name)
	says(loop.Look(before).Do)
	if after := now(); len(after.Takes) != 3 || after.Setting() != before.Setting() || after.Target != before.Target {
		t.Errorf("opened again the machine has %d takes at %d, aimed at %+v", len(after.Takes), after.Setting(), after.Target)
	}
	if again, err := os.ReadFile(curve); err != nil || len(again) == 0 {
		t.Errorf("the curve is gone: %v", err)
	}
}

// inbox is the folder that the window opens recordings from at first: a recorder's card
// with one recording on it at a time.
func (d *desk) inbox() (dir string) {
	d.Helper()
	dir = filepath.Join(d.home, "inbox")
	preferences := filepath.Join(d.home, "config", "fyne", appID, "preferences.json")
	must.Do(d, os.MkdirAll(filepath.Dir(preferences), 0o755))
	must.Do(d, os.WriteFile(preferences, []byte(`{"recordings":"`+dir+`"}`), 0o644))
	return dir
}

// openTheOne opens the recording of the inbox, which comes after so many takes.
func (d *desk) openTheOne(takes int, now func() machine.Machine) {
	d.Helper()
	d.eventually("the recording is opened and kept", func() bool {
		d.dialog("ctrl+o")
		d.xdo("key", "--delay", "150", "Down", "Return", "Return") // past the folder above; once more takes it
		return d.took(80, func() bool { return len(now().Takes) > takes })
	})
}

// put leaves one file alone in a folder, under the one name.
func put(t *testing.T, file, folder string) {
	t.Helper()
	data := must.Get(os.ReadFile(file))(t)
	must.Do(t, os.MkdirAll(folder, 0o755))
	must.Do(t, os.WriteFile(filepath.Join(folder, "recording.wav"), data, 0o644))
}

// beginMachine fills in the form of a new machine and returns the machine's folder.
func (d *desk) beginMachine(like machine.Machine) (dir string) {
	d.Helper()
	d.eventually("the machine is begun", func() bool {
		d.dialog("ctrl+n")
		for _, text := range []string{"Mill Street No. 5", like.Build.Voices[0], "120", "0.6", "1"} {
			d.xdo("key", "ctrl+a")
			d.xdo("type", "--delay", "30", text)
			d.xdo("key", "Tab")
		}
		d.xdo("type", "--delay", "30", "72")
		d.xdo("key", "Return")
		return d.took(50, func() bool {
			found, _ := filepath.Glob(filepath.Join(d.home, "machines", "*", "machine.json"))
			dir = filepath.Dir(strings.Join(found, ""))
			return len(found) == 1
		})
	})
	m := must.Get(machine.Load(dir))(d)
	if m.Build.Plate != like.Build.Plate || m.Target.TempoBPM != 72 || m.Target.Voice != like.Build.Voices[0] {
		d.Fatalf("the machine begun has the plate %+v and aims at %+v", m.Build.Plate, m.Target)
	}
	return dir
}

// aimAt chooses the next tempo.
func (d *desk) aimAt(bpm float64, now func() machine.Machine) {
	d.Helper()
	d.eventually("the next tempo is chosen", func() bool {
		d.dialog("ctrl+t")
		d.xdo("key", "ctrl+a")
		d.xdo("type", "--delay", "50", strconv.FormatFloat(bpm, 'g', -1, 64))
		d.xdo("key", "Return")
		return d.took(30, func() bool { return now().Target.TempoBPM == bpm })
	})
}

// saveCurve saves the curve beside the machine, as a picture.
func (d *desk) saveCurve(dir string) (path string) {
	d.Helper()
	d.eventually("the curve is saved", func() bool {
		d.dialog("ctrl+e")
		d.xdo("key", "Return")
		return d.took(30, func() bool {
			found, _ := filepath.Glob(filepath.Join(dir, "*.png"))
			path = strings.Join(found, "")
			return len(found) == 1
		})
	})
	f := must.Get(os.Open(path))(d)
	defer f.Close()
	if picture, err := png.Decode(f); err != nil || picture.Bounds().Dx() < 400 {
		d.Fatalf("%s is no picture of a curve: %v", path, err)
	}
	return path
}
