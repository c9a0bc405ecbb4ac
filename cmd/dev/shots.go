package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
)

// shotsFlags are what the verb may be told.
type shotsFlags struct {
	into string // folder
	text int    // percent of the usual size
}

func parseShots(args []string) (f shotsFlags, err error) {
	set := flag.NewFlagSet("shots", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.IntVar(&f.text, "text", 100, "")
	if err := set.Parse(args); err != nil || set.NArg() != 1 || !slices.Contains([]int{100, 125, 150, 200}, f.text) {
		return f, usageError("usage: shots [-text 100|125|150|200] DIR: leaves pictures of every stage in DIR, in both themes")
	}
	f.into = set.Arg(0)
	return f, nil
}

// shots takes pictures of every stage of the window, in both themes, on a screen
// that nobody sees; then it says how the window starts and what it takes while
// nobody touches it.
func shots(ctx context.Context, h *host, args []string) error {
	f, err := parseShots(args)
	if err != nil {
		return err
	}
	if h.goos != "linux" {
		return errors.New("shots needs Xvfb, so it works on Linux only")
	}
	if err := setUp(ctx, h, slices.Concat(buildNeeds, screenNeeds())); err != nil {
		return err
	}
	if err := os.MkdirAll(f.into, 0o755); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "lagwright-shots")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	bin, plain := binary(h, work), filepath.Join(work, "bare")
	h.say("building Lagwright: about 5 minutes the first time, a few seconds later on")
	if err := build(ctx, h, bin); err != nil {
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
	for _, theme := range []string{"light", "dark"} {
		p := &photographer{ctx: ctx, h: h, env: env, into: f.into, theme: theme}
		if err := p.tour(bin, filepath.Join(work, theme), f.text); err != nil {
			return fmt.Errorf("pictures in the %s theme: %w", theme, err)
		}
	}
	h.say("not shown: the microphones, which need a recording device")
	return figures(ctx, h, env, bin, plain, filepath.Join(work, "figures"))
}

// screenNeeds are those of the tests that have to do with the screen.
func screenNeeds() (needs []need) {
	for _, n := range testNeeds {
		if slices.Contains([]string{"xvfb", "xdotool", "imagemagick"}, n.apt) {
			needs = append(needs, n)
		}
	}
	return needs
}

// tour goes through the window as a newcomer does.
func (p *photographer) tour(bin, home string, text int) error {
	if err := p.open(bin, home, `{"theme":"`+p.theme+`","text":`+strconv.Itoa(text)+`}`); err != nil {
		return err
	}
	defer p.close()
	steps := []func() error{
		p.shot("welcome"),
		p.keys("ctrl+shift+n"), p.shot("first"),
		p.keys("space"), p.wait(7), p.shotNow("live"), p.taken(1), p.shot("caution"),
		p.keys("ctrl+Return"), p.shot("move"),
	}
	for _, d := range []struct{ key, name string }{
		{"ctrl+u", "how-sure"}, {"ctrl+m", "machine"}, {"ctrl+shift+t", "tones"}, {"ctrl+comma", "preferences"}, {"ctrl+F1", "help"},
	} {
		steps = append(steps, p.keys(d.key), p.shot(d.name), p.keys("Escape"))
	}
	steps = append(steps, p.tighten, p.shot("tight"), p.keys("ctrl+l"), p.shot("set-list-empty"))
	for _, song := range [][2]string{{"Mill Waltz", "72"}, {"Weir Reel", "132"}, {"Low Water", "96"}} {
		steps = append(steps, p.keys("ctrl+shift+i"), p.wait(1), p.keys("ctrl+a"), p.write(song[0]), p.keys("Tab", "ctrl+a"), p.write(song[1]), p.keys("Return"), p.wait(1))
	}
	steps = append(steps, p.shot("set-list"))
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}
