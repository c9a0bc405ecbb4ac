package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// shots takes pictures of every stage of the window, in both themes, on a screen
// that nobody sees; then it says how fast the window starts beside a bare one of the
// toolkit, and what processor time and memory it takes while nobody touches it. Without
// a folder for the pictures it says so alone, which takes two minutes at most.
func shots(ctx context.Context, h *host, args []string) error {
	set := flags()
	text := set.Int("text", 100, "")
	if err := set.Parse(args); err != nil || set.NArg() > 1 || !slices.Contains([]int{100, 125, 150, 200}, *text) {
		return usageError("usage: shots [-text 100|125|150|200] [DIR]: leaves pictures of every stage in DIR, in both themes; without it only measures")
	}
	if h.goos != "linux" {
		return errors.New("shots needs Xvfb, so it works on Linux only")
	}
	if err := setUp(ctx, h, slices.Concat(buildNeeds, screenNeeds)); err != nil {
		return err
	}
	bin, plain := h.binary(), filepath.Join(h.work, "bare")
	h.say("building Lagwright: about 5 minutes the first time, a few seconds later on")
	if err := build(ctx, h); err != nil {
		return err
	}
	if err := h.show(ctx, h.childEnv(), "go", "build", "-buildvcs=false", "-o", plain, "./cmd/dev/testdata/bare"); err != nil {
		return fmt.Errorf("building the bare window failed (%v); the lines above say where", err)
	}
	env, stop, err := testEnv(ctx, h)
	if err != nil {
		return err
	}
	defer stop()
	if into := set.Arg(0); into != "" {
		for _, theme := range []string{"light", "dark"} {
			p := &photographer{ctx: ctx, h: h, env: env, into: into, theme: theme, home: filepath.Join(h.work, theme), err: os.MkdirAll(into, 0o755)}
			if p.tour(bin, *text); p.err != nil {
				return fmt.Errorf("pictures in the %s theme: %w", theme, p.err)
			}
		}
		h.say("not shown: the microphones, which need a recording device")
	}
	return figures(ctx, h, env, bin, plain, filepath.Join(h.work, "figures"))
}

// tour goes through the window as a newcomer does.
func (p *photographer) tour(bin string, text int) {
	config := filepath.Join(p.home, "config", "fyne", "org.lagwright.bench")
	preferences := fmt.Sprintf(`{"theme":%q,"text":"%d"}`, p.theme, text)
	p.err = cmp.Or(p.err, os.MkdirAll(config, 0o755), os.WriteFile(filepath.Join(config, "preferences.json"), []byte(preferences), 0o644))
	p.start(bin)
	defer p.close()
	p.shot("welcome")
	p.shot("first", "ctrl+shift+n")
	p.keys("space")
	p.wait(7)
	p.keep("live", p.picture())
	p.taken(1)
	p.shot("caution")
	p.shot("move", "ctrl+shift+a")
	for _, d := range [][2]string{{"how-sure", "ctrl+u"}, {"machine", "ctrl+m"}, {"tones", "ctrl+shift+t"}, {"preferences", "ctrl+comma"}, {"help", "ctrl+F1"}} {
		p.shot(d[0], d[1])
		p.keys("Escape")
	}
	p.tighten()
	p.shot("tight")
	p.shot("set-list-empty", "ctrl+l")
	for _, song := range [][2]string{{"Mill Waltz", "72"}, {"Weir Reel", "132"}, {"Low Water", "96"}} {
		p.keys("ctrl+shift+i")
		p.wait(1)
		p.keys("ctrl+a")
		p.run("xdotool", "type", "--delay", "40", song[0])
		p.keys("Tab", "ctrl+a")
		p.run("xdotool", "type", "--delay", "40", song[1])
		p.keys("Return")
		p.wait(1)
	}
	p.shot("set-list")
}
