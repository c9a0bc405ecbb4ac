package main

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"lagwright/internal/procfs"
)

// What the figures are held against.
const (
	mostStart = 1.5 // times the start of a bare window
	idleFor   = 10 * time.Second
	starts    = 5
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
	return h.verdict([]figure{
		plain("window_start", 1000*median(ours), "ms"), plain("window_start_bare", 1000*median(bares), "ms"),
		atMost("window_start_over_bare", median(ours)/median(bares), "times", mostStart),
		plain("window_idle_cpu", 100*cpu, "%"), plain("window_idle_cpu_bare", 100*bareCPU, "%"),
		plain("window_resident", resident, "MiB"), plain("window_resident_bare", bareResident, "MiB"),
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
	before := p.processSeconds()
	p.wait(idleFor.Seconds())
	after := p.processSeconds()
	return (after - before) / idleFor.Seconds(), procfs.MemoryMiB(strconv.Itoa(p.pid), "VmRSS")
}

// processSeconds returns what the window's process has used of a processor.
func (p *photographer) processSeconds() (s float64) {
	if p.err == nil {
		s, p.err = procfs.CPUSeconds(strconv.Itoa(p.pid))
	}
	return s
}
