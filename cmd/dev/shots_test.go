package main

import (
	"strings"
	"testing"
	"time"
)

func TestShotsAsks(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	for _, args := range [][]string{nil, {"one", "two"}, {"-text", "90", "pictures"}, {"-fast", "pictures"}} {
		if err := shots(t.Context(), h, args); err == nil || !strings.Contains(err.Error(), "usage: shots") || len(p.ran) > 0 {
			t.Errorf("%q: %v, ran %v", args, err, p.lines())
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
	for _, broken := range []string{"4021 (short) S", strings.Replace(stat, " 150 ", " x ", 1)} {
		if _, err := cpuSeconds(broken); err == nil {
			t.Errorf("%q is read", broken)
		}
	}
}

// After the first error nothing more is pressed or kept.
func TestPhotographerStops(t *testing.T) {
	h, pretended := bare(debianRelease, "apt-get")
	p := &photographer{ctx: t.Context(), h: h, into: t.TempDir(), theme: "dark"}
	if p.shot("first"); p.err == nil || !strings.Contains(p.err.Error(), "could not be pictured") {
		t.Errorf("without a picture: %v", p.err)
	}
	before := len(pretended.ran)
	first := p.err
	p.keys("space")
	p.taken(1)
	p.tighten()
	if len(pretended.ran) != before || p.err != first {
		t.Errorf("after an error it went on to %v: %v", pretended.lines(), p.err)
	}
	if got := middle([]time.Duration{9, 1, 5}); got != 5 {
		t.Errorf("the middle of 9, 1 and 5 is %d", got)
	}
}
