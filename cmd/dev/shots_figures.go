package main

import (
	"cmp"
	"context"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"lagwright/internal/procfs"
	"lagwright/internal/target"
)

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
		p.keys("ctrl+p")
		p.taken(1)
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
