package main

import (
	"strings"
	"testing"
)

// After the first error nothing more is pressed or kept.
func TestPhotographerStops(t *testing.T) {
	h, pretended := bare()
	p := &photographer{ctx: t.Context(), h: h, into: t.TempDir(), theme: "dark"}
	if p.shot("first"); p.err == nil || !strings.Contains(p.err.Error(), "could not be pictured") {
		t.Errorf("without a picture: %v", p.err)
	}
	before := len(pretended.ran)
	first := p.err
	p.keys("space")
	p.play(1)
	p.tighten()
	if len(pretended.ran) != before || p.err != first {
		t.Errorf("after an error it went on to %v: %v", pretended.lines(), p.err)
	}
}
