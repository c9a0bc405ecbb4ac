package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"lagwright/internal/procfs"
	"lagwright/internal/target"
)

// shots takes pictures of every stage of the window, in both themes, on a screen
// that nobody sees; then it says how fast the window starts beside a bare one of the
// toolkit, and what processor time and memory it takes while nobody touches it. Without
// a folder for the pictures it says so alone, which takes two minutes at most.
func shots(ctx context.Context, h *host, args []string) error {
	set := flags()
	text := set.Int("text", 100, "")
	language := set.String("language", "en", "")
	if err := set.Parse(args); err != nil || set.NArg() > 1 || !slices.Contains([]int{100, 125, 150, 200}, *text) {
		return usageError("usage: shots [-text 100|125|150|200] [-language TAG] [DIR]: leaves pictures of every stage in DIR, in both themes; without it only measures")
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
			if p.tour(bin, *text, *language); p.err != nil {
				return fmt.Errorf("pictures in the %s theme: %w", theme, p.err)
			}
		}
		h.say("not shown: the microphones, which need a recording device")
	}
	return figures(ctx, h, env, bin, plain, filepath.Join(h.work, "figures"))
}

// tour goes through the window as a newcomer does.
func (p *photographer) tour(bin string, text int, language string) {
	config := filepath.Join(p.home, "config", "fyne", "org.lagwright.bench")
	preferences := fmt.Sprintf(`{"theme":%q,"text":"%d","language":%q}`, p.theme, text, language)
	p.err = cmp.Or(p.err, os.MkdirAll(config, 0o755), os.WriteFile(filepath.Join(config, "preferences.json"), []byte(preferences), 0o644))
	p.start(bin)
	defer p.close()
	p.shot("welcome")
	p.shot("first", "ctrl+shift+n")
	p.keys("space")
	p.wait(7)
	p.keep("live", p.picture())
	p.until("the take is kept", func() bool { return len(p.machine().Takes) > 0 })
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

// What the figures are held against.
const (
	mostStart    = 1.5 // times the start of a bare window
	mostResident = 1.4 // times its memory
	idleFor      = 10 * time.Second
	starts       = 5
)

// figures says how long the window takes to its first frame, beside a bare one in
// turn, and what it takes while nobody touches it.
func figures(ctx context.Context, h *host, env []string, bin, bare, work string) error {
	p := &photographer{ctx: ctx, h: h, env: env, home: work, err: os.MkdirAll(filepath.Join(work, "config"), 0o755)}
	var ours, bares []float64 // s
	for range starts {
		bares = append(bares, p.firstFrame(bare))
		ours = append(ours, p.firstFrame(bin))
	}
	bareCPU, bareResident := p.idle(bare, func() { p.wait(3) })
	cpu, resident := p.idle(bin, func() {
		p.wait(2)
		p.keys("ctrl+shift+n")
		p.play(1)
		p.wait(5)
	})
	if p.err != nil {
		return p.err
	}
	return h.verdict([]target.Figure{
		target.Plain("window_start", 1000*median(ours), "ms"), target.Plain("window_start_bare", 1000*median(bares), "ms"),
		target.AtMost("window_start_over_bare", median(ours)/median(bares), "times", mostStart),
		target.Plain("window_idle_cpu", 100*cpu, "%"), target.Plain("window_idle_cpu_bare", 100*bareCPU, "%"),
		target.Plain("window_resident", resident, "MiB"), target.Plain("window_resident_bare", bareResident, "MiB"),
		target.AtMost("window_resident_over_bare", resident/bareResident, "times", mostResident),
	})
}

// firstFrame starts a program, waits until its window shows more than one colour,
// and ends it. It says how long that took, s.
func (p *photographer) firstFrame(bin string) float64 {
	begun := time.Now()
	p.start(bin)
	defer p.close()
	p.until("the first frame", func() bool {
		colours := p.run("import", "-window", p.window, "-format", "%k", "info:-")
		return colours != "" && colours != "1"
	})
	return time.Since(begun).Seconds()
}

// idle returns the share of one processor and the resident memory, in MiB, of a
// window that nobody touches after some first steps.
func (p *photographer) idle(bin string, first func()) (share, resident float64) {
	p.start(bin)
	defer p.close()
	first()
	pid := strconv.Itoa(p.pid)
	before, err := procfs.CPUSeconds(pid)
	p.wait(idleFor.Seconds())
	after, failed := procfs.CPUSeconds(pid)
	p.err = cmp.Or(p.err, err, failed)
	return (after - before) / idleFor.Seconds(), procfs.MemoryMiB(pid, "VmRSS")
}
