package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"os"
	"strings"
	"testing"
	"time"
)

func TestShotsFlags(t *testing.T) {
	f, err := parseShots([]string{"-text", "200", "pictures"})
	if err != nil || f != (shotsFlags{into: "pictures", text: 200}) {
		t.Errorf("read %+v, %v", f, err)
	}
	for _, args := range [][]string{nil, {"one", "two"}, {"-text", "90", "pictures"}, {"-fast", "pictures"}} {
		if _, err := parseShots(args); err == nil || !strings.Contains(err.Error(), "usage: shots") {
			t.Errorf("%q: %v", args, err)
		}
	}
}

// All that is needed for the screen has a package.
func TestShotsNeeds(t *testing.T) {
	if needs := screenNeeds(); len(needs) != 3 {
		t.Errorf("%d things are needed for the screen, want Xvfb, xdotool and ImageMagick", len(needs))
	}
}

// Field 14 is the user's time, 15 the system's; the name may hold anything (proc(5)).
func TestProcessFigures(t *testing.T) {
	const stat = "4021 (lag) wright 7) S 1 4021 4021 0 -1 4194560 9000 0 12 0 150 75 0 0 20 0 9 0 100 0 0"
	if got, err := cpuSeconds(stat); err != nil || got != 2.25 {
		t.Errorf("processor time %v, %v, want 2.25 s", got, err)
	}
	if _, err := cpuSeconds("4021 (short) S"); err == nil {
		t.Error("a short line is read")
	}
	if got, err := residentBytes("9000 321 40 1 0 2 0"); err != nil || got != 321*float64(os.Getpagesize()) {
		t.Errorf("resident %v, %v", got, err)
	}
}

func encoded(t *testing.T, change func(*image.NRGBA)) []byte {
	t.Helper()
	m := image.NewNRGBA(image.Rect(0, 0, 6, 4))
	change(m)
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestPicturesAreCompared(t *testing.T) {
	plain := encoded(t, func(*image.NRGBA) {})
	dotted := encoded(t, func(m *image.NRGBA) { m.Set(5, 3, color.White) })
	if !plainPicture(plain) || plainPicture(dotted) || !plainPicture([]byte("no picture")) {
		t.Error("a picture of one colour is not told from another")
	}
	if !samePicture(dotted, dotted) || samePicture(plain, dotted) || samePicture(nil, plain) {
		t.Error("the same picture is not told from another")
	}
	if got := middle([]time.Duration{9, 1, 5}); got != 5 {
		t.Errorf("the middle of 9, 1 and 5 is %d", got)
	}
}
